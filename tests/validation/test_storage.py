from types import SimpleNamespace

import numpy as np
import pytest

from climate.record.series import WAGENINGEN, wageningen
from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import (
    BANKS,
    RARE,
    WANTED,
    filled,
    income,
    interval_score,
    lost_days,
    measured_cells,
    plane_light,
    ratio_by_group,
    simulated_ratio,
    size_for,
)


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return wageningen(tmp_path_factory.mktemp("wageningen"))


# By hand: two days of load held, a day without sun takes one; the third dark day is lost, and the fourth.
def test_days_lost_by_hand():
    light = np.array([[1.0, 0.0, 0.0, 0.0, 0.0, 0.5, 1.5, 0.0]])
    assert list(lost_days(light, 1.0, 2.0, 0)[0]) == [0, 0, 0, 1, 1, 1, 0, 1]
    assert list(lost_days(light, 2.0, 2.0, 0)[0]) == [0, 0, 0, 1, 1, 0, 0, 0]
    assert lost_days(light, 1.0, 2.0, 4)[0].sum() == 3


# A record judged by itself must give one: its own years, as synthetic ones, lose what they were sized for.
def test_a_record_against_itself(record):
    latitude = WAGENINGEN.latitude_deg
    cells = measured_cells(record, latitude, 7)
    assert [(cell["bank"], cell["wanted"]) for cell in cells] == [
        (b, w) for b in BANKS for w in (WANTED, RARE)
    ]
    kt = filled(record.kt, record.month)
    first = int(np.flatnonzero(record.dates == np.datetime64("1976-07-01"))[0])
    years = kt[first : first + 23 * 365].reshape(23, 365)
    for cell in cells:
        assert cell["low"] < 1.0 < cell["high"]
        if (
            cell["wanted"] == WANTED
        ):  # each year here starts full after a warm-up, and half a year is left out
            ratio = simulated_ratio(latitude, years, Calendar(7), cell).mean()
            assert ratio == pytest.approx(1.0, abs=0.12)


# Without the order of days the same days lose far less (0.21 to 0.52 of it at a station next door, counted apart).
def test_shuffled_days_lose_less(record):
    latitude = WAGENINGEN.latitude_deg
    cells = [cell for cell in measured_cells(record, latitude, 7) if cell["wanted"] == WANTED]
    rng, calendar = np.random.default_rng(1), Calendar(7)
    kt = np.empty((200, 365))
    for month in range(12):
        days = calendar.month_of_day == month
        pool = record.kt[(record.month == month) & np.isfinite(record.kt)]
        kt[:, days] = rng.choice(pool, (200, days.sum()))
    ratios = [simulated_ratio(latitude, kt, calendar, cell).mean() for cell in cells]
    assert ratios == pytest.approx([0.52, 0.38, 0.21], abs=0.12)


def test_the_array_is_sized_to_the_share(record):
    kt = filled(record.kt, record.month)
    light = income(51.97, kt, record.day_of_year)[None]
    share = lost_days(light, size_for(light, 4.0, 0.02), 4.0, 60)[:, 60:].mean()
    assert share == pytest.approx(0.02, abs=0.0003)


# Gneiting & Raftery (2007), eq. 43, at 90 %: width, and twenty times what lies outside.
def test_interval_score_by_hand():
    assert interval_score(-1.0, 2.0, 0.0) == pytest.approx(3.0)
    assert interval_score(0.5, 2.0, 0.0) == pytest.approx(1.5 + 20 * 0.5)


# One day in a thousand is counted too: a straight line through more frequent losses lies above the curve, and an
# array sized by it loses far less. Here the line through 4 to 0.5 %, by least squares in logarithms.
def test_the_rare_share_is_counted_not_extrapolated(record):
    latitude = WAGENINGEN.latitude_deg
    kt = filled(record.kt, record.month)
    light = income(latitude, kt, record.day_of_year)[None]
    first = int(np.flatnonzero(record.dates == np.datetime64("1976-07-01"))[0])
    years = kt[first : first + 23 * 365].reshape(23, 365)
    for cell in measured_cells(record, latitude, 7):
        one, two = (
            ratio_by_group(plane_light(latitude, years, Calendar(7)), cell, group)
            for group in (np.zeros(23, int), np.arange(23) % 2)
        )
        assert one[0] == pytest.approx(1.0, abs=0.25)
        assert two.shape == (2,) and two.min() < one[0] < two.max()
        if cell["wanted"] == RARE:
            shares = [0.04, 0.02, 0.01, 0.005]
            sizes = [size_for(light, cell["bank"], share) for share in shares]
            slope, start = np.polyfit(np.log(sizes), np.log(shares), 1)
            line = np.exp((np.log(RARE) - start) / slope)
            assert lost_days(light, line, cell["bank"], 60)[:, 60:].mean() < 0.5 * RARE


def test_a_short_record_has_no_rare_share(record):
    short = SimpleNamespace(
        kt=record.kt[: 6 * 365], month=record.month[: 6 * 365], dates=record.dates[: 6 * 365],
        day_of_year=record.day_of_year[: 6 * 365],
    )  # fmt: skip
    assert {cell["wanted"] for cell in measured_cells(short, WAGENINGEN.latitude_deg, 7)} == {WANTED}
