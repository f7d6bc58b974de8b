import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from darkspell.climate import site_climate
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.persistence import typical_persistence
from darkspell.climate.weather_file import file_kind, find_weather_file, read_weather_file
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError

DATA = Path(pvlib.__file__).parent / "data"
FILES = {"703165TY.csv": "TMY3", "723170TYA.CSV": "TMY3", "12839.tm2": "TMY2"}


def write_epw(path, source=DATA / "723170TYA.CSV"):
    """EPW of the hours of a TMY3 file: both number the hour by its end (1-24)."""
    rows = list(csv.reader(source.read_text().splitlines()))
    tz, latitude, longitude, altitude = rows[0][3:7]
    lines = [f"LOCATION,Somewhere,-,-,test,000000,{latitude},{longitude},{tz},{altitude}"] + ["HEADER"] * 7
    for row in rows[2:]:
        month, day, year = row[0].split("/")
        cells = ["0"] * 35
        cells[:5] = [year, month, day, str(int(row[1][:2])), "60"]
        cells[5], cells[6], cells[13], cells[21] = "?", row[31], row[4], row[46]
        lines.append(",".join(cells))
    path.write_text("\n".join(lines) + "\n")


@pytest.mark.parametrize("name", FILES)
def test_format_is_told_from_the_file(name):
    assert file_kind(DATA / name) == FILES[name]


# The sun itself: slide the sun's height against GHI and see where it fits best. A label taken for the wrong
# end of its hour is off by 60 minutes; sky that differs between morning and afternoon moves it by a quarter.
@pytest.mark.parametrize("name", FILES)
def test_hours_are_labelled_by_their_beginning(name):
    weather = read_weather_file(DATA / name)
    start = pd.Timestamp("2001-01-01", tz="UTC") - pd.Timedelta(hours=weather.utc_offset)
    fit = {}
    for minutes in range(-75, 76, 15):
        times = start + pd.to_timedelta(np.arange(8760) * 60 + 30 + minutes, unit="min")
        zenith = pvlib.solarposition.get_solarposition(
            times, weather.latitude, weather.longitude, method="ephemeris"
        )["zenith"]
        fit[minutes] = np.corrcoef(weather.ghi, np.maximum(np.cos(np.radians(zenith)), 0.0))[0, 1]
    assert abs(max(fit, key=fit.get)) <= 15


# The file's own date column: 24 rows a date, and their sum is the day's irradiation.
@pytest.mark.parametrize("name", ["703165TY.csv", "723170TYA.CSV"])
def test_days_sum_as_the_file_dates_them(name):
    table = pd.read_csv(DATA / name, skiprows=1)
    days = table.groupby(table["Date (MM/DD/YYYY)"].str[:5])["GHI (W/m^2)"].sum().sort_index()
    ours = read_weather_file(DATA / name).ghi.reshape(365, 24).sum(axis=1)
    assert ours == pytest.approx(days.to_numpy(float))


# pvlib's reader of TMY2, and the width of the temperature field in tenths of a degree.
def test_tmy2_against_pvlib():
    table, place = pvlib.iotools.read_tmy2(str(DATA / "12839.tm2"))
    weather = read_weather_file(DATA / "12839.tm2")
    days = table.groupby([table["month"], table["day"]])["GHI"].sum()
    assert weather.ghi.reshape(365, 24).sum(axis=1) == pytest.approx(days.to_numpy(float))
    assert weather.temp_air.mean() == pytest.approx(table["DryBulb"].mean() / 10.0)
    assert (weather.latitude, weather.utc_offset) == (place["latitude"], place["TZ"])


def test_epw_gives_the_same_hours_as_the_tmy3_it_was_made_of(tmp_path):
    write_epw(tmp_path / "somewhere.epw")
    epw, tmy3 = read_weather_file(tmp_path / "somewhere.epw"), read_weather_file(DATA / "723170TYA.CSV")
    assert epw.kind == "EPW"
    assert np.array_equal(epw.ghi, tmy3.ghi)
    assert np.array_equal(epw.temp_air, tmy3.temp_air)


@pytest.mark.parametrize("name", FILES)
def test_the_wind_in_sunlight_is_that_of_the_file(study, name):
    """The file's own columns: mean wind weighted by GHI, times (2 / 10)^(1/7) = 0.795, in the table 0.8."""
    if name.endswith("tm2"):
        table, _ = pvlib.iotools.read_tmy2(str(DATA / name))
        ghi, wind = table["GHI"], table["Wspd"] / 10.0
    else:
        table = pd.read_csv(DATA / name, skiprows=1)
        ghi, wind = table["GHI (W/m^2)"], table["Wspd (m/s)"]
    weather = read_weather_file(DATA / name)
    expected = 0.8 * float((ghi * wind).sum() / ghi.sum())
    assert weather.wind_in_sun == pytest.approx(expected)
    given = study(weather.latitude, weather.longitude, "typical_year", file=f"pvlib:{name}")
    assert site_climate(given).wind == pytest.approx(expected)


def test_a_wind_that_an_epw_file_does_not_know_is_left_out(tmp_path):
    """999 means a missing value; where half of the light has no wind there is none."""
    path = tmp_path / "somewhere.epw"
    write_epw(path)
    whole = read_weather_file(path)
    assert whole.wind_in_sun == pytest.approx(read_weather_file(DATA / "723170TYA.CSV").wind_in_sun)
    lines = path.read_text().splitlines()
    for count, expected in ((8 + 24 * 10, pytest.approx(whole.wind_in_sun, rel=0.03)), (len(lines), 0.0)):
        rows = [line.split(",") for line in lines]
        for row in rows[8:count]:
            row[21] = "999"
        path.write_text("\n".join(map(",".join, rows)) + "\n")
        assert read_weather_file(path).wind_in_sun == expected


