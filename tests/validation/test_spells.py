import numpy as np
import pvlib
import pytest

from climate.record.series import wageningen
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.validation.dark_spells import autocorrelation, spells, winters


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return wageningen(tmp_path_factory.mktemp("wageningen"))


# Measured statistics of Wageningen (22 winters), counted apart from this project from the same file: runs of
# 1, 2, ... 10, 11+ dark days, their mean length, share of dark days, longest a winter (median, one in ten), lag-1,
# monthly means. That count took Cooper's declination for the sun outside; so does this test. What is left is how
# a day at fault or twice in the file is taken: up to three runs of a length, 528 against 530 in all.
def test_wageningens_spells(record):
    day = (record.dates - record.dates.astype("datetime64[Y]")).astype(int) + 1
    declination, phi = pvlib.solarposition.declination_cooper69(day), np.radians(51.97)
    sunset = np.arccos(-np.tan(phi) * np.tan(declination))
    mean = np.cos(phi) * np.cos(declination) * np.sin(sunset) + sunset * np.sin(phi) * np.sin(declination)
    cooper = 24 / np.pi * 1.367 * (1 + 0.033 * np.cos(2 * np.pi * day / 365)) * mean
    kt = record.kt * daily_extraterrestrial(51.97, record.day_of_year) / cooper
    rows = winters(record.dates, kt, 51.97)
    found = spells(rows[np.isfinite(rows).mean(axis=1) > 0.9])
    assert found.winters == 22
    assert found.counts == pytest.approx([195, 117, 79, 46, 33, 14, 19, 9, 7, 3, 6], abs=3)
    assert found.mean == pytest.approx(2.79, abs=0.03)
    assert found.share == pytest.approx(0.56, abs=0.006)
    assert np.quantile(found.longest, [0.5, 0.9]) == pytest.approx([9, 12], abs=0.2)
    means = np.array([np.nanmean(kt[record.month == month]) for month in range(12)])
    published = [0.28, 0.34, 0.37, 0.42, 0.45, 0.41, 0.43, 0.44, 0.40, 0.38, 0.32, 0.25]
    assert means == pytest.approx(published, abs=0.006)
    assert autocorrelation(kt - means[record.month], [1])[0] == pytest.approx(0.339, abs=0.001)
    # In shuffled winters a run lasts 2.26 days: what is counted is persistence, not the share of dark days.
    rng = np.random.default_rng(0)
    shuffled = [spells(rng.permuted(rows[np.isfinite(rows).all(axis=1)], axis=1)).mean for _ in range(20)]
    assert np.mean(shuffled) == pytest.approx(2.26, abs=0.08)


def test_runs_by_hand():
    dull, bright = 0.1, 0.6
    one = [dull, dull, bright, dull, np.nan, dull, dull, dull, bright] + [dull] * 12
    found = spells(np.array([one, [bright] * 21]))
    assert list(found.counts) == [1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 1]
    assert list(found.longest) == [12, 0]
    assert found.share == pytest.approx(18 / 41)
    assert found.mean == pytest.approx((2 + 1 + 3 + 12) / 4)


@pytest.mark.parametrize("latitude, first, days", [(50.0, "11-01", 120), (-35.0, "05-01", 123)])
def test_winters_of_either_hemisphere(latitude, first, days):
    dates = np.arange("2001-01-01", "2003-12-31", dtype="datetime64[D]")
    rows = winters(dates, np.arange(dates.size, dtype=float), latitude)
    assert rows.shape[1] == days
    assert [str(dates[int(row[0])]) for row in rows][0] == f"2001-{first}"
