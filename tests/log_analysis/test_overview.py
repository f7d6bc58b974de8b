"""What a log shows without inference: invented logs of the shapes that stations write."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.log_analysis import log_facts, next_steps
from darkspell.log_analysis.design_bands import DesignBands
from darkspell.log_analysis.figures import cut_off_line
from darkspell.log_analysis.hourly_means import hours_of
from darkspell.log_analysis.log_gaps import gaps
from darkspell.log_analysis.overview import overview
from darkspell.log_analysis.plausibility import fits_nominal
from darkspell.log_analysis.reader import Rows
from darkspell.log_analysis.weather import NOT_KNOWN

START = 1735689600.0  # 2025-01-01 00:00
DARK = (np.arange(24) < 8) | (np.arange(24) >= 16)


def shown(step, volts, seconds=None, **values):
    """Overview and texts of an invented voltage log; the design's band is 12.6 to 13 V."""
    volts = np.asarray(volts, float)
    seconds = START + step * np.arange(volts.size) if seconds is None else seconds
    rows = Rows("x.csv", seconds, {"voltage": volts, **values}, [])
    hours = hours_of(rows, Calendar(1), 12.0, 100.0)
    days = hours.dates.size
    dark = np.tile(DARK, days)
    seen = overview(rows, hours, dark, 11.4, 14.2, "agm", 12.0)
    levels = np.nan_to_num(hours.log.voltage, nan=np.inf).reshape(-1, 24)
    whole = np.isfinite(hours.log.voltage).reshape(-1, 24).sum(1) >= 20
    logged = np.where(whole, levels.min(1), np.nan)
    bands = DesignBands(
        "lowest_voltage",
        logged,
        np.tile([[12.6], [12.7], [12.8], [12.9], [13.0]], days),
        float((logged < 12.6).mean()),
        0.0,
        0.5,
    )
    comparison = SimpleNamespace(
        seen=seen, bands=bands, hours=hours, inferred=False, evidence=None, weather=NOT_KNOWN
    )
    return seen, comparison


def test_a_bank_that_runs_down_is_said_to_hardly_charge():
    """Quarter-hourly, 12 days, 12.1 to 9.2 V with small humps by day that never reach a full bank at rest."""
    days = np.arange(12 * 96) / 96.0
    volts = 12.1 - 0.5 * days / 12 - 2.4 * np.clip(days - 11.5, 0, None) / 0.5
    volts += 0.35 * np.clip(np.sin(2 * np.pi * (days - 0.25)), 0, None)
    seen, comparison = shown(900.0, volts)
    assert seen.run_down.lead and seen.run_down.highest < 12.6 < seen.run_down.full_at_rest
    words = log_facts.summary(comparison)
    assert words.startswith("In 12 days the bank hardly charged") and "never rose above 12.4" in words
    soon, why = next_steps.steps(comparison)
    assert "damaged" in soon and "soon" in soon
    assert all(part in why for part in ("panel", "fuse", "controller", "shade", "snow", "bank itself"))
    facts = dict(log_facts.facts(comparison))
    assert "12 of 12 days below it" in facts["Where they lie"]
    assert log_facts.band_title(comparison).startswith("Every day lies below the design's band, by ")
    reading = replace(comparison.bands, quantity="lowest_soc")
    comparison.bands = reading
    assert log_facts.band_title(comparison).endswith(" points in the middle")


@pytest.mark.parametrize("top", [13.0, 14.4])
def test_a_bank_that_charges_is_not_said_to_run_down(top):
    """Lower from day to day as well, but the sun lifts it above a full bank at rest."""
    days = np.arange(12 * 96) / 96.0
    volts = 12.4 - 0.08 * days + (top - 12.0) * np.clip(np.sin(2 * np.pi * (days - 0.25)), 0, None)
    assert shown(900.0, volts)[0].run_down is None


def test_a_measured_charge_current_speaks_against_it():
    volts = np.linspace(12.4, 11.5, 12 * 24)
    assert shown(3600.0, volts)[0].run_down is not None
    current = np.where(np.arange(12 * 24) % 24 < 12, 5.0, -5.0)
    assert shown(3600.0, volts, current=current)[0].run_down is None


