import numpy as np
import pytest

from climate.record.series import wageningen
from darkspell.validation.typical_year import _apart, typical_days


# By hand, with the k-th of n days at (k - 1/2) / n: own shares .25 and .75. The pool's days at or below .2 are one of
# four, half of it below: .125; at .6, three and a half of four: .875. Both are off by .125.
def test_the_distance_by_hand():
    pool = np.array([0.2, 0.3, 0.5, 0.6])
    assert _apart(np.array([0.6, np.nan, 0.2]), pool) == pytest.approx(0.125)
    assert _apart(pool, pool) == pytest.approx(0.0)
    assert _apart(np.full(2, np.nan), pool) == np.inf


def test_the_month_like_all_the_others_is_taken():
    """Of five years the third is all years' mixture; January of the fourth lacks a day and is not taken for it."""
    dates = np.arange("2001-01-01", "2006-01-01", dtype="datetime64[D]")
    year = dates.astype("datetime64[Y]").astype(int) - 31
    rng = np.random.default_rng(2)
    kt = np.array([0.2, 0.35, 0.5, 0.65, 0.8])[year] + rng.uniform(-0.02, 0.02, dates.size)
    mixed = (year == 2) | (year == 3)
    kt[mixed] = np.tile([0.2, 0.35, 0.5, 0.65, 0.8], dates.size)[: mixed.sum()]
    kt[(year == 3) & (dates < np.datetime64("2004-02-01")) & (np.arange(dates.size) % 2 == 0)] = np.nan
    days, years = typical_days(dates, kt)
    assert days.shape == (365,) and np.isfinite(days).all()
    assert set(years) <= {2003, 2004} and years[0] == 2003


def test_wageningens_typical_months_are_near_its_means(tmp_path):
    """Each month within 7 %, the year within 2 %; single months stray by 15 %, single years by 5 % (SD)."""
    record = wageningen(tmp_path)
    days, years = typical_days(record.dates, record.kt)
    month = np.repeat(np.arange(12), [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    own = np.array([days[month == m].mean() for m in range(12)])
    mean = np.array([np.nanmean(record.kt[record.month == m]) for m in range(12)])
    assert np.abs(np.log(own / mean)).max() < 0.07 and abs(np.log(own / mean).mean()) < 0.02
    assert len(set(years)) > 4
