import re
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from climate.record.series import greensboro, read, write_hours
from darkspell.climate.record.time_checks import monthly_lateness, sun_by_hour
from darkspell.core.errors import StudyError

HOURLY = {"step": "hourly", "ghi_unit": "W/m2", "temp_column": "temp"}


@pytest.fixture(scope="module")
def hours():
    return greensboro()


def record(folder, site, table, **series):
    write_hours(folder / "hours.csv", table)
    return read(folder, site, "hours.csv", **(HOURLY | series))


# The hours of the file that pvlib reads: what goes in comes out, by day, hour and degree.
def test_hours_come_out_as_they_went_in(tmp_path, hours):
    site, table = hours
    found = record(tmp_path, site, table)
    assert found.faults == []
    assert found.dates.size == 730
    assert found.ghi.sum(axis=1) == pytest.approx(
        table["ghi"].to_numpy().reshape(730, 24).sum(axis=1), rel=0.01
    )
    assert found.temp_air == pytest.approx(table["temp"].to_numpy().reshape(730, 24).mean(axis=1))
    assert np.nanargmax(found.ghi[180]) in (11, 12, 13)


@pytest.mark.parametrize(
    "unit, factor", [("kWh/m2", 1e-3), ("J/cm2", 0.36), ("kJ/m2", 3.6), ("MJ/m2", 3.6e-3)]
)
def test_units(tmp_path, hours, unit, factor):
    site, table = hours
    found = record(tmp_path, site, table.assign(ghi=table["ghi"] * factor), ghi_unit=unit)
    assert found.kt == pytest.approx(record(tmp_path, site, table).kt, rel=1e-5)


# One hour of summer day as three ways of naming it, and in two time zones; all mean the same hour.
@pytest.mark.parametrize(
    "minutes, zone, series",
    [
        (60, None, {"hour_label": "end"}),
        (30, None, {"hour_label": "middle"}),
        (300, None, {"time_zone": "UTC"}),
        (0, None, {"time_zone": "UTC-5"}),
        (0, "America/New_York", {"time_zone": "America/New_York"}),
    ],
)
def test_every_way_of_naming_an_hour(tmp_path, hours, minutes, zone, series):
    site, table = hours
    plain = record(tmp_path, site, table)
    named = table.copy()
    named.index = table.index + pd.Timedelta(minutes=minutes)
    if zone:
        named.index = table.index.tz_localize("Etc/GMT+5").tz_convert(zone).tz_localize(None)
    found = record(tmp_path, site, named, **series)
    same = np.isin(plain.dates, found.dates)
    assert same.sum() >= 729
    assert np.array_equal(plain.ghi[same], found.ghi)


def test_times_that_say_their_own_zone(tmp_path, hours):
    site, table = hours
    plain = record(tmp_path, site, table)
    write_hours(tmp_path / "own.csv", table.tz_localize("Etc/GMT+5"), "%Y-%m-%d %H:%M%z")
    assert np.array_equal(read(tmp_path, site, "own.csv", **HOURLY).ghi, plain.ghi)


# A place whose standard time is half an hour off the whole: energy stays, hours are shared.
def test_half_hour_zones_share_hours(tmp_path, hours):
    site, table = hours
    site = type(site)(**vars(site) | {"longitude_deg": 77.6, "utc_offset_h": 5.5})
    moved = table.copy()
    moved.index = table.index - pd.Timedelta(hours=5)
    found = record(tmp_path, site, moved, time_zone="UTC")
    assert found.ghi[1:-1].sum() == pytest.approx(table["ghi"].to_numpy()[24:-24].sum(), rel=0.01)


@pytest.mark.parametrize("late, cure", [(1, "hour_label: end"), (-2, "time_zone"), (5, "time_zone")])
def test_a_wrong_clock_is_told_with_its_cure(tmp_path, hours, late, cure):
    site, table = hours
    table = table.copy()
    table.index = table.index + pd.Timedelta(hours=late)
    with pytest.raises(StudyError) as caught:
        record(tmp_path, site, table)
    words = f"{abs(late)} h {'late' if late > 0 else 'early'}"
    assert (
        words in str(caught.value)
        and cure in str(caught.value)
        and "hours.csv, column date" in str(caught.value)
    )


def test_summer_time_is_told_and_repaired_by_name(tmp_path, hours):
    site, table = hours
    summer = table.copy()
    summer.index = table.index.tz_localize("Etc/GMT+5").tz_convert("America/New_York").tz_localize(None)
    with pytest.raises(StudyError, match="summer time.*time_zone by name"):
        record(tmp_path, site, summer, repair=["duplicates"])


# Hours that slip by two from a date on: found, and undone to the very day (or nearly so) where allowed.
def test_shifted_hours_are_moved_back_where_allowed(tmp_path, hours):
    site, table = hours
    plain = record(tmp_path, site, table)
    slipped = table.copy()
    late = slipped.index >= pd.Timestamp("2002-02-11")
    slipped.index = slipped.index.where(~late, slipped.index + pd.Timedelta(hours=2))
    with pytest.raises(StudyError, match="2002-02 to 2002-12 2 h late") as caught:
        record(tmp_path, site, slipped)
    middle, error, days = re.search(
        r"by ([\d.]+) h \+- ([\d.]+) h .* on the (\d+) clearest", str(caught.value)
    ).groups()
    assert abs(float(middle) - 2.0) < 0.25 and 0.01 <= float(error) < 0.2 and int(days) > 20
    found = record(tmp_path, site, slipped, repair=["shift"])
    unlike = [
        str(day) for day, a, b in zip(found.dates, found.ghi, plain.ghi, strict=True) if not np.allclose(a, b)
    ]
    assert len(unlike) <= 4 and all("2002-02" in day for day in unlike)
    fault = found.faults[0]
    assert "moved to the sun" in fault.done and fault.count == pytest.approx(324, abs=4)


