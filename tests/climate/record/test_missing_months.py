"""Calendar months without measured days: by hand, and at Wageningen, whose measured month was kept back."""

from dataclasses import replace

import numpy as np
import pytest

from climate.record.series import WAGENINGEN, WAGENINGEN_SERIES, read, wageningen, write_wageningen
from darkspell.climate.atlas import from_atlas
from darkspell.climate.from_record import from_record
from darkspell.climate.missing_months import across, gaps, interpolated, month_sd, sentences
from darkspell.climate.record.study_years import study_years
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.weather.daily_clearness import uncertainty_draws

JULY = np.arange(12) == 6


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return wageningen(tmp_path_factory.mktemp("wageningen"))


def without(record, *months):
    """The record without any day of some calendar months."""
    gone = np.isin(record.month, months)
    return replace(
        record,
        kt=np.where(gone, np.nan, record.kt),
        temp_air=np.where(gone, np.nan, record.temp_air),
        temp_air_range=np.where(gone, np.nan, record.temp_air_range),
    )


def test_gaps_by_hand():
    """November to January empty: October and February, four months apart, are next to them."""
    empty = np.isin(np.arange(12), [10, 11, 0])
    between = gaps(empty)
    assert between.before[[10, 11, 0]].tolist() == [9, 9, 9]
    assert between.after[[10, 11, 0]].tolist() == [1, 1, 1]
    assert between.share[[10, 11, 0]].tolist() == [0.25, 0.5, 0.75]
    assert between.bridge[[10, 11, 0]].tolist() == [0.75, 1.0, 0.75]
    assert not between.share[1:10].any() and not between.bridge[1:10].any()
    assert across(np.arange(12.0), empty)[[10, 11, 0, 5]].tolist() == [7.0, 5.0, 3.0, 5.0]


def test_a_single_measured_month_has_itself_on_both_sides():
    empty = np.arange(12) != 4
    assert across(np.arange(12.0), empty).tolist() == [4.0] * 12


def test_the_ratio_of_the_neighbours_scales_the_atlas():
    atlas = np.full(12, 0.5)
    kt = np.where(JULY, np.nan, 0.5)
    kt[5], kt[7] = 0.4, 0.6
    assert interpolated(kt, atlas, JULY)[6] == pytest.approx((0.4 * 0.6) ** 0.5)
    assert interpolated(kt, atlas, JULY)[5] == 0.4


def test_the_error_inside_a_gap_is_that_of_drawn_random_walks():
    """Walks of 0.04 a month, tied to both ends by interpolation; 20,000 of them, 2 per cent of sampling error."""
    empty = np.isin(np.arange(12), [3, 4, 5, 6, 7])
    walks = np.cumsum(0.04 * np.random.default_rng(1).normal(size=(20000, 12)), axis=1)
    error = np.array([across(walk, empty) - walk for walk in walks])
    assert month_sd(0.0, empty) == pytest.approx(error.std(axis=0), rel=0.03)


def test_a_july_kept_back_is_met(record):
    """Measured July means of 24 years: clearness within two stated standard deviations, temperature within 1 K."""
    full, made = from_record(WAGENINGEN, record), from_record(WAGENINGEN, without(record, 6))
    apart = np.log(made.monthly_kt()[6] / full.monthly_kt()[6])
    assert abs(apart) < 2.0 * made.monthly_mean_sd[6]
    assert made.temp_air_mean[6] == pytest.approx(full.temp_air_mean[6], abs=1.0)
    others = np.arange(12) != 6
    assert made.monthly_kt()[others] == pytest.approx(full.monthly_kt()[others], rel=1e-3)
    assert made.temp_air_mean[others] == pytest.approx(full.temp_air_mean[others], abs=1e-12)
    # By hand: the mean of two months' own errors, and half a step's variance of 0.04.
    own = made.monthly_mean_sd[5]
    assert made.monthly_mean_sd[6] == pytest.approx(np.sqrt(own**2 / 2.0 + 0.04**2 / 2.0)) and own < 0.04


def test_it_is_said(record):
    notes = " ".join(from_record(WAGENINGEN, without(record, 6)).notes)
    assert "Too few measured days in July" in notes and "would tell" in notes
    assert "Too few" not in " ".join(from_record(WAGENINGEN, record).notes)
    assert sentences(np.zeros(12, bool), np.zeros(12)) == []


def test_the_filled_month_is_drawn_wider(record):
    made = from_record(WAGENINGEN, without(record, 6))
    factor, *_ = uncertainty_draws(made, np.arange(4000), np.arange(4000), 1)
    spread = np.log(factor).std(axis=0)
    expected = np.hypot(made.annual_mean_sd, made.monthly_mean_sd)
    assert spread == pytest.approx(expected, rel=0.06)


def test_no_year_without_july_can_be_replayed(record):
    with pytest.raises(
        StudyError, match="too few days of July are measured to fill with: give climate.replay: false"
    ):
        study_years(without(record, 6), Calendar(1), 60, 1)


def test_a_file_without_a_month_is_read_and_one_of_two_months_refused(tmp_path):
    write_wageningen(tmp_path / "all.csv")
    rows = (tmp_path / "all.csv").read_text().splitlines()

    def of(months):
        def kept(row):
            year, day = row.split(",")[:2]
            return (np.datetime64(year, "Y").astype("datetime64[D]") + int(day) - 1).astype(
                "datetime64[M]"
            ).astype(int) % 12 in months

        text = "\n".join([rows[0], *filter(kept, rows[1:])]) + "\n"
        (tmp_path / "part.csv").write_text(text)
        return read(tmp_path, WAGENINGEN, "part.csv", **WAGENINGEN_SERIES)

    half = of(range(6))
    assert np.isnan(half.kt[half.month > 5]).all()
    with pytest.raises(StudyError) as caught:
        of([6, 7])
    assert "2 of the twelve calendar months" in str(caught.value) and "atlas" in str(caught.value)


def test_a_single_winter_is_used_with_a_wider_interval(record):
    """November to February of one year: the year is far less certain than with all years, more than from nothing."""
    first = int(np.flatnonzero(record.dates == np.datetime64("1980-11-01"))[0])
    names = ("dates", "kt", "dark", "temp_air", "temp_air_range")
    winter = replace(record, **{name: getattr(record, name)[first : first + 120] for name in names})
    full, short = (from_record(WAGENINGEN, one) for one in (record, winter))
    assert "March, April, May, June, July, August, September, October" in " ".join(short.notes)
    sd = [
        np.hypot(one.annual_mean_sd, one.monthly_mean_sd).mean()
        for one in (full, short, from_atlas(WAGENINGEN))
    ]
    assert sd[0] < sd[1] < 1.2 * sd[2]
    apart = np.log(short.monthly_kt() / full.monthly_kt())
    assert (np.abs(apart) < 2.0 * np.hypot(short.annual_mean_sd, short.monthly_mean_sd)).all()
