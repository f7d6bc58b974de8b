"""Figures of recovery, sources, unattended, saving and ageing, drawn and told from tables made by hand."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from darkspell.core.calendar import Calendar
from darkspell.report.figures import ageing, recovery, saving, sources, unattended
from darkspell.report.figures.style import look
from darkspell.report.results import read_results
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, COLUMNS
from report.figures.made import a_study, lay_out, winter
from report.said import numbers

ORDER = Calendar(7).month_order
PEOPLE = {
    "unattended": {"start_months": [1, 7, 10], "longest_days": 30, "probability_pct": 90},
    "saving": {"below_soc_pct": 50, "until_soc_pct": 60, "less_pct": 30},
}


@pytest.fixture
def tables(tmp_path):
    """Tables of a study, its folder open for more."""
    study = a_study(occupancy=PEOPLE)
    folder = lay_out(tmp_path / "study", study)
    pd.DataFrame(_months(folder)).to_csv(folder / "months.csv", index=False)
    return read_results(folder, study)


def _months(folder):
    """months.csv with 30 kWh asked for in each month."""
    table = pd.read_csv(folder / "months.csv")
    asked = [(m + 1, "demand_kwh", "kWh", 30, 29, 31, 28, 30, 32, 200, 30) for m in ORDER]
    return pd.concat([table[table["statistic"] != "demand_kwh"], pd.DataFrame(asked, columns=table.columns)])


def drawn(tables, room, name, table):
    """Put a table in place, draw the figure, and give its title."""
    table.to_csv(tables.folder / f"{name}.csv", index=False)
    with look():
        sheet, words = room.page(tables)
        sheet.figure.savefig(Path(tables.folder) / "drawn.png", dpi=40)
    assert "nan" not in f"{words.title} {words.caption} {words.alt} {words.note}"
    return words.title


def test_the_slowest_month_to_recover(tables):
    """Six days in December, two else; hollow marks only where twenty years saw a spell."""
    rows = []
    for m in ORDER:
        days = 2 + 4 * winter(Calendar(7))[m] ** 8
        rows.append((m + 1, BEGUN_EMPTY, *(np.nan,) * 3, 1, days, 2 * days, days, days + 1, 0, 200))
        seen = (30, 20, 40, 3, 9, 20, 7, 11, 0, 60) if m == 11 else (0, 0, 2, *(np.nan,) * 6, 0)
        rows.append((m + 1, AS_IT_CAME, *seen))
    title = drawn(tables, recovery, "recovery", pd.DataFrame(rows, columns=COLUMNS))
    assert numbers(title)[:2] == [6, 12] and "December" in title
    assert numbers(recovery.days_in_words(120.0)) == [120]


def test_who_carried_the_load(tables):
    """An engine brings 10 of 40 kWh in December alone; 360 of 370 kWh are the sun's: 97 % (arithmetic)."""
    rows = [
        (m + 1, name, kind, kwh if name != "engine" or m == 11 else 0.0, kwh * 0.9, kwh * 1.1)
        for name, kind, kwh in (("roof", "array", 30.0), ("engine", "alternator", 10.0))
        for m in ORDER
    ]
    names = ["month", "source", "kind", "taken_kwh", "taken_kwh_low", "taken_kwh_high"]
    title = drawn(tables, sources, "energy_sources", pd.DataFrame(rows, columns=names))
    assert numbers(title) == [97, 25] and "December" in title
    one = pd.DataFrame(rows, columns=names).query("source == 'roof'")
    one.to_csv(tables.folder / "energy_sources.csv", index=False)
    assert not sources.drawable(tables)


@pytest.mark.parametrize(
    "held, words", [(12, "nothing goes dark for 12"), (30, "nothing goes dark for 30 days or longer")]
)
def test_left_to_itself(tables, held, words):
    """Begun in January it holds for so many days with the chance asked for, else to the end."""
    days = np.arange(1, 31)
    parts = [
        pd.DataFrame({"start_month": month, "days": days, "probability": np.where(days <= last, 1.0, 0.5), "low":
                      np.where(days <= last, 0.95, 0.4), "high": 1.0, "n": 50})
        for month, last in ((7, 30), (10, 30), (1, held))
    ]  # fmt: skip
    title = drawn(tables, unattended, "unattended", pd.concat(parts)).replace("\u00a0", " ")
    assert words in title


@pytest.mark.parametrize(
    "verdict, words",
    [("real", "spare 1.0 (0.5 to 1.5) nights without power"), ("", "no nights without power for certain")],
)
def test_saving(tables, verdict, words):
    """A difference that luck could make is not claimed."""
    rows = [(name, "-", 3.0, 2.0, -1.0, -1.5, -0.5, verdict) for name in (*saving.SHOWN, "demand_kwh")]
    rows.append(("saving_days", "days/year", 0.0, 12.0, 12.0, 10.0, 14.0, "real"))
    names = ["statistic", "unit", "without", "with", "difference", "low", "high", "verdict"]
    assert words in drawn(tables, saving, "saving", pd.DataFrame(rows, columns=names))


@pytest.mark.parametrize(
    "missed, words",
    [
        ([], "meets the target until then"),
        ([("target missed", 90, 10, 7, 14)], "stops being met after about 10 years (8 banks of 10: 7 to 14)"),
        ([("target missed", 100, 0, 0, 0)], "Whether the target is met at first is not sure"),
    ],
)
def test_the_years_of_a_bank(tables, missed, words):
    """The year in which the target stops being met stands in the title with its spread."""
    rows = [("commissioning", 100, 0, 0, 0), ("mid-life", 90, 10, 7, 14), ("end of life", 80, 20, 14, 28)]
    table = pd.DataFrame(rows + missed, columns=["stage", "capacity_pct", "years", "years_low", "years_high"])
    table = table.assign(statistic="short_nights", value=0.5, low=0.3, high=0.8, meets_target=True)
    assert words in drawn(tables, ageing, "ageing", table)
    if missed and missed[0][2] == 0:
        sure = table.assign(
            value=table["value"].where(table["stage"] == "target missed", 2.0), low=1.5, high=3.0
        )
        assert "missed from the beginning" in drawn(tables, ageing, "ageing", sure)
