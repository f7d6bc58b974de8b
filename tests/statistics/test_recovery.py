"""Recovery told from years made by hand."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, recovery_spells, recovery_table

CALENDAR = Calendar(7)


def year(lanes=1):
    return np.ones((8760, lanes), np.float32), np.zeros((8760, lanes), np.float32)


def test_a_spell_runs_from_its_first_deep_dawn_to_the_next_full_charge():
    """Half empty from hour 100, full again at the end of hour 200: the first dawn is hour 101 (24 x 4 + 5)."""
    soc, lost = year()
    soc[100:200] = 0.4
    found = recovery_spells(soc, lost, CALENDAR, 0.97, 0.5)
    assert (found.start.tolist(), found.length.tolist()) == ([101], [99])
    assert recovery_spells(soc, lost, CALENDAR, 0.97, 0.7).member.size == 0


def test_a_cut_off_begins_a_spell_whatever_the_charge():
    """A lost hour at a middling charge counts, and deep dawns behind it belong to the same spell."""
    soc, lost = year()
    soc[100:200] = 0.6
    lost[120] = 5.0
    found = recovery_spells(soc, lost, CALENDAR, 0.97, 0.5)
    assert (found.start.tolist(), found.length.tolist()) == ([120], [80])


def test_a_spell_over_the_end_of_the_year_is_one():
    """Deep from three days before the year's end to two days after its beginning; and never full again."""
    soc, lost = year(2)
    soc[-72:, 0] = soc[:48, 0] = 0.3
    soc[:, 1] = 0.3
    found = recovery_spells(soc, lost, CALENDAR, 0.97, 0.5)
    assert found.member.tolist() == [0, 1]
    assert found.length.tolist() == [72 - 5 + 48, 8760]


def test_table_by_month():
    """30 members of 40 have a spell of 2 and one of 5 days in January: the longer counts; 36 starts of 3 days."""
    empty = np.full((36, 40), 72)
    start = 24 * CALENDAR.study_day(1, 10)
    spells = {
        "member": np.repeat(np.arange(30), 2),
        "start": np.full(60, start),
        "length": np.tile([48, 120], 30),
    }
    table = recovery_table(empty, spells, np.arange(40) % 10, CALENDAR).set_index(["kind", "start_month"])
    assert table.loc[BEGUN_EMPTY, "days_p50"].tolist() == [3.0] * 12
    january = table.loc[AS_IT_CAME, 1]
    assert (january["years_pct"], january["days_p50"], january["n"]) == (75.0, 5.0, 30)
    assert january["years_pct_low"] < 75.0 < january["years_pct_high"]
    assert table.loc[AS_IT_CAME, 2]["n"] == 0 and np.isnan(table.loc[AS_IT_CAME, 2]["days_p50"])


def test_a_recovery_longer_than_the_look_is_told():
    """A bank never full again within 120 days counts as 120, and its share stands beside."""
    empty = np.full((36, 20), 120 * 24)
    empty[:, :5] = 24
    none = {"member": np.array([], int), "start": np.array([], int), "length": np.array([], int)}
    table = recovery_table(empty, none, np.arange(20) % 5, CALENDAR)
    first = table[table["kind"] == BEGUN_EMPTY].iloc[0]
    assert first["beyond_pct"] == pytest.approx(75.0) and first["days_p90"] == 120.0
