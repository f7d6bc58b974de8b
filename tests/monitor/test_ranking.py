"""Order of monitors by their errors, as practitioners know it, for each kind of battery (common practice, no source).

A counter that is set up is the best, one that nobody set up the worst of the counters. One that is never reset drifts
where charging stops at full; lead-acid and nickel go on taking current, which pushes it up to its stop at 100 %. A
voltage is fair on lead-acid after hours of rest, with a table of that bank. On the plateau of lithium iron phosphate
it errs like somebody who always says the median. On NMC, whose voltage slopes, it is good.
``python -m dev.monitor_ranking`` prints all.

Published errors to compare with: coulomb counting typically 3 to 4 points (read, component data); rested lead-acid
tables differ by 0.1 V of 12 V, 12 points (read); lithium iron phosphate holds 5 to 25 mV a cell between its branches.
"""

from pathlib import Path

import numpy as np
import pytest

from darkspell import api
from dev.monitor_ranking import GUESS, at_rest, errors

STUDY = Path(__file__).parents[2] / "config" / "tarn_hut.yaml"
OWN, GAUGE, COUNTER = "the same, own table", "gauge", "shunt"


@pytest.fixture(scope="module")
def found():
    """Tables of errors by chemistry; the five whose rankings differ."""
    study = api.read_study(STUDY)
    return {kind: errors(study, kind) for kind in ("flooded", "agm", "lfp", "nmc", "nicd")}


def test_counters_rank_by_their_care(found):
    """On every kind: set up below internal electronics, or level with them, far below one that nobody set up."""
    for table in found.values():
        off = table["all"]
        assert off[COUNTER] <= off["internal electronics"] + 0.3
        assert off["shunt, nobody set it"] > 2.0 * off[COUNTER]
        assert off[COUNTER] < 5.0 and table["below_50"][COUNTER] < 8.0
        assert table["below_50"]["internal electronics"] > table["below_50"][COUNTER]


def test_never_reset_drifts_where_charging_stops_at_full(found):
    """Lithium; on lead-acid the current of an absorbing bank resets the counter at its stop."""
    for kind in ("lfp", "nmc"):
        assert found[kind]["all"]["shunt, never reset"] > 1.8 * found[kind]["all"][COUNTER]
    for kind in ("flooded", "agm"):
        off = found[kind]["all"]
        assert off["shunt, never reset"] == pytest.approx(off[COUNTER], abs=0.5)


def test_a_voltage_on_rested_lead_acid_and_on_the_plateau(found):
    """From 50 to 90 %, at rest: with a table of the bank fair on lead-acid, useless on lithium iron phosphate."""
    for kind in ("flooded", "agm"):
        at_rest, always = found[kind]["at_rest"], found[kind]["50_to_90"]
        assert at_rest[OWN] < 0.35 * at_rest[GUESS] and at_rest[OWN] < always[OWN]
        assert 6.0 < at_rest["gauge, waits for rest"] < 14.0  # another bank's table: 0.1 V are 12 points
    flat = found["lfp"]
    assert flat["at_rest"][OWN] > 0.6 * flat["at_rest"][GUESS]
    assert flat["50_to_90"][GAUGE] > 0.8 * flat["50_to_90"][GUESS] > 5.0 * flat["50_to_90"][COUNTER]
    assert found["nmc"]["50_to_90"][GAUGE] < 0.3 * found["nmc"]["50_to_90"][GUESS]


def test_a_table_of_the_bank_itself_beats_a_table_from_a_book_on_lead_acid_only(found):
    """What is wrong with a gauge on lead-acid is its table, on lithium iron phosphate the cell."""
    for kind in ("flooded", "agm"):
        assert found[kind]["at_rest"][OWN] < 0.3 * found[kind]["at_rest"]["gauge, waits for rest"]
    assert found["lfp"]["at_rest"][OWN] > 0.7 * found["lfp"]["at_rest"]["gauge, waits for rest"]


def test_nickel_shows_its_charge_to_nobody(found):
    """Charge losses defeat counters, a flat and divided voltage the gauges: none is within 4 points."""
    assert (
        found["nicd"]["all"].min() > 4.0
        and found["nicd"]["50_to_90"][GAUGE] > found["nicd"]["50_to_90"][GUESS]
    )


def test_hours_of_rest_by_hand():
    """1 A on 100 Ah is no rest; it begins four hours after the last current."""
    current = np.zeros((8760, 1))
    current[100] = 1.0
    rested = at_rest(current, 100.0)[:, 0]
    assert not rested[:4].any() and rested[4:100].all() and not rested[100:104].any() and rested[104:].all()