# What is spoilt on purpose is found again, in number and date.
def test_faults_are_counted_and_dated(tmp_path, hours):
    site, table = hours
    spoilt = table.copy()
    spoilt.loc["2001-03-05 12:00", "ghi"] = 1900.0
    spoilt.loc["2001-06-07 10:00":"2001-06-07 11:00", "ghi"] = -99.0
    spoilt.loc["2001-12-24 02:00", "ghi"] = -1.5
    spoilt.loc["2001-08-01", "temp"] = 99.9
    spoilt = spoilt.drop(spoilt.loc["2001-09-09 11:00":"2001-09-09 12:00"].index)
    spoilt = spoilt.drop(spoilt.loc["2002-05-10":"2002-05-12"].index)
    found = record(tmp_path, site, spoilt)
    said = {fault.kind: fault for fault in found.faults}
    impossible = said["hours below -4 W/m2 or above the physically possible"]
    assert (impossible.count, impossible.runs) == (3, [("2001-03-05",) * 2, ("2001-06-07",) * 2])
    missing = said["days without a value"]
    assert missing.count == 6
    assert missing.runs[-1] == ("2002-05-10", "2002-05-12")
    assert said["hours with a temperature outside -75 to 60 degC"].count == 24
    assert np.isnan(found.kt).sum() == 6
    assert "2001-09-09" in missing.sentence() and "set aside" in missing.sentence()


# A short gap on a clear day: the hours' own clearness lies between that of their neighbours.
def test_short_gaps_are_filled_only_where_allowed(tmp_path, hours):
    site, table = hours
    gap = table.drop(table.loc["2001-07-04 12:00":"2001-07-04 13:00"].index)
    gap = gap.drop(gap.loc["2001-07-09 09:00":"2001-07-09 14:00"].index)
    assert np.isnan(record(tmp_path, site, gap).kt).sum() == 2
    found = record(tmp_path, site, gap, repair=["short_gaps"])
    assert np.isnan(found.kt).sum() == 1
    assert found.ghi[184].sum() == pytest.approx(table.loc["2001-07-04", "ghi"].sum(), rel=0.15)
    assert [f.count for f in found.faults if "short gaps" in f.kind] == [2]


def test_rows_that_are_no_hours_are_refused(tmp_path, hours):
    site, table = hours
    with pytest.raises(StudyError, match="24 hours apart.*step: daily"):
        record(tmp_path, site, table.iloc[::24])
    fine = table.iloc[:3000].copy()
    fine.index = pd.date_range("2001-01-01", periods=3000, freq="10min")
    with pytest.raises(StudyError, match="10 minutes apart.*average"):
        record(tmp_path, site, fine)
    half = table.copy()
    half.index = half.index + pd.Timedelta(minutes=30)
    with pytest.raises(StudyError, match="30 minutes past the hour.*hour_label: middle"):
        record(tmp_path, site, half)


def test_light_at_night_is_told(tmp_path, hours):
    """An offset of the sensor, and a clock off by half a day, each with its cure."""
    site, table = hours
    with pytest.raises(StudyError, match="column ghi: .* 40 W/m2: subtract the sensor's offset"):
        record(tmp_path, site, table.assign(ghi=table["ghi"] + 40.0))
    with pytest.raises(StudyError, match="column ghi: .* day and night are exchanged"):
        record(tmp_path, site, table.assign(ghi=np.roll(table["ghi"].to_numpy(), 12)))


def test_a_ridge_in_the_east_is_no_wrong_clock():
    """Beam is taken from the hours before 10; diffuse light stays, and no light falls in hours without sun."""
    site = SimpleNamespace(latitude_deg=47.0, longitude_deg=15.0, utc_offset_h=1.0)
    sun = sun_by_hour(site)
    dates = np.arange("2023-01-01", "2024-01-01", dtype="datetime64[D]")
    ghi = 0.7 * sun
    ghi[:, :10] *= 0.2
    assert not any(monthly_lateness(dates, ghi, sun).values())
    late = np.roll(0.7 * sun.ravel(), 1).reshape(365, 24)
    assert set(monthly_lateness(dates, late, sun).values()) == {1}


# Wind goes the same way as temperature; what no wind can be is set aside and counted; its mean weighs by the light.
def test_wind_comes_out_as_it_went_in(tmp_path, hours):
    site, table = hours
    gusts = np.where(np.arange(len(table)) % 24 < 12, 2.0, 6.0)
    gusts[[30, 500]] = [-9.0, 999.0]
    found = record(tmp_path, site, table.assign(wind=gusts), wind_column="wind")
    assert found.wind_hours[3, :12].tolist() == [2.0] * 12 and found.wind_hours[3, 12:].tolist() == [6.0] * 12
    assert np.isnan(found.wind_hours).sum() == 2
    assert any("hours with a wind outside 0 to 50 m/s: 2" in fault.sentence() for fault in found.faults)
    morning = found.ghi[:, :12].sum() / found.ghi.sum()
    assert found.wind_in_sun == pytest.approx(2.0 * morning + 6.0 * (1.0 - morning), rel=1e-3)
    assert record(tmp_path, site, table).wind_in_sun is None
