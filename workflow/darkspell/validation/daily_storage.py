"""Storage test of a weather model: loss of load on synthetic days over that on measured days.

A lossless daily balance with a constant load. The array is tilted ten degrees more than the latitude and sized so
that the measured record loses load on a given share of days with a given bank. The same system then runs on
synthetic years. A bootstrap over years gives the sampling error of the measured share.
"""

import numpy as np
from numba import njit

from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.core.calendar import DAYS, MONTH_LENGTHS
from darkspell.core.keyed_random import stream_key, uniforms

BANKS = (2.0, 4.0, 7.0)  # days of load
WANTED = 0.01  # share of days without load that the measured record has
RARE = 0.001  # the same: some days of a record of decades, counted like the others
FEWEST = 3.0  # lost days in a record below which a share is not evaluated
LEVEL = 0.9  # of the bootstrap interval
WARM_UP = 60  # days
RESAMPLES = 1000
HALVINGS = 40
MONTH_OF_DATE = np.repeat(np.arange(12), MONTH_LENGTHS)


def income(latitude, kt, day_of_year):
    """Daily irradiation of the array's plane, tilted ten degrees more than the latitude, facing the equator.

    Duffie & Beckman: ratio of the beam by Liu & Jordan and Klein, isotropic sky, albedo 0.2; diffuse
    fraction by Erbs, Klein & Duffie (1982), its hourly form taken for the day.

    Parameters
    ----------
    latitude : float
        [degrees].
    kt : float array [..., days]
        Daily clearness [-].
    day_of_year : int array [days]
        1-365.

    Returns
    -------
    float64 array [..., days]
        [kWh/m2/day].
    """
    tilt, phi = np.radians(min(abs(latitude) + 10.0, 85.0)), np.radians(abs(latitude))
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + day_of_year) / 365) * np.sign(latitude)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1, 1))
    leaving = np.minimum(sunset, np.arccos(np.clip(-np.tan(phi - tilt) * np.tan(declination), -1, 1)))
    flat = np.maximum(_height(phi, declination, sunset), 1e-3)
    beam = np.maximum(_height(phi - tilt, declination, leaving), 0.0) / flat
    middle = 0.9511 - 0.1604 * kt + 4.388 * kt**2 - 16.638 * kt**3 + 12.336 * kt**4
    diffuse = np.where(kt <= 0.22, 1.0 - 0.09 * kt, np.where(kt <= 0.8, middle, 0.165))
    share = (1 - diffuse) * beam + diffuse * (1 + np.cos(tilt)) / 2 + 0.2 * (1 - np.cos(tilt)) / 2
    return kt * daily_extraterrestrial(latitude, day_of_year) * share


def _height(slope, declination, hour):
    """Daily sum of the cosine of incidence, up to a factor."""
    return np.cos(slope) * np.cos(declination) * np.sin(hour) + hour * np.sin(slope) * np.sin(declination)


def filled(kt, month, seed=0):
    """Fill unknown days with known days of the same calendar month, drawn by a key.

    Parameters
    ----------
    kt : float array [days]
    month : int array [days]
        0-11.
    seed : int

    Returns
    -------
    float64 array [days]
    """
    out = np.array(kt, float)
    draws = uniforms(stream_key(seed, "validation/fill"), 0, out.size)
    pools = [out[(month == number) & np.isfinite(out)] for number in range(12)]
    for day in np.flatnonzero(~np.isfinite(out)):
        pool = pools[month[day]]
        out[day] = pool[int(draws[day] * pool.size)] if pool.size else 0.3
    return out


@njit(cache=True, error_model="numpy", nogil=True)
def lost_days(income, size, bank, warm_up):
    """Days on which the bank is empty.

    ``store = min(bank, store + income * size - 1)``; a day is lost if the store would be negative.

    Parameters
    ----------
    income : float array [rows, days]
        Irradiation of the plane [kWh/m2/day].
    size : float
        Array size: days of load per kWh/m2.
    bank : float
        Capacity in days of load.
    warm_up : int
        First days that are not counted.

    Returns
    -------
    uint8 array [rows, days]
        1 on lost days.
    """
    lost = np.zeros(income.shape, np.uint8)
    for row in range(income.shape[0]):
        store = bank
        for day in range(income.shape[1]):
            store = min(bank, store + income[row, day] * size - 1.0)
            if store < 0.0:
                store = 0.0
                if day >= warm_up:
                    lost[row, day] = 1
    return lost


