"""From an invented log to what it tells."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from record.test_satellite import KT, SITE, service  # noqa: F401

from darkspell.climate import site_climate
from darkspell.climate.itinerary import by_place
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.log_analysis.classification import DIFFERS, FITS, UNTOLD, main_cause, told
from darkspell.log_analysis.compare import clearness_rank, compare_log, in_step
from darkspell.log_analysis.hourly_means import hour_means, hours_of
from darkspell.log_analysis.inference import HourLog, expected_sun
from darkspell.log_analysis.log_simulator import Bench
from darkspell.log_analysis.reader import Rows
from darkspell.log_analysis.report import table, text, write
from darkspell.log_analysis.settings_estimate import setting
from darkspell.log_analysis.weather import known_clearness
from darkspell.simulation.system import assemble, sky_of
from darkspell.study import load_study
from dev.log_trial.example import write_example

CONFIG = Path(__file__).parents[2] / "config" / "tarn_hut.yaml"
LOG = """
log:
  weather_file: <b>log_weather.csv
  weather_series: {step: daily, ghi_unit: kWh/m2}
"""


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    """Study, assembly and comparison of an invented log with 30 % more load, weather known."""
    folder = tmp_path_factory.mktemp("log")
    path = folder / "hut.yaml"
    path.write_text(CONFIG.read_text() + LOG)
    study = load_study(path)
    assembly = assemble(study, site_climate(study, folder), sky_of(study))
    log = folder / "<b>log.csv"
    write_example(assembly, log, "load", seed=3)
    return study, assembly, compare_log(study, assembly, log)


def test_more_load_is_told_and_nothing_else(case):
    study, _, comparison = case
    found = {one.name: one for one in comparison.found}
    assert comparison.weather_known and main_cause(comparison.found) == "load"
    assert found["load"].low < 1.3 < found["load"].high  # what the log was made with
    # What the study sets; this log's interval ends .0001 below it, those of 22 of 24 logs (seeds 3 to 26) hold it
    assert found["efficiency"].state == FITS and found["efficiency"].middle == pytest.approx(0.98, abs=0.005)
    assert abs(comparison.setting.capacity / study.monitors["panel"].capacity_set_ah - 1) < 0.01
    assert found["array"].state != DIFFERS and found["capacity"].state != DIFFERS


def test_the_answer_is_written_whole_and_nothing_in_it_runs(case, tmp_path):
    study, _, comparison = case
    page = write(study, comparison, tmp_path)
    html = page.read_text()
    assert "The owner uses more than planned" in html and "<b>log" not in html and "<script" not in html
    assert {path.suffix for path in page.parent.iterdir()} == {".html", ".csv", ".png", ".svg"}
    assert list(table(comparison)["asked"]) == ["load", "array", "capacity", "offset", "efficiency"]
    assert "owner uses more" in text(study, comparison)


def test_states_follow_from_interval_and_tolerance():
    assert told("load", 1.3, 1.2, 1.4, 1.0, 0.1).state == DIFFERS
    assert told("load", 1.0, 0.95, 1.05, 1.0, 0.1).state == FITS
    assert told("load", 1.1, 0.7, 1.5, 1.0, 0.1).state == UNTOLD
    assert told("load", np.nan, np.nan, np.nan, 1.0, 0.1).state == UNTOLD


def test_hours_are_means_over_time_not_over_samples():
    seconds = np.array([0.0, 600.0, 1200.0, 1260.0, 1320.0, 1800.0, 2400.0, 3000.0])
    values = np.array([1.0, 1.0, 9.0, 9.0, 3.0, 3.0, 3.0, 3.0])
    # half way between samples: 900 s of 1, 390 s of 9, 2310 s of 3
    assert hour_means(seconds, values, 1)[0] == pytest.approx((900 + 9 * 390 + 3 * 2310) / 3600)
    assert np.isnan(hour_means(seconds, values, 3)[2])


def test_an_hour_takes_no_minutes_of_its_neighbours():
    """Held to the next sample, what changes on the hour would run into the next one, later than it was."""
    true = np.random.default_rng(3).uniform(-5, 20, 200)
    seconds = np.cumsum(np.random.default_rng(4).uniform(60, 480, 3200))
    seconds = seconds[seconds < 200 * 3600]
    np.testing.assert_allclose(hour_means(seconds, true[(seconds // 3600).astype(int)], 200), true)
    for step in (1800.0, 3600.0):
        seconds = step / 3 + step * np.arange(200 * 3600 // step)
        np.testing.assert_allclose(hour_means(seconds, true[(seconds // 3600).astype(int)], 200), true)
    # A line within each hour: the mean is that of the line, whatever the sampling, to second order.
    seconds = np.cumsum(np.random.default_rng(5).uniform(60, 240, 4000))
    seconds = seconds[seconds < 100 * 3600]
    assert np.abs(hour_means(seconds, seconds, 100) - 3600 * (np.arange(100) + 0.5)).max() < 240


def test_settings_come_back_from_a_count_made_with_them():
    rng = np.random.default_rng(2)
    current = np.where(np.arange(480) % 24 < 10, rng.uniform(2, 12, 480), -rng.uniform(3, 6, 480))
    flows = np.column_stack([np.maximum(current, 0), np.minimum(current, 0)])
    counted = np.cumsum(np.where(current > 0, 0.9, 1.0) * current) / 200.0
    reading = 0.3 + np.mod(counted, 0.4)  # wraps: jumps to be left out
    jumps = np.abs(np.diff(reading, prepend=reading[0])) > 0.2
    found = setting(flows, reading, jumps)
    assert found.efficiency == pytest.approx(0.9, abs=0.002) and found.capacity == pytest.approx(
        200, rel=0.002
    )


def test_gaps_resets_and_short_logs_are_told(case):
    _, assembly, _ = case
    start = 1_750_000_000 // 86400 * 86400.0
    seconds = start + np.arange(0, 5 * 86400.0, 600.0)
    seconds = seconds[(seconds < start + 90000) | (seconds > start + 130000)]
    soc = np.where(np.arange(seconds.size) < 400, 0.8, 1.0)
    rows = Rows("x.csv", seconds, {"soc": soc, "current": np.ones(seconds.size)})
    events = " ".join(hours_of(rows, assembly.calendar, 12, 280).events)
    assert "1 gap of more than two hours, 11 h" in events and "set to full 1 time" in events
    short = Rows("x.csv", seconds[:100], {"current": np.ones(100)})
    with pytest.raises(StudyError, match="at least 3"):
        hours_of(short, assembly.calendar, 12, 280)


@pytest.mark.parametrize("late", [3, -4])
def test_a_clock_that_is_late_or_early_is_set_by_the_sun(case, late):
    """Charge that follows the array's own current, its clock wrong by whole hours: moved back by as many."""
    _, assembly, _ = case
    hours = 24 * 200 + np.arange(24 * 20)
    bench = Bench(assembly, hours, None, 5)
    sun = expected_sun(bench, False).astype(np.float32)
    wrong = HourLog(hours, np.roll(sun, late), np.roll(np.arange(sun.size, dtype=np.float32), late))
    log, notes = in_step(bench, wrong, False)
    inside = np.isfinite(log.current)
    assert (~inside).sum() == abs(late)
    np.testing.assert_array_equal(log.current[inside], sun[inside])
    np.testing.assert_array_equal(log.voltage[inside], np.arange(sun.size)[inside])
    assert f"about {abs(late)} h {'late' if late > 0 else 'early'}" in notes[0]
    right = HourLog(hours, sun, sun)
    assert in_step(bench, right, False) == (right, [])


