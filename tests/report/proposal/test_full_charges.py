"""What the proposal says of full charges, of dark hours by their length, and of recovery."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from darkspell.report.proposal.chapters import full_charges, outages_recovery
from darkspell.statistics.recovery import AS_IT_CAME, BEGUN_EMPTY, COLUMNS
from darkspell.study import study_from
from report.said import numbers
from study.example import spoilt


def entry(value, low, high, year_low, year_high):
    return {
        "value": value, "place_low": low, "place_high": high, "year_low": year_low, "year_high": year_high,
    }  # fmt: skip


@pytest.fixture
def results(make_results, tmp_path):
    """A flooded bank that waits three weeks and is due for one equalising charge."""
    made = make_results(np.zeros(50, int))
    summary = made.summary | {
        "longest_full_charge_interval_days": entry(21.0, 19.0, 23.0, 9.0, 34.0),
        "partial_charge_pct": entry(6.0, 5.0, 7.0, 0.0, 12.0),
        "equalisations": entry(1.2, 1.0, 1.4, 0.0, 3.0),
        "equalised": entry(0.9, 0.7, 1.1, 0.0, 2.0),
        "equalising_water_l": entry(0.31, 0.21, 0.41, 0.0, 0.6),
        "stratified_pct": entry(8.0, 5.0, 11.0, 0.0, 20.0),
    }
    study = study_from(spoilt({"bank.chemistry": "flooded"}))
    return replace(made, study=study, summary=summary, folder=tmp_path)


def test_full_charges_and_equalising(results):
    """The table's own 14 days are passed; both intervals stand in the text."""
    section = full_charges.section(results)
    assert numbers(section.heading) == [21]
    assert {14, 21, 19, 23} <= set(numbers(section.blocks[0].text))
    assert {1.2, 1.0, 1.4, 3, 0.9, 0.31, 8} <= set(numbers(section.blocks[1].text))
    assert "hydrogen" in section.blocks[1].text
    assert full_charges.there(results) and not full_charges.there(replace(results, summary={}))


@pytest.mark.parametrize("chemistry", ["agm", "gel", "lfp"])
def test_no_sealed_bank_is_to_be_equalised(results, chemistry):
    sealed = replace(results, study=study_from(spoilt({"bank.chemistry": chemistry})))
    assert not full_charges.equalising_needs(sealed)
    if chemistry != "lfp":
        assert "never" in full_charges.section(sealed).blocks[1].text


@pytest.mark.parametrize(("times", "said"), [(0.01, []), (0.25, ["four"]), (2.2, ["two"])])
def test_the_owner_of_a_flooded_bank_reads_how_often_it_is_equalised(results, times, said):
    summary = results.summary | {"equalised": entry(times, 0.0, 3.0, 0.0, 3.0)}
    text = full_charges.equalising_needs(replace(results, summary=summary))
    assert numbers(text)[:2] == [3, 30] and all(word in text for word in said)
    assert ("hardly ever" in text) == (times < full_charges.RARE)


def recovery(results):
    """Empty in December 6 days, else 2; seen in December alone, by 30 years, then 9 days."""
    rows = []
    for month in results.calendar.month_order + 1:
        days = 6.0 if month == 12 else 2.0
        rows.append(
            (month, BEGUN_EMPTY, *(np.nan,) * 3, 1.0, days, 2 * days, days - 0.5, days + 0.5, 0.0, 50)
        )
        seen = (60.0, 46.0, 72.0, 3.0, 9.0, 20.0, 7.0, 11.0, 0.0, 30) if month == 12 else (0.0, 0.0, 7.0)
        rows.append((month, AS_IT_CAME, *seen, *(np.nan,) * (9 - len(seen)), *([0] if month != 12 else [])))
    return pd.DataFrame(rows, columns=COLUMNS)


def test_recovery_and_lengths(results):
    """The slowest month gives the heading; months that no year saw say so."""
    recovery(results).to_csv(results.folder / "recovery.csv", index=False)
    lengths = {"from_h": [1, 25, 73], "to_h": [2, 72, 8760], "n": [50] * 3}
    for name, values in (("events", (0.4, 0.1, 0.0)), ("years_pct", (30.0, 8.0, 0.0))):
        lengths |= {
            name: values,
            f"{name}_low": np.multiply(values, 0.8),
            f"{name}_high": np.add(values, 0.1),
        }
    energy = "eue_essential_kwh"
    lengths |= {energy: [0.1, 0.2, 0.0], f"{energy}_low": [0.05, 0.1, 0.0], f"{energy}_high": [0.2, 0.3, 0.1]}
    pd.DataFrame(lengths).to_csv(results.folder / "event_lengths.csv", index=False)
    section = outages_recovery.section(results)
    assert numbers(section.heading) == [6] and "December" in section.heading
    first, table, text, by_length = section.blocks
    assert 12 in numbers(first.text)
    december = next(row for row in table.rows if row[0] == "December")
    assert december[4] == "9.0" and table.rows[0][3:] == ["none seen", "–", "–"]
    assert numbers(text.text) == [1, 2, 80, 25, 72] and text.text.startswith("Most losses")
    assert [numbers(row[0]) for row in by_length.rows] == [[1, 2], [25, 72], [72]]
    alike = pd.DataFrame(lengths).assign(events=[0.4, 0.35, 0.3])
    assert "Most" not in outages_recovery._lengths_text(alike)


def test_events_by_length_add_up_to_the_best_guess_of_the_year(results):
    """Half as many events as on average, and a fifth of the energy: the headlines' best guesses over their means."""
    summary = {"events": {"value": 0.25, "mean": 0.5}, "eue_essential_kwh": {"value": 0.06, "mean": 0.3}}
    known = {f"{name}{end}": 0.0 for name in ("events", "eue_essential_kwh") for end in ("_low", "_high")}
    lengths = pd.DataFrame(
        {"from_h": [1, 25], "to_h": [2, 72], "events": [0.4, 0.1], "eue_essential_kwh": [0.1, 0.2]} | known
    )
    table = outages_recovery._lengths_table(replace(results, summary=summary), lengths)
    assert [row[1] for row in table.rows] == ["80 %", "20 %"]
    assert sum(numbers(row[2])[0] for row in table.rows) == pytest.approx(0.25)
    assert sum(numbers(row[3])[0] for row in table.rows) == pytest.approx(0.06)