def test_daily_values_show_neither_lowest_voltage_nor_full_charges():
    seen, comparison = shown(86400.0, 13.7 + 0.3 * np.sin(np.arange(75)))
    assert np.isnan(seen.lowest_voltage) and np.isnan(seen.hours_below)
    assert seen.full_days is None and seen.longest_gap is None
    assert next_steps.steps(comparison) == [next_steps.log_next(comparison)]
    words, facts = log_facts.summary(comparison), dict(log_facts.facts(comparison))
    assert "lowest voltage" not in words and "full charge" not in words and "13.40 and 14.00 V" in words
    assert (
        facts["Not shown"].startswith("full charges and lowest voltage")
        and "a day apart" in facts["Not shown"]
    )
    assert facts["Gaps between rows, longer than three usual steps"] == "none"
    assert not log_facts.has_days(comparison) and "not compared" in facts["Days against the design's band"]


def test_six_hourly_values_show_no_quarter_of_an_hour_at_full():
    seen, comparison = shown(21600.0, np.tile([13.2, 14.6, 13.3, 13.1], 10))
    facts = dict(log_facts.facts(comparison))
    assert seen.full_days is None and "rows 6 h apart" in facts["Not shown"]
    assert facts["Lowest of the voltages, rows 6 h apart"].startswith("13.10 V")
    assert not any("cut-off" in name or "full charge" in name for name in facts)


def test_the_words_of_the_cut_off_keep_clear_of_the_log():
    """They are in the half of the picture in which the log is further from the line."""
    from matplotlib.figure import Figure

    for logged, side in ((np.linspace(11.9, 11.4, 12), "left"), (np.linspace(11.4, 11.9, 12), "right")):
        ax = Figure().add_subplot()
        ax.plot(logged)
        ax.set_ylim(11.0, 12.5)
        cut_off_line(ax, 11.4, logged)
        assert [text.get_ha() for text in ax.texts] == [side] and "11.4 V" in ax.texts[0].get_text()
    ax = Figure().add_subplot()
    ax.set_ylim(12.0, 13.0)
    cut_off_line(ax, 11.4, np.full(12, 12.5))
    assert not ax.texts and not ax.lines


def test_full_charges_by_voltage_need_rows_that_show_a_quarter_of_an_hour():
    """An hour apart, a voltage is no proof that the bank stayed there; every 15 min it is."""
    volts = np.tile(np.where(np.arange(24) == 12, 14.4, 12.8), 10)
    seen, comparison = shown(3600.0, volts)
    facts = dict(log_facts.facts(comparison))
    assert seen.full_days is None and facts["Not shown"].startswith("full charges: rows 1 h apart")
    assert facts["Time below 11.4 V, the study's cut-off"] == "none"
    seen, comparison = shown(900.0, np.repeat(volts, 4))
    assert seen.full_days == 10 and "Not shown" not in dict(log_facts.facts(comparison))


def test_a_log_too_short_for_a_share_of_days_has_no_band():
    """Two whole days: half of the systems as designed have no day outside, one in twenty has all of them."""
    comparison = shown(600.0, np.full(2 * 144, 12.0))[1]
    facts = dict(log_facts.facts(comparison))
    assert comparison.hours.short == "48 hours" and not log_facts.has_days(comparison)
    assert facts["Days against the design's band"] == "not compared: the log is too short"
    assert next_steps.steps(comparison)[0].startswith("For the next log: at least 3 days")


def test_gaps_are_there_once_with_the_longest():
    seconds = START + 600.0 * np.arange(10 * 144)
    seconds = seconds[(seconds < seconds[300]) | (seconds > seconds[360])]
    comparison = shown(600.0, np.full(seconds.size, 12.8), seconds)[1]
    facts = dict(log_facts.facts(comparison))
    assert (
        "the longest from 2025-01-03 01:50 to 2025-01-03 12:10"
        in facts["Gaps between rows, of 1.5 h or more"]
    )
    assert facts["Nights in which logging stops"] == "1 of 10" and comparison.hours.events == []


def test_more_days_than_usual_outside_the_band_get_a_step_by_side():
    low = shown(900.0, np.full(12 * 96, 12.5))[1]
    assert log_facts.outside_design(low) and log_facts.lean(low.bands) == "below"
    (step,) = next_steps.steps(low)
    assert "below the design's band" in step and "modules" in step
    low.bands = replace(low.bands, logged=low.bands.logged + 1.0)
    (step,) = next_steps.steps(low)
    assert "above the design's band" in step and "Nothing needs to be done" in step


