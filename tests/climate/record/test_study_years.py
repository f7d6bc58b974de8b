import numpy as np
import pytest

from climate.record.series import greensboro, read, wageningen, write_hours
from darkspell.climate.record.study_years import study_years
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return wageningen(tmp_path_factory.mktemp("wageningen"))


# The file's gaps: September to December 1991, and half a study year at either end.
def test_years_are_named_filled_and_left_out(record):
    years = study_years(record, Calendar(7), 10, 1)
    assert years.left_out == [("1975/76", 184), ("1991/92", 122), ("1999/00", 181)]
    assert years.names[0] == "1976/77" and years.names[-1] == "1998/99" and len(years.names) == 22
    assert dict(zip(years.names, years.filled, strict=True))["1987/88"] == 1
    assert (
        dict(zip(years.names, years.filled, strict=True))["1988/89"] == 4
    )  # 12 to 15 February: one value, 1 kJ/m2
    assert years.filled.sum() == 5
    assert np.isfinite(years.kt).all() and np.isfinite(years.temp_air).all()


def test_a_year_runs_as_it_was(record):
    years = study_years(record, Calendar(7), 10, 1)
    first = np.flatnonzero(record.dates == np.datetime64("1980-07-01"))[0]
    at = years.names.index("1980/81")
    assert np.array_equal(years.kt[at], record.kt[first : first + 365])
    assert np.array_equal(years.temp_air[at], record.temp_air[first : first + 365])
    calendar_years = study_years(record, Calendar(1), 10, 1)
    assert calendar_years.names[:2] == ["1976", "1977"]
    assert calendar_years.left_out == [("1991", 122)]


# 122 days are many: filled only where the study says so, each from its own month, the same for the same seed.
def test_filling_is_keyed_and_from_the_same_month(record):
    def filled(seed):
        years = study_years(record, Calendar(7), 130, seed)
        return years.kt[years.names.index("1991/92")]

    gap = slice(62, 184)  # 1 September to 31 December of a year from July
    once = filled(1)
    assert np.array_equal(once, filled(1)) and not np.array_equal(once[gap], filled(2)[gap])
    months = Calendar(7).month_of_day[gap]
    for kt, month in zip(once[gap], months, strict=True):
        assert kt in record.kt[record.month == month]


def test_no_year_at_all_is_told(record):
    short = type(record)(
        **vars(record) | {"dates": record.dates[:300], "kt": record.kt[:300], "dark": record.dark[:300]}
    )
    with pytest.raises(StudyError, match="begin in July.*few days of November, December are.*replay: false"):
        study_years(short, Calendar(7), 10, 1)


def test_hours_come_along(tmp_path):
    site, table = greensboro()
    write_hours(tmp_path / "hours.csv", table)
    record = read(tmp_path, site, "hours.csv", step="hourly", ghi_unit="W/m2", temp_column="temp")
    years = study_years(record, Calendar(1), 10, 1)
    assert years.names == ["2001", "2002"]
    assert np.array_equal(years.ghi[1], record.ghi[365:])
    assert np.array_equal(years.temp_air_hours[0], record.temp_air_hours[:365])


def test_a_few_days_short_may_be_filled(record):
    """Forty days of a year are missing, fifty of the next: the message says how many to allow, and that works."""
    first = int(np.flatnonzero(record.dates == np.datetime64("1980-07-01"))[0])
    cut = slice(first, first + 2 * 365)
    parts = {
        name: getattr(record, name)[cut] for name in ("dates", "kt", "dark", "temp_air", "temp_air_range")
    }
    parts["kt"] = parts["kt"].copy()
    parts["kt"][100:140], parts["kt"][600:650] = np.nan, np.nan
    short = type(record)(**vars(record) | parts)
    with pytest.raises(
        StudyError, match="lacks 40 days.*give climate.fill_days: 40, or climate.replay: false"
    ):
        study_years(short, Calendar(7), 10, 1)
    assert study_years(short, Calendar(7), 40, 1).filled.tolist() == [40]
