"""The test of the whole: measured years and synthetic years of one place give one loss of load."""

from dataclasses import replace

import numpy as np
import pytest

from climate.record.series import WAGENINGEN_SERIES, greensboro, read, write_hours, write_wageningen
from darkspell.climate import site_climate
from darkspell.climate.distribution import shift_to_mean
from darkspell.climate.record import record_of
from darkspell.climate.record.study_years import study_years
from darkspell.core.calendar import Calendar
from darkspell.report.tables.measured_comparison import difference_of
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.statistics.intervals import mean_interval
from darkspell.study import study_from
from darkspell.weather.measured_years import hours_of_energy, replayed
from darkspell.weather.site_sky import sky_of
from study.example import spoilt

SYSTEM = {
    "site": {"name": "Haarweg", "latitude_deg": 51.97, "longitude_deg": 5.67},
    "climate": {"source": "measured", "file": "wageningen.csv", "series": WAGENINGEN_SERIES},
    "arrays": {"roof": {"power_wp": 500, "tilt_deg": 60, "azimuth_deg": 180}},
    "bank": {"chemistry": "lfp", "capacity_ah": 200, "location": "indoors"},
    "loads": {"link": {"watts": 16, "hours_per_day": 24, "tier": "essential"}},
    "engine": {"members": 256, "seed": 3},
}


@pytest.fixture(scope="module")
def wageningen(tmp_path_factory):
    folder = tmp_path_factory.mktemp("replay")
    write_wageningen(folder / "wageningen.csv")
    study = study_from(spoilt(SYSTEM), folder=folder)
    parts = build_system(study, site_climate(study, folder), sky_of(study))
    years = study_years(record_of(study, folder), parts.calendar, study.climate.fill_days, 3)
    return parts, replayed(parts, years)


def lost(parts):
    hours = simulate(parts, autonomy=False).members["lolh"]
    return hours.mean(), *mean_interval(hours, parts.parameter_draw, seed=3)[:2]


def test_measured_and_synthetic_years_lose_the_same(wageningen):
    synthetic, measured = (lost(parts) for parts in wageningen)
    assert measured[0] > 50.0  # a system that loses nothing would agree with everything
    _, low, high = difference_of(synthetic, measured)
    assert low <= 0.0 <= high


# The same test must fail where the climate is not that of the record: here a sixth more sunshine.
def test_another_climate_is_told_apart(wageningen):
    parts, measured = wageningen
    sunny = shift_to_mean(
        parts.climate.kt_quantiles, 1.17 * parts.climate.monthly_kt(), parts.climate.kt_ceiling
    )
    other = replace(parts, climate=replace(parts.climate, kt_quantiles=sunny))
    _, low, high = difference_of(lost(other), lost(measured))
    assert high < 0.0


# A year's weather enters as it was: same clearness, same daily temperature.
def test_traces_hold_the_measured_days(wageningen):
    _, measured = wageningen
    members = np.arange(64) % 22
    traces = measured.traces(members, members)
    days = measured.measured.days
    assert np.array_equal(traces.clearness[:22], days.kt)
    means = traces.temp_air[:, 4].reshape(365, 24).mean(axis=1)
    assert means == pytest.approx(days.temp_air_mean[4], abs=0.2)


# Hours that were measured pass through: energy of the day kept, none under the horizon, order of hours as it was.
def test_measured_hours_pass_through(tmp_path):
    site, table = greensboro()
    write_hours(tmp_path / "hours.csv", table)
    record = read(tmp_path, site, "hours.csv", step="hourly", ghi_unit="W/m2", temp_column="temp")
    planes = {"roof": {"power_wp": 500, "tilt_deg": 0, "azimuth_deg": 180}}
    place = {"name": "x", "latitude_deg": site.latitude_deg, "longitude_deg": site.longitude_deg}
    place |= {"utc_offset_h": -5.0, "year_starts": "january"}
    sky = sky_of(study_from(spoilt({"site": place, "arrays": planes})))
    years = study_years(record, Calendar(1), 10, 1)
    hours = hours_of_energy(years.ghi, years.kt, sky)
    energy = hours.reshape(365, 24, 2).sum(axis=1).T
    assert energy == pytest.approx(years.kt * sky.daily_extra, rel=2e-3)
    assert (hours[sky.extra_horizontal <= 0.0] == 0.0).all()
    noon = slice(11, 14)
    ratio = hours.reshape(365, 24, 2)[:, noon, 0] / np.maximum(years.ghi[0][:, noon], 1.0)
    assert np.median(ratio) == pytest.approx(1.0, abs=0.02)


# The wind of an hourly record cools the modules of its replayed hours; its mean in sunlight those of simulated ones.
def test_measured_wind_passes_through(tmp_path):
    site, table = greensboro()
    wind = np.where(np.arange(len(table)) % 24 < 12, 1.0, 7.0)
    write_hours(tmp_path / "hours.csv", table.assign(wind=wind))
    place = {"name": "x", "latitude_deg": site.latitude_deg, "longitude_deg": site.longitude_deg}
    place |= {"utc_offset_h": -5.0, "year_starts": "january"}
    series = {"step": "hourly", "ghi_unit": "W/m2", "temp_column": "temp", "wind_column": "wind"}
    given = {"source": "measured", "file": "hours.csv", "series": series}
    study = study_from(spoilt({"site": place, "climate": given}), folder=tmp_path)
    climate, record = site_climate(study, tmp_path), record_of(study, tmp_path)
    parts = build_system(study, climate, sky_of(study))
    years = replayed(parts, study_years(record, parts.calendar, study.climate.fill_days, 3))
    hours = years.days(np.array([1]), np.array([0])).wind[:, 0]
    assert hours[:24].tolist() == [1.0] * 12 + [7.0] * 12
    assert 1.0 < climate.wind < 7.0
    assert parts.arrays.heat_loss == pytest.approx(parts.arrays.still + parts.arrays.windy * climate.wind)
    fixed = study.with_changes({"site.wind_m_s": 2.5})
    assert build_system(fixed, climate, parts.sky).arrays.heat_loss == pytest.approx(
        parts.arrays.still + parts.arrays.windy * 2.5
    )


# By hand: 5 (4 to 7) less 3 (1 to 4): 2, below hypot(1, 1), above hypot(2, 2).
def test_interval_of_a_difference():
    found = difference_of((5.0, 4.0, 7.0), (3.0, 1.0, 4.0))
    assert found == pytest.approx((2.0, 2.0 - 2**0.5, 2.0 + 8**0.5))