def random_gaps(rng, days=60):
    """Rows every ten minutes with a few gaps of 1 to 5 h at any hour."""
    seconds = START + 600.0 * np.arange(days * 144)
    for _ in range(rng.integers(3, 9)):
        begin = START + rng.uniform(0, days * 86400.0)
        seconds = seconds[(seconds < begin) | (seconds > begin + 3600.0 * rng.uniform(1, 5))]
    return seconds


def test_gaps_at_any_hour_do_not_stop_logging_by_night():
    """At most one in a hundred by chance, for each log; of 200 invented logs at most five."""
    rng, said = np.random.default_rng(1), 0
    for _ in range(200):
        seconds = random_gaps(rng)
        hours = SimpleNamespace(dates=np.arange("2025-01-01", "2025-03-02", dtype="datetime64[D]"))
        found = gaps(seconds, hours, np.tile(DARK, hours.dates.size))
        assert found.count >= 1 and found.share < 0.03
        said += found.by_night
    assert said <= 5


def test_a_logger_that_goes_off_with_the_loads_is_named():
    seconds = START + 600.0 * np.arange(60 * 144)
    clock, day = seconds % 86400.0 / 3600.0, (seconds - START) // 86400.0
    off = (clock > 20.0) & (day % 4 == 0)
    seen, comparison = shown(600.0, np.full((~off).sum(), 12.8), seconds[~off])
    assert seen.gaps.by_night and seen.gaps.nights_stopped == 15
    assert any("by night" in one for one in next_steps.steps(comparison))
    assert "logging stopped in 15 of 60 nights" in log_facts.summary(comparison)


@pytest.mark.parametrize(
    ("volts", "nominal", "unit", "words"),
    [
        (
            12.0,
            24.0,
            "V",
            "do not fit the 24 V bank of the study, but one of 12 V; check system.nominal_voltage_v",
        ),
        (13.9, 24.0, "V", "one of 12 V"),
        (12.6, 48.0, "V", "one of 12 V"),
        (26.0, 12.0, "V", "one of 24 V"),
        (0.0121, 12.0, "mV", "mV, fit no bank of 12 V; in V they do: set log.voltage_unit: V"),
        (12700.0, 12.0, "V", "set log.voltage_unit: mV"),
        (3.44, 12.0, "V", "log.voltage_column"),
        (1.0, 12.0, "V", "log.voltage_unit"),
    ],
)
def test_voltages_of_another_bank_or_unit_are_refused(volts, nominal, unit, words):
    values = volts * (1.0 + 0.03 * np.sin(np.arange(100)))
    values[:60] = 0.0  # rows of a logger without its bank do not decide
    with pytest.raises(StudyError, match=r"log\.voltage|system\.nominal") as told:
        fits_nominal("x.csv", values, nominal, unit)
    assert words in str(told.value) and "\n" not in str(told.value)


@pytest.mark.parametrize(
    ("volts", "nominal"), [(8.5, 12), (11.5, 12), (14.4, 12), (16.0, 12), (25.6, 24), (52.0, 48), (0.0, 12)]
)
def test_voltages_of_a_run_down_or_charging_bank_are_read(volts, nominal):
    fits_nominal("x.csv", np.full(50, float(volts)), float(nominal), "V")
    fits_nominal("x.csv", np.full(50, np.nan), float(nominal), "V")


def test_length_is_counted_in_hours_and_a_last_midnight_is_no_day():
    """Eight hours across a midnight are not two days; 60 days of hours labelled at their end are 60."""
    evening = START + 20 * 3600.0 + 600.0 * np.arange(48)
    short = hours_of(Rows("x.csv", evening, {"voltage": np.full(48, 12.5)}, []), Calendar(1), 12.0, 100.0)
    assert short.short == "8 hours"
    nothing = Rows("x.csv", evening, {"voltage": np.full(48, np.nan)}, [])
    with pytest.raises(StudyError, match="no hour has values"):
        hours_of(nothing, Calendar(1), 12.0, 100.0)
    ends = START + 3600.0 * np.arange(1, 60 * 24 + 1)
    hours = hours_of(Rows("x.csv", ends, {"voltage": np.full(ends.size, 12.5)}, []), Calendar(1), 12.0, 100.0)
    assert hours.short == "" and hours.dates.size == 60 and str(hours.dates[-1]) == "2025-03-01"
