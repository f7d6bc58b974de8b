import numpy as np
import pytest

from climate.record.series import WAGENINGEN, WAGENINGEN_SERIES, read, wageningen, write_wageningen
from darkspell.climate.record.quality_checks import at_a_floor, stuck_days, without_light
from darkspell.climate.record.record import day_of_year, runs_of
from darkspell.climate.record.unit_changes import HIGH, LOW, months_in_another_unit
from darkspell.core.errors import StudyError


# The file's own lines: gaps and repeated dates as shared notes on the file say (some gaps, 8 repeated dates).
def test_wageningen_is_read_with_its_faults(tmp_path):
    found = wageningen(tmp_path)
    said = {fault.kind: fault for fault in found.faults}
    assert said["repeated times"].count == 8
    assert said["days without a value"].runs == [("1991-09-01", "1991-12-31")]
    assert found.dates.size == 24 * 365
    assert found.temp_air[0] == pytest.approx((2.0 + 9.7) / 2)  # the file's first line
    assert found.temp_air_range[0] == pytest.approx(7.7)


def test_unlike_duplicates_are_refused_unless_allowed(tmp_path):
    with pytest.raises(StudyError) as caught:
        wageningen(tmp_path, repair=[])
    message = str(caught.value)
    assert "wageningen.csv, rows" in message and "column kj" in message and "repair: [duplicates]" in message


@pytest.mark.parametrize("unit", ["MJ/m2", "kWh/m2", "J/cm2", "Wh/m2"])
def test_a_wrong_unit_is_told_with_the_one_that_fits(tmp_path, unit):
    with pytest.raises(StudyError, match="column kj: .*look like .*kJ/m2"):
        wageningen(tmp_path, ghi_unit=unit)


def test_the_wrong_hemisphere_is_not_overlooked(tmp_path):
    write_wageningen(tmp_path / "wageningen.csv")
    south = type(WAGENINGEN)(**vars(WAGENINGEN) | {"latitude_deg": -51.97})
    with pytest.raises(StudyError, match="site.latitude_deg"):
        read(tmp_path, south, "wageningen.csv", **WAGENINGEN_SERIES)


@pytest.mark.parametrize(
    "spoil, words",
    [
        (
            lambda rows: rows.__setitem__(9, "1976,x9,2200,1,2"),
            ["row 10", "column year and doy", "time_format"],
        ),
        (
            lambda rows: rows.__setitem__(9, "1976,9,22oo,1,2"),
            ["row 10", "column kj", '"22oo"', "1 such rows"],
        ),
        (
            lambda rows: rows.__setitem__(0, "year,doy,kJ,tmin,tmax"),
            ["row 1", "no column kj", "did you mean kJ"],
        ),
        (
            lambda rows: rows.__delitem__(slice(71, None)),
            ["days, 1976-01-01 to 1976-03", "2 of the twelve calendar months have 20 good days", "atlas"],
        ),
        (lambda rows: rows.__delitem__(slice(1, None)), ["no row below its header"]),
        (
            lambda rows: rows.append("9999,9,2200,1,2"),
            ["column year and doy", "9999-01-09 is", "years from the middle", "remove the row"],
        ),
    ],
)
def test_bad_files_name_file_row_column_and_cure(tmp_path, spoil, words):
    path = tmp_path / "bad.csv"
    write_wageningen(path)
    rows = path.read_text().splitlines()
    spoil(rows)
    path.write_text("\n".join(rows) + "\n")
    with pytest.raises(StudyError) as caught:
        read(tmp_path, WAGENINGEN, "bad.csv", **WAGENINGEN_SERIES)
    for word in ["bad.csv", *words]:
        assert word in str(caught.value)


def test_other_marks_and_times(tmp_path):
    write_wageningen(tmp_path / "plain.csv")
    rows = [row.split(",") for row in (tmp_path / "plain.csv").read_text().splitlines()[1:]]
    dated = [
        f"{np.datetime64(y, 'Y') + np.timedelta64(int(d) - 1, 'D')};{float(kj) / 1000:.4f}".replace(".", ",")
        for y, d, kj, *_ in rows
    ]
    dated = [f"{row[8:10]}.{row[5:7]}.{row[:4]}{row[10:]}" for row in dated]
    (tmp_path / "other.csv").write_text(
        "a station\n\nTag;Strahlung\n" + "\n".join(dated) + "\n", encoding="utf-8-sig"
    )
    found = read(
        tmp_path, WAGENINGEN, "other.csv", step="daily", time_columns=["Tag"], time_format="%d.%m.%Y", separator=";",
        decimal=",", header_row=3, ghi_column="Strahlung", ghi_unit="MJ/m2", repair=["duplicates"],
    )  # fmt: skip
    assert found.kt == pytest.approx(wageningen(tmp_path).kt, rel=1e-3, nan_ok=True)


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "sheet.csv").write_bytes(bytes(range(256)) * 50)
    with pytest.raises(StudyError, match="sheet.csv"):
        read(tmp_path, WAGENINGEN, "sheet.csv", step="daily", ghi_unit="kWh/m2")


