from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.climate.mean_clearness import mean_clearness
from darkspell.climate.monthly import from_monthly
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import WANTED, measured_cells
from darkspell.validation.interval_coverage import at_the_means, interval, stated_draws
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

SITE = SimpleNamespace(latitude_deg=51.97, longitude_deg=5.67, altitude_m=7.0)
MEANS = [0.28, 0.34, 0.37, 0.42, 0.45, 0.41, 0.43, 0.44, 0.40, 0.38, 0.32, 0.25]
CALENDAR, YEARS = Calendar(7), 20


@pytest.fixture(scope="module")
def climate():
    given = SimpleNamespace(clearness_index=MEANS, ghi_kwh_m2_day=None, peak_sun_hours=None, temp_air_c=None)
    return from_monthly(SITE, given)


def drawn_record(climate, seed):
    """Twenty years of the climate as a record that somebody measured."""
    members = np.arange(YEARS)
    kt = daily_clearness(climate, CALENDAR, members, members * 0, seed).ravel()
    dates = np.arange("1981-07-01", "2001-07-01", dtype="datetime64[D]")
    dates = dates[~((dates.astype("datetime64[M]").astype(int) % 12 == 1)
                    & ((dates - dates.astype("datetime64[M]")).astype(int) == 28))]  # fmt: skip
    month = dates.astype("datetime64[M]").astype(int) % 12
    return SimpleNamespace(kt=kt, month=month, dates=dates, day_of_year=np.tile(CALENDAR.day_of_year, YEARS))


def test_the_interval_holds_records_of_the_model_itself(climate):
    """A record drawn without doubt lies in the interval of its luck alone in nine of ten cases: of 24 at least 17.

    Fewer come once in a hundred times if it does (binomial; banks of one record counted singly, the middle one).
    """
    sure, held = without_uncertainty(climate), 0
    for seed in range(24):
        cells = [c for c in measured_cells(drawn_record(sure, 100 + seed), 51.97, 7) if c["wanted"] == WANTED]
        low, high, _ = interval(stated_draws(51.97, sure, CALENDAR, cells[1:2], YEARS, "nothing", 7, 120))
        held += int(low[0] <= 0.0 <= high[0])
    assert 17 <= held


def test_what_was_given_is_not_in_doubt(climate):
    """Own means leave doubt of shape alone; single months their choice; nothing given, all of it: ever wider."""
    cells = [
        c
        for c in measured_cells(drawn_record(without_uncertainty(climate), 3), 51.97, 7)
        if c["wanted"] == WANTED
    ]
    widths = {}
    for given in ("means", "months", "nothing"):
        low, high, _ = interval(stated_draws(51.97, climate, CALENDAR, cells, YEARS, given, 1, 200))
        widths[given] = (high - low).mean()
    assert widths["means"] < widths["months"] < widths["nothing"]
    bare = replace(climate, width_sd=0.0, lag_one_sd=0.0, slow_sd=0.0)
    low, high, _ = interval(stated_draws(51.97, bare, CALENDAR, cells, YEARS, "means", 1, 200))
    assert (high - low).mean() < widths["means"]


# By least squares on one column of the twelve: what goes along with it is taken out, the median stays, and the rest
# is widened by the freedom that the fit used.
def test_values_are_brought_to_the_means():
    rng = np.random.default_rng(1)
    means, noise = rng.normal(0.4, 0.02, (4000, 12)), rng.normal(0.0, 0.1, 4000)
    log = (2.0 + 5.0 * (means[:, 0] - 0.4) + noise)[None]
    told = at_the_means(log, means)[0]
    assert np.median(told) == pytest.approx(np.median(log), abs=0.005)
    assert told.std() == pytest.approx(0.1, rel=0.03) and log.std() > 0.135


def test_more_years_leave_less_doubt():
    """By hand for four years: sampling errors 0.042 / 2 of the year, 0.1 / 2 of months, times 1 + 1 / 4."""
    few, many = source_uncertainty("measured", 50.0, 4.0), source_uncertainty("measured", 50.0, 40.0)
    assert few["annual_mean_sd"] == pytest.approx(np.hypot(0.04, 0.021 * 1.25))
    assert few["monthly_mean_sd"] == pytest.approx(0.05 * 1.25)
    assert all(
        many[name] < few[name]
        for name in ("annual_mean_sd", "monthly_mean_sd", "width_sd", "lag_one_sd", "slow_sd")
    )
    assert source_uncertainty("monthly", 50.0) == source_uncertainty("monthly", 10.0)
    means = mean_clearness(52.0, 5.0)
    tropics, north = (source_uncertainty("atlas", latitude, means=means) for latitude in (10.0, 60.0))
    assert tropics["annual_mean_sd"] > north["annual_mean_sd"] > means.level_sd
