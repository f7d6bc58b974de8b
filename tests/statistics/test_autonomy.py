"""Autonomy by start month: the order of the starts, survival and quantiles."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.statistics.autonomy import by_month, days_at, start_hours, survival

MEMBERS = 200
WORLD = np.arange(MEMBERS) % 20


@pytest.mark.parametrize("start_month", [1, 7])
def test_starts_are_evenings_of_their_month(start_month):
    calendar = Calendar(start_month)
    starts = start_hours(calendar)
    assert (calendar.month_of_hour[starts] == np.repeat(np.arange(12), 3)).all()
    assert (calendar.hour_of_day[starts] == 18).all()
    dates = [calendar.label(hour // 24).split()[0] for hour in starts]
    assert dates == ["1", "11", "21"] * 12


def test_a_known_exponential_life_is_recovered_in_about_95_of_100():
    """P(no failure in d days) = exp(-d / 10) in January; the other months never fail."""
    rng = np.random.default_rng(7)
    truth = np.exp(-np.arange(1, 31) / 10)
    covered = []
    for _ in range(60):
        hours = np.full((36, MEMBERS), 1440.0)
        hours[:3] = np.minimum(rng.exponential(240, (3, MEMBERS)), 1440)
        probability, low, high, *_ = survival(hours, WORLD)
        covered.append((low[0, :30] <= truth) & (truth <= high[0, :30]))
        assert (probability[1:] == 1).all()
    # Not below 0.90; above 0.99 is possible, since three starts of one year count as one.
    assert np.mean(covered) >= 0.90


def test_never_failing_is_not_certainty_and_worlds_widen():
    hours = np.full((36, MEMBERS), 1440)
    probability, low, high, *_ = survival(hours, WORLD)
    alone = survival(hours, np.arange(MEMBERS))[1]
    assert (probability == 1).all()
    assert (high == 1).all()
    assert (low < alone).all()
    assert (alone < 1).all()


def test_failures_by_world_widen_the_interval():
    scattered = np.full((36, MEMBERS), 1440)
    by_world = scattered.copy()
    scattered[:3, :50] = 30
    by_world[:3, WORLD < 5] = 30
    assert survival(scattered, np.arange(MEMBERS))[0][0, 1] == survival(by_world, WORLD)[0][0, 1] == 0.75
    widths = [np.subtract(*survival(h, WORLD)[2:0:-1])[0, 1] for h in (scattered, by_world)]
    assert widths[1] > 1.5 * widths[0]


def test_failure_in_the_last_hour_of_a_day_is_not_that_day():
    hours = np.full((36, MEMBERS), 48)
    hours[3:6] = 47
    probability = survival(hours, WORLD)[0]
    assert probability[0, :3].tolist() == [1, 1, 0]
    assert probability[1, :3].tolist() == [1, 0, 0]


def test_days_are_read_off_the_curve_and_starts_must_be_thirty_six():
    """Worked by hand: 0.9 is passed halfway between day 2 and 3; a first day below it gives part of a day."""
    curve = np.concatenate([[1.0, 0.95, 0.85], np.full(57, 0.5)])
    assert days_at(curve, 0.9) == pytest.approx(2.5)
    assert days_at(curve, 0.95) == pytest.approx(2.0)
    assert days_at(np.full(60, 0.8), 0.9) == pytest.approx(0.5)
    assert days_at(np.ones(60), 0.9) == 60.0
    hours = np.repeat(np.arange(36)[:, None], MEMBERS, axis=1) * 24
    assert by_month(hours).shape == (12, MEMBERS, 3)
    with pytest.raises(ValueError, match="36"):
        by_month(hours[:12])
