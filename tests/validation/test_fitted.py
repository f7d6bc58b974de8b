"""The model fitted to the measured days of Wageningen: its dark spells, and the load that is lost in them."""

import numpy as np
import pytest

from climate.record.series import WAGENINGEN, wageningen
from darkspell.climate.from_record import from_record
from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import WANTED, measured_cells, simulated_ratio
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

CALENDAR = Calendar(7)


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return wageningen(tmp_path_factory.mktemp("wageningen"))


@pytest.fixture(scope="module")
def years(record):
    """Years of the model fitted to the record."""
    climate = without_uncertainty(from_record(WAGENINGEN, record))
    return daily_clearness(climate, CALENDAR, np.arange(22 * 200), np.zeros(22 * 200), 2)


# Winter (November to February) of the measured days, 1976-1999, worked out apart from this project: share of
# kt < .3, mean run of such days (2.21 if shuffled), longest run of a winter (median, 90th percentile), and
# lag-1 of daily kt about its month.
MEASURED = {"dull": 0.56, "run": 2.79, "longest": 9.0, "longest 90": 12.0, "lag-1": 0.339}


def test_the_fitted_model_reproduces_the_dark_spells(years):
    """Each statistic lies within what 22 winters of the model give in 99 % of draws: 95 % jointly."""
    drawn = [statistics(part) for part in np.split(years, 200)]
    for name, measured in MEASURED.items():
        low, high = np.quantile([one[name] for one in drawn], [0.005, 0.995])
        assert low <= measured <= high, name


def statistics(years):
    """Winter statistics of years of daily clearness [years, 365]."""
    month = np.asarray(CALENDAR.month_of_day)
    dull = years[:, np.isin(month, (10, 11, 0, 1))] < 0.3
    runs = [lengths(row) for row in dull]
    longest = [row.max() for row in runs]
    apart = years - np.array([years[:, month == number].mean() for number in range(12)])[month]
    return {
        "dull": dull.mean(),
        "run": np.concatenate(runs).mean(),
        "longest": np.median(longest),
        "longest 90": np.quantile(longest, 0.9),
        "lag-1": (apart[:, 1:] * apart[:, :-1]).mean() / apart.var(),
    }


def test_the_fitted_model_loses_load_as_often_as_measured(record, years):
    """Synthetic over measured loss-of-load days lies within the record's own 90 % interval."""
    latitude = WAGENINGEN.latitude_deg
    cells = [cell for cell in measured_cells(record, latitude, 7) if cell["wanted"] == WANTED]
    for cell in cells:
        assert cell["low"] <= simulated_ratio(latitude, years, CALENDAR, cell).mean() <= cell["high"]


def lengths(dull):
    """Lengths of the runs of true values."""
    edges = np.diff(np.concatenate([[0], dull.astype(int), [0]]))
    return np.flatnonzero(edges < 0) - np.flatnonzero(edges > 0)