def size_for(light, bank, wanted):
    """Smallest array with at most a given share of lost days.

    Parameters
    ----------
    light : float array [1, days]
        Plane irradiation [kWh/m2/day].
    bank : float
        Capacity in days of load.
    wanted : float
        Share of lost days [-].

    Returns
    -------
    float
        Days of load per kWh/m2.
    """
    low, high = 0.01, 20.0
    for _ in range(HALVINGS):
        middle = np.sqrt(low * high)
        share = lost_days(light, middle, bank, WARM_UP)[:, WARM_UP:].mean()
        low, high = (middle, high) if share > wanted else (low, middle)
    return float(high)


def measured_cells(record, latitude, start_month, seed=0):
    """Array sizes of each bank for the measured record, with their sampling error.

    Parameters
    ----------
    record : darkspell.climate.record.Record
    latitude : float
        [degrees].
    start_month : int
        First month of the years that are resampled.
    seed : int

    Returns
    -------
    list of dict
        One cell per bank and share: ``bank``, ``wanted``, ``size``, ``low``, ``high`` (bootstrap interval of
        the record's own share over the wanted one), ``years`` (of the record), ``with_loss`` (years with lost
        days). A share with fewer than three lost days in the record is left out.
    """
    kt = filled(record.kt, record.month, seed)
    light = income(latitude, kt, record.day_of_year)[None]
    year = _year_of_day(record.dates, start_month)
    picks = _resamples(np.unique(year).size, seed)
    cells = []
    for bank in BANKS:
        for wanted in (WANTED, RARE):
            if wanted * (kt.size - WARM_UP) < FEWEST:
                continue
            size = size_for(light, bank, wanted)
            counts, days = _by_year(light, size, bank, year)
            shares = counts[picks].sum(axis=1) / days[picks].sum(axis=1)
            low, high = np.quantile(shares * days.sum() / counts.sum(), [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
            cells.append({
                "bank": bank, "wanted": wanted, "size": size, "low": low, "high": high, "years": days.size,
                "with_loss": int((counts > 0).sum()),
            })  # fmt: skip
    return cells


def _by_year(light, size, bank, year):
    """Lost days and all days of each year, without the warm-up."""
    names, at = np.unique(year, return_inverse=True)
    counts = np.bincount(at, lost_days(light, size, bank, WARM_UP)[0], names.size)
    return counts, np.bincount(at[WARM_UP:], minlength=names.size)


def _year_of_day(dates, start_month):
    months = dates.astype("datetime64[M]").astype(int) - (start_month - 1)
    return months // 12


def _resamples(years, seed):
    draws = np.array(
        [uniforms(stream_key(seed, "validation/bootstrap"), row, years) for row in range(RESAMPLES)]
    )
    return (draws * years).astype(int)


def plane_light(latitude, kt, calendar):
    """Plane irradiation of synthetic years, preceded by the warm-up.

    Parameters
    ----------
    latitude : float
        [degrees].
    kt : float array [members, 365]
        Daily clearness by study day [-].
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    float64 array [members, 60 + 365]
        [kWh/m2/day].
    """
    days = np.arange(-WARM_UP, DAYS) % DAYS
    return income(latitude, kt[:, days], calendar.day_of_year[days])


def ratio_of(light, cell):
    """Share of lost days of each year over the share that the array was sized for.

    Parameters
    ----------
    light : float array
        From `plane_light`.
    cell : dict
        From `measured_cells`.

    Returns
    -------
    float64 array [members]
    """
    return lost_days(light, cell["size"], cell["bank"], WARM_UP)[:, WARM_UP:].mean(axis=1) / cell["wanted"]


def simulated_ratio(latitude, kt, calendar, cell):
    """As `ratio_of`, from daily clearness.

    Parameters
    ----------
    latitude, kt, calendar
        As `plane_light`.
    cell : dict
        From `measured_cells`.

    Returns
    -------
    float64 array [members]
    """
    return ratio_of(plane_light(latitude, kt, calendar), cell)


def ratio_by_group(light, cell, group):
    """Mean of `ratio_of` over groups of synthetic years.

    Parameters
    ----------
    light, cell
        As `ratio_of`.
    group : int array [members]
        Group numbers from 0.

    Returns
    -------
    float64 array [groups]
    """
    return np.bincount(group, ratio_of(light, cell)) / np.bincount(group)


def interval_score(low, high, seen, level=LEVEL):
    """Interval score of Gneiting & Raftery, J. Am. Stat. Assoc. 102 (2007) 359-378, eq. 43; smaller is better.

    Parameters
    ----------
    low, high, seen : float arrays
        Interval and observed value.
    level : float
        Nominal coverage [-].

    Returns
    -------
    float64 array
    """
    low, high, seen = (np.asarray(part, float) for part in (low, high, seen))
    outside = np.maximum(low - seen, 0.0) + np.maximum(seen - high, 0.0)
    return (high - low) + 2.0 / (1.0 - level) * outside
