"""Events by length, counted by hand."""

import numpy as np

from darkspell.statistics.event_lengths import CLASSES, lengths_table


def test_events_fall_into_their_classes():
    """Lengths on both edges of the classes; two members of forty; 100 Wh an event."""
    lengths = [1, 2, 3, 6, 7, 24, 25, 72, 73, 500]
    events = {
        "member": np.array([5] * 9 + [17]),
        "length": np.array(lengths),
        "energy": np.full(10, 100.0),
    }
    table = lengths_table(events, np.arange(40), np.arange(40) % 10, 100.0)
    assert (40 * table["events"]).round(9).tolist() == [2, 2, 1, 1, 2, 2]
    assert (40 * table["eue_essential_kwh"]).round(9).tolist() == [0.2, 0.2, 0.1, 0.1, 0.2, 0.2]
    assert table["years_pct"].tolist() == [2.5, 2.5, 2.5, 2.5, 2.5, 5.0]
    for name in ("years_pct", "events"):
        assert (table[f"{name}_low"] <= table[name]).all() and (table[name] <= table[f"{name}_high"]).all()


def test_no_event_still_has_a_bound():
    """Nothing in 40 years is no proof of nothing: the upper bounds stay above zero."""
    none = {name: np.array([], int) for name in ("member", "length", "energy")}
    table = lengths_table(none, np.arange(40), np.arange(40) % 10, 100.0)
    assert len(table) == len(CLASSES) and (table["events"] == 0).all()
    assert (table["events_high"] > 0).all() and (table["years_pct_high"] > 0).all()