def test_settings_changed_in_mid_log_are_found():
    """Forty days counted with 200 Ah and 90 %, forty with 100 Ah and 98 %: the day of the change, within two."""
    rng = np.random.default_rng(4)
    current = np.where(np.arange(1920) % 24 < 10, rng.uniform(2, 6, 1920), -rng.uniform(1, 3, 1920))
    flows = np.column_stack([np.maximum(current, 0), np.minimum(current, 0)])
    early = np.arange(1920) < 960
    share = np.where(early, 0.9, 0.98)
    step = np.where(current > 0, share, 1.0) * current / np.where(early, 200.0, 100.0)
    reading = 0.3 + np.mod(np.cumsum(step), 0.4)
    jumps = np.abs(np.diff(reading, prepend=reading[0])) > 0.2
    found = setting(flows, reading, jumps)
    assert found.change == pytest.approx(40, abs=2)
    same = np.where(current > 0, 0.9, 1.0) * current / 200.0
    reading = 0.3 + np.mod(np.cumsum(same), 0.4)
    assert setting(flows, reading, np.abs(np.diff(reading, prepend=reading[0])) > 0.2).change is None


def test_the_weather_of_the_dates_is_downloaded_and_used(tmp_path, service):  # noqa: F811
    """A service on this machine answers with one clearness all year; it comes back by date, and is asked once."""
    asks = SimpleNamespace(weather_file=None, download=True)
    study = SimpleNamespace(site=SITE, log=asks, climate=SimpleNamespace(source="atlas"), folder=tmp_path)
    dates = np.arange("2019-12-20", "2020-01-10", dtype="datetime64[D]")
    known, words = known_clearness(study, Calendar(7), dates)
    # The first of July is study day 0: 20 December is day 172 (arithmetic)
    assert np.flatnonzero(np.isfinite(known)).tolist() == list(range(172, 193))
    np.testing.assert_allclose(known[172:193], KT, rtol=0.02)
    assert "NASA POWER, 2019 to 2020" in words and len(service.queries) == 2
    known_clearness(study, Calendar(7), dates)
    assert len(service.queries) == 2
    asks.download = False
    assert known_clearness(study, Calendar(7), dates)[0] is None


def test_a_moving_home_has_a_usual_clearness_place_by_place():
    """Days known to be as clear as the mean of their own place rank in the middle, wherever they were spent."""
    study = load_study(CONFIG.with_name("cruise.yaml"))
    assembly = assemble(study, site_climate(study, study.folder), sky_of(study))
    calendar = assembly.calendar
    places = [one.monthly_kt()[calendar.month_of_day] for one in assembly.climate.climates]
    known = by_place(places, assembly.climate, calendar)
    rank, ratio = clearness_rank(assembly, np.arange(365 * 24), known)
    assert 0.1 < rank < 0.9 and abs(ratio - 1.0) < 0.05
    assert np.isnan(clearness_rank(assembly, np.arange(365 * 24), None)).all()