# A header written in Latin-1, as many files have it ("automáticamente"); the byte is none of UTF-8.
def test_a_header_in_an_older_encoding_is_read(tmp_path):
    path = tmp_path / "somewhere.epw"
    write_epw(path)
    plain = read_weather_file(path)
    path.write_bytes(path.read_bytes().replace(b"HEADER", "autom\u00e1ticamente".encode("latin-1"), 1))
    assert np.array_equal(read_weather_file(path).ghi, plain.ghi)


@pytest.mark.parametrize("name", FILES)
def test_climate_has_the_means_of_the_file(study, name):
    weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
    climate = site_climate(study(weather.latitude, weather.longitude, "typical_year", file=f"pvlib:{name}"))
    calendar = Calendar(start_month=1)
    extra = daily_extraterrestrial(weather.latitude, calendar.day_of_year)
    kt = weather.ghi.reshape(365, 24).sum(axis=1) / 1000.0 / extra
    means = [kt[calendar.month_of_day == month].mean() for month in range(12)]
    assert climate.monthly_kt() == pytest.approx(means, abs=1e-6)
    assert (np.diff(climate.kt_quantiles, axis=1) >= 0.0).all()
    assert climate.notes == []
    assert climate.fast_phi == pytest.approx(typical_persistence(weather.latitude, means)["fast_phi"])
    days = weather.temp_air.reshape(365, 24)
    july = calendar.month_of_day == 6
    assert climate.temp_air_mean[6] == pytest.approx(days[july].mean())
    assert climate.temp_air_range[6] == pytest.approx(
        np.mean(days[july].max(axis=1) - days[july].min(axis=1))
    )
    assert climate.temp_air_sd[6] == pytest.approx(np.std(days[july].mean(axis=1), ddof=1))


def test_a_far_file_is_remarked(study):
    climate = site_climate(study(28.0, -80.27, "typical_year", file="pvlib:12839.tm2"))
    assert any("245 km" in note for note in climate.notes)


def edit_epw(folder, change):
    path = folder / "edited.epw"
    write_epw(path)
    lines = path.read_text().splitlines()
    change(lines)
    path.write_text("\n".join(lines) + "\n")
    return path


def set_cell(line, column, value):
    cells = line.split(",")
    cells[column] = value
    return ",".join(cells)


@pytest.mark.parametrize(
    ("column", "value", "name"), [(13, "9999", "ghi"), (13, "x", "ghi"), (6, "99.9", "temp_air")]
)
def test_a_bad_cell_is_named_by_file_row_and_column(tmp_path, column, value, name):
    def change(lines):
        lines[108] = set_cell(lines[108], column, value)

    with pytest.raises(StudyError, match=rf"edited.epw, row 109, column {name}: {value}"):
        read_weather_file(edit_epw(tmp_path, change))


def test_a_missing_hour_is_named(tmp_path):
    with pytest.raises(StudyError, match="from 04:00 on day 5 of month 1 occurs 0 times"):
        read_weather_file(edit_epw(tmp_path, lambda lines: lines.pop(8 + 4 * 24 + 4)))


def test_a_wrong_unit_is_refused(study, tmp_path):
    def change(lines):
        lines[8:] = [set_cell(line, 13, str(float(line.split(",")[13]) / 3600.0)) for line in lines[8:]]

    # Wh/m2 written as MW or the like: far too dull, so that the monthly means cannot be.
    path = edit_epw(tmp_path, change)
    with pytest.raises(StudyError, match="edited.epw"):
        site_climate(study(36.1, -79.95, "typical_year", file=path.name), tmp_path)


def test_a_strange_file_is_refused_with_a_cure(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("to do\nbuy milk\n")
    with pytest.raises(StudyError, match="neither EPW"):
        read_weather_file(path)


def test_a_missing_file_is_named():
    with pytest.raises(StudyError, match="nowhere.epw"):
        find_weather_file("nowhere.epw", "folder")


def test_a_wrong_time_zone_in_the_file_is_remarked(study, tmp_path):
    path = edit_epw(tmp_path, lambda lines: lines.__setitem__(0, set_cell(lines[0], 8, "0")))
    climate = site_climate(study(36.1, -79.95, "typical_year", file=path.name), tmp_path)
    assert any("5 h early" in note for note in climate.notes)


# Files of a converter have the Indian zone as "5,5" (two of the package accim-samples); without this it was 5 h.
@pytest.mark.parametrize(("zone", "hours"), [("5,5", 5.5), ("-3,50", -3.5), ("5", 5.0)])
def test_a_time_zone_with_a_decimal_comma_is_read(tmp_path, zone, hours):
    path = edit_epw(tmp_path, lambda lines: lines.__setitem__(0, set_cell(lines[0], 8, zone)))
    assert read_weather_file(path).utc_offset == hours


@pytest.mark.parametrize("place", ["36,1", "Some, where"])
def test_other_commas_in_the_location_are_refused(tmp_path, place):
    path = edit_epw(tmp_path, lambda lines: lines.__setitem__(0, set_cell(lines[0], 6, place)))
    with pytest.raises(StudyError, match="row 1: 11 fields.* decimal point"):
        read_weather_file(path)


def test_empty_cells_behind_the_location_are_no_fields(tmp_path):
    path = edit_epw(tmp_path, lambda lines: lines.__setitem__(0, lines[0] + ",,,"))
    assert read_weather_file(path).utc_offset == -5.0


def test_light_at_night_is_refused(study, tmp_path):
    path = edit_epw(tmp_path, lambda lines: lines.__setitem__(0, set_cell(lines[0], 8, "7")))
    with pytest.raises(StudyError, match="edited.epw: .* at night"):
        site_climate(study(36.1, -79.95, "typical_year", file=path.name), tmp_path)