def test_days_of_the_year_pass_over_29_february():
    days = np.array(["2000-02-28", "2000-03-01", "2000-12-31", "1900-03-01", "2001-03-01"], "datetime64[D]")
    assert list(day_of_year(days)) == [59, 60, 365, 60, 60]


def test_runs_of_dates():
    days = np.array(["2001-01-02", "2001-01-03", "2001-03-01"], "datetime64[D]")
    assert runs_of(days) == [("2001-01-02", "2001-01-03"), ("2001-03-01", "2001-03-01")]


@pytest.mark.parametrize(
    "series, words",
    [
        ({"temp_min_column": "tmax", "temp_max_column": "tmin"}, "columns tmax and tmin: .* exchange"),
        ({"temp_unit": "K"}, "column tmin: .* read as K; correct climate.series.temp_unit"),
    ],
)
def test_temperatures_that_cannot_be_are_refused(tmp_path, series, words):
    with pytest.raises(StudyError, match=words):
        wageningen(tmp_path, **series)


def test_a_stuck_value_is_found_and_set_aside(tmp_path):
    """Twelve days of one value in a summer of the file, and four that it has itself."""
    assert [f.count for f in wageningen(tmp_path).faults if "repeat one value" in f.kind] == [4]
    path = tmp_path / "wageningen.csv"
    lines = path.read_text().splitlines()
    rows = [line.split(",") for line in lines]
    for row in rows[2000:2012]:
        row[2] = "17310.0"
    path.write_text("\n".join(",".join(row) for row in rows) + "\n")
    found = read(tmp_path, WAGENINGEN, "wageningen.csv", **WAGENINGEN_SERIES)
    fault = next(f for f in found.faults if "repeat one value" in f.kind)
    assert fault.count == 16
    first = np.datetime64(rows[2000][0], "Y").astype("datetime64[D]") + int(rows[2000][1]) - 1
    assert (str(first), str(first + 11)) in fault.runs
    assert np.isnan(found.kt[np.isin(found.dates, first + np.arange(12))]).all()


def test_values_that_repeat_by_chance_are_left_alone():
    """Whole units: most neighbours are alike now and then; a month of one value is not chance even there."""
    rng = np.random.default_rng(4)
    values = np.round(rng.normal(6.0, 0.8, 20 * 365))
    assert 0.3 < (values[1:] == values[:-1]).mean() < 0.4
    assert stuck_days(values).sum() == 0
    values[5000:5030] = 6.0
    assert stuck_days(values)[5000:5030].all() and stuck_days(values).sum() < 36
    assert not stuck_days(np.array([1.0, 2.0, np.nan, np.nan, np.nan, np.nan, np.nan, 3.0])).any()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_encodings_that_spreadsheets_write(tmp_path, encoding):
    plain = wageningen(tmp_path)
    path = tmp_path / "wageningen.csv"
    path.write_bytes(path.read_text(encoding="utf-8").encode(encoding))
    again = read(tmp_path, WAGENINGEN, "wageningen.csv", **WAGENINGEN_SERIES)
    np.testing.assert_array_equal(again.kt, plain.kt)


def test_irradiation_reckoned_from_hours_of_sunshine_is_told(tmp_path):
    """Wageningen as FAO-56, eq. 35, has it (0.25 + 0.5 n/N): days that were overcast stand at 0.25 to the digit."""
    plain = wageningen(tmp_path)
    assert not at_a_floor(plain.kt).any()
    reckoned = np.maximum(plain.kt, 0.25)
    told = at_a_floor(reckoned)
    assert told.sum() == (reckoned <= 0.265).sum() > 1500
    assert not at_a_floor(np.full(10, np.nan)).any()
    path = tmp_path / "wageningen.csv"
    rows = [line.split(",") for line in path.read_text().splitlines()]
    dates = {str(date): k for date, k in zip(plain.dates, plain.kt, strict=True)}
    for row in rows[1:]:
        day = str(np.datetime64(row[0], "Y").astype("datetime64[D]") + int(row[1]) - 1)
        if dates.get(day, 1.0) < 0.25:
            row[2] = f"{float(row[2]) * 0.25 / dates[day]:.0f}"
    path.write_text("\n".join(",".join(row) for row in rows) + "\n")
    found = read(tmp_path, WAGENINGEN, "wageningen.csv", **WAGENINGEN_SERIES)
    fault = next(f for f in found.faults if "floor of clearness of 0.25" in f.kind)
    assert "hours of sunshine" in fault.kind and "kept" in fault.done
    assert np.isfinite(found.kt).sum() == np.isfinite(plain.kt).sum()


