"""Judge a model of daily clearness by what it is for: loss of load, synthetic over measured.

For each station the array is sized so that its measured years lose load on 1 % of days with a bank of 2,
4 and 7 days; the same system then runs on synthetic years. A daily balance without loss, constant load,
array tilted 10 degrees beyond the latitude. Called by fit_climate.py.
"""

import numpy as np
from numba import njit
from scipy.special import ndtr

from darkspell.calendar import Calendar
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.climate.model import PROBABILITIES
from darkspell.climate.persistence import lag_one, normal_scores, usual_lag_one
from darkspell.climate.shape import shift_to_mean
from darkspell.constants import constant

BANKS, WANTED, MEMBERS, WARM_UP = (2.0, 4.0, 7.0), 0.01, 600, 30
MONTH_OF_DAY = Calendar(start_month=1).month_of_day


def judge(stations, shapes):
    """Print ratios of loss-of-load days for several persistences and shapes.

    Parameters
    ----------
    stations : dict
        ``{name: (latitude, daily clearness as a Series by day)}``.
    shapes : dict
        ``{name: atlas quantiles [12, Q]}``.
    """
    cases = {name: _case(latitude, kt, shapes[name]) for name, (latitude, kt) in stations.items()}
    persistences = {
        "usual lag-1 everywhere": lambda case: 0.345,
        "lag-1 by latitude": lambda case: usual_lag_one(case["latitude"]),
        "the station's own lag-1": lambda case: case["lag_one"],
    }
    for shape in ("measured shape", "atlas shape at measured means", "atlas alone"):
        for label, lag in persistences.items():
            ratios = np.array([_ratios(case, case[shape], lag(case)) for case in cases.values()])
            error = np.log(np.maximum(ratios, 0.02))
            print(f"\nLoss of load, {shape}, {label}:", end=" ")
            print(f"RMS log {np.sqrt((error**2).mean()):.2f}, mean {error.mean():+.2f}")
            print("; ".join(f"{name[:8]} {row.round(2)}" for name, row in zip(cases, ratios, strict=True)))


def latent(lag, members, days, seed=3):
    """Latent series with the room's slow part and the given lag-1 autocorrelation; [members, days]."""
    rng = np.random.default_rng(seed)
    weight, slow_phi = constant("climate", "slow_weight"), constant("climate", "slow_phi")
    fast_phi = (lag - weight * slow_phi) / (1.0 - weight)
    return np.sqrt(1.0 - weight) * _ar1(rng, fast_phi, members, days) + np.sqrt(weight) * _ar1(
        rng, slow_phi, members, days
    )


def on_the_array(latitude, day_of_year, kt):
    """Irradiation of a plane tilted 10 degrees beyond the latitude towards the equator [kWh/m2/day].

    Duffie & Beckman: ratio of the beam by Liu & Jordan and Klein, isotropic sky, albedo 0.2; diffuse
    fraction by Erbs, Klein & Duffie (1982), its hourly form taken for the day.
    """
    tilt, phi = np.radians(min(abs(latitude) + 10.0, 85.0)), np.radians(abs(latitude))
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + day_of_year) / 365) * np.sign(latitude)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1, 1))
    leaving = np.minimum(sunset, np.arccos(np.clip(-np.tan(phi - tilt) * np.tan(declination), -1, 1)))
    beam = _plane(phi - tilt, declination, leaving) / _plane(phi, declination, sunset)
    middle = 0.9511 - 0.1604 * kt + 4.388 * kt**2 - 16.638 * kt**3 + 12.336 * kt**4
    diffuse = np.where(kt <= 0.22, 1.0 - 0.09 * kt, np.where(kt <= 0.8, middle, 0.165))
    share = (1 - diffuse) * beam + diffuse * (1 + np.cos(tilt)) / 2 + 0.2 * (1 - np.cos(tilt)) / 2
    return kt * daily_extraterrestrial(latitude, day_of_year) * share


def _plane(slope, declination, hour):
    return np.cos(slope) * np.cos(declination) * np.sin(hour) + hour * np.sin(slope) * np.sin(declination)


def _case(latitude, kt, atlas):
    month = kt.index.month.to_numpy()
    months = [kt[month == number].dropna().to_numpy() for number in range(1, 13)]
    filled, rng = kt.to_numpy().copy(), np.random.default_rng(0)
    for gap in np.flatnonzero(~np.isfinite(filled)):
        filled[gap] = rng.choice(months[month[gap] - 1])
    measured = on_the_array(latitude, np.minimum(kt.index.day_of_year.to_numpy(), 365), filled)[None]
    return {
        "latitude": latitude,
        "lag_one": lag_one(normal_scores(kt.to_numpy(), month)),
        "sizes": [_size(measured, bank) for bank in BANKS],
        "measured shape": np.array([np.quantile(days, PROBABILITIES, method="hazen") for days in months]),
        "atlas shape at measured means": shift_to_mean(atlas, np.array([days.mean() for days in months])),
        "atlas alone": atlas,
    }


def _ratios(case, quantiles, lag):
    calendar = Calendar(start_month=7 if case["latitude"] >= 0 else 1)
    days = np.arange(-WARM_UP, 365) % 365
    probability, month = ndtr(latent(lag, MEMBERS, days.size)), calendar.month_of_day[days]
    kt = np.empty_like(probability)
    for number in range(12):
        here = month == number
        kt[:, here] = np.interp(probability[:, here], PROBABILITIES, quantiles[number])
    income = on_the_array(case["latitude"], calendar.day_of_year[days], kt)
    return [_loss(income, size, bank) / WANTED for size, bank in zip(case["sizes"], BANKS, strict=True)]


def _ar1(rng, phi, members, days):
    series = rng.standard_normal((members, days))
    for day in range(1, days):
        series[:, day] = phi * series[:, day - 1] + np.sqrt(1.0 - phi**2) * series[:, day]
    return series


def _size(income, bank):
    low, high = 0.01, 20.0
    for _ in range(40):
        middle = np.sqrt(low * high)
        low, high = (middle, high) if _loss(income, middle, bank) > WANTED else (low, middle)
    return high


@njit(error_model="numpy")
def _loss(income, size, bank):
    """Share of days, after a warm-up, on which a bank of so many days of load runs empty."""
    lost = 0
    for row in range(income.shape[0]):
        store = bank
        for day in range(income.shape[1]):
            store = min(bank, store + income[row, day] * size - 1.0)
            if store < 0.0:
                store = 0.0
                lost += day >= WARM_UP
    return lost / (income.shape[0] * (income.shape[1] - WARM_UP))