def test_a_month_in_another_unit_is_set_aside_with_its_dates(tmp_path):
    """February 1980 typed in MJ among kJ, a thousandth of the rest: that month, and no other day."""
    path = tmp_path / "wageningen.csv"
    write_wageningen(path)
    rows = [row.split(",") for row in path.read_text(encoding="utf-8").splitlines()]
    for row in rows[1:]:
        if row[0] == "1980" and 32 <= int(row[1]) <= 60:
            row[2] = f"{float(row[2]) / 1000:.3f}"
    path.write_text("\n".join(map(",".join, rows)) + "\n", encoding="utf-8")
    found = read(tmp_path, WAGENINGEN, "wageningen.csv", **WAGENINGEN_SERIES)
    dark = next(fault for fault in found.faults if "without light" in fault.kind)
    assert dark.runs == [("1980-02-01", "1980-02-28")] and "1980-02-01 to 1980-02-28" in dark.sentence()


def spoilt_wageningen(path, factor, days, year="1980"):
    """Wageningen with the irradiation of some days of a year (first and last day of year) times a factor."""
    write_wageningen(path)
    rows = [row.split(",") for row in path.read_text(encoding="utf-8").splitlines()]
    for row in rows[1:]:
        if row[0] == year and days[0] <= int(row[1]) <= days[1] and row[2]:
            row[2] = f"{float(row[2]) * factor:.1f}"
    path.write_text("\n".join(map(",".join, rows)) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("factor", "days", "first", "last", "way"),
    [
        (1 / 3.6, (1, 366), "1980-01-01", "1980-12-31", "kWh among MJ"),
        (3.6, (1, 366), "1980-0", "1980-", "MJ among kWh"),
        (1 / 3.6, (153, 182), "1980-06-01", "1980-06-30", "kWh among MJ"),
    ],
)
def test_a_year_or_month_in_kwh_among_mj_is_refused_with_dates(tmp_path, factor, days, first, last, way):
    """1 kWh is 3.6 MJ; the other 23 years of the station stay as they are, and are not accused."""
    spoilt_wageningen(tmp_path / "wageningen.csv", factor, days)
    with pytest.raises(StudyError) as caught:
        read(tmp_path, WAGENINGEN, "wageningen.csv", **WAGENINGEN_SERIES)
    message = str(caught.value)
    assert f"from {first}" in message and last in message and way in message and "factor of 3.6" in message
    assert "1979" not in message and "1981" not in message


@pytest.mark.parametrize(("side", "factor"), [(LOW, 1 / 3.6), (HIGH, 3.6)])
def test_of_two_years_the_one_that_cannot_be_is_named(side, factor):
    dates = np.arange("2001-01-01", "2003-01-01", dtype="datetime64[D]")
    kt = np.random.default_rng(3).uniform(0.1, 0.75, dates.size)
    assert not months_in_another_unit(dates, kt)[0].any()
    kt[:365] *= factor
    found = months_in_another_unit(dates, kt)[0]
    assert (found[:12] == side).sum() >= 10 and not found[12:].any()


def test_a_dull_winter_is_weather():
    """Half of the usual light for three months, with a clear day now and then; and a month as dark as a third."""
    dates = np.arange("2001-01-01", "2010-01-01", dtype="datetime64[D]")
    kt = np.random.default_rng(4).uniform(0.1, 0.75, dates.size)
    kt[365:455] *= 0.5
    month = np.flatnonzero(dates.astype("datetime64[M]") == np.datetime64("2005-12"))
    kt[month] *= 0.35
    kt[month[:4]] = 0.5
    assert not months_in_another_unit(dates, kt)[0].any()


def test_single_dark_days_are_weather():
    """Two days below 0.01 in a month stay, three do not; a month of 0.07 goes as a whole, nine days of it stay."""
    dates = np.arange("2001-01-01", "2001-07-01", dtype="datetime64[D]")
    kt = np.full(dates.size, 0.4)
    kt[[3, 9, 40, 44, 58]] = 0.005
    kt[59:90] = 0.07
    kt[91:120] = np.nan
    kt[91:100] = 0.07
    assert np.flatnonzero(without_light(dates, kt)).tolist() == [40, 44, 58, *range(59, 90)]
