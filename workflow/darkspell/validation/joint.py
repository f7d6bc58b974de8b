"""Joint test of a station: whether the measured record as a whole is a plausible draw of the model.

Many statistics are compared with those of pseudo-records of the model, each with the length and gaps of the measured
record. The Mahalanobis distance from the mean, with a covariance shrunk towards its diagonal, ranks all records. The
share of pseudo-records with a larger distance than the measured one is the probability of the test. Measured record
and pseudo-records are treated equally, so the test is exact for any distance.
"""

import numpy as np

from darkspell.validation.dark_spells import autocorrelation, spells

LAGS = (1, 2, 3, 5, 10, 20)
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
CLASSES = ((1, 1), (2, 3), (4, 6), (7, 11))
SHRINK = 0.2


def statistics(years, month):
    """Statistics of a record as one vector.

    Parameters
    ----------
    years : float array [years, 365]
        Daily clearness by study day; NaN where not known.
    month : int array [365]
        Calendar month of each study day, 0-11.

    Returns
    -------
    dict
        Name to number: monthly means, spread between years, quantiles of winter and of the whole, spells of
        each class a winter, longest spell, autocorrelation.
    """
    means = np.array([np.nanmean(years[:, month == number]) for number in range(12)])
    by_year = np.array([_mean(years[:, month == number]) for number in range(12)])
    # The same calendar half as the spells of a winter: the four darkest months lie in the middle of the year.
    dark = years[:, _winter(month)]
    found = spells(dark)
    values = {f"kt_{number + 1}": value for number, value in enumerate(means)}
    values["years"] = float(np.nanmean(np.nanstd(np.log(np.maximum(by_year, 0.02)), axis=1)))
    for share in QUANTILES:
        values[f"winter_q{100 * share:g}"] = float(np.nanquantile(dark, share))
        values[f"year_q{100 * share:g}"] = float(np.nanquantile(years, share))
    for low, high in CLASSES:
        values[f"spells_{low}_{high}"] = float(np.sqrt(found.counts[low - 1 : high].sum() / len(years)))
    values["longest"] = float(found.longest.mean())
    apart = years - means[month]
    values |= {f"lag_{lag}": value for lag, value in zip(LAGS, autocorrelation(apart, LAGS), strict=True)}
    return values


def _mean(rows):
    """Mean of each row that has enough days; [rows]."""
    enough = np.isfinite(rows).sum(axis=1) >= 20
    return np.where(enough, np.nansum(rows, axis=1) / np.maximum(np.isfinite(rows).sum(axis=1), 1), np.nan)


def _winter(month):
    """Study days of the four darkest months, in the middle of the study year."""
    start = month[0]
    return np.isin((month - start) % 12, (4, 5, 6, 7))


def joint_test(measured, drawn):
    """Probability that records of the model lie as far out as the measured one.

    Parameters
    ----------
    measured : dict
        From `statistics`.
    drawn : list of dict
        The same of pseudo-records of the model.

    Returns
    -------
    float
        Between 1 / (pseudo-records + 1) and 1.
    """
    table = np.array([list(one.values()) for one in [measured, *drawn]])
    table = (table - table.mean(axis=0)) / np.maximum(table.std(axis=0, ddof=1), 1e-12)
    covariance = (1.0 - SHRINK) * np.cov(table.T) + SHRINK * np.eye(table.shape[1])
    distance = np.einsum("ij,ij->i", table, np.linalg.solve(covariance, table.T).T)
    return float((distance >= distance[0]).mean())


def farthest(measured, drawn, count=3):
    """Statistics in which the measured record deviates most: names with their z-scores.

    Parameters
    ----------
    measured : dict of float
        Statistics of the record.
    drawn : list of dict
        The same of each simulated record.
    count : int
        How many to name.
    """
    table = np.array([list(one.values()) for one in drawn])
    z = (np.array(list(measured.values())) - table.mean(axis=0)) / np.maximum(
        table.std(axis=0, ddof=1), 1e-12
    )
    order = np.argsort(-np.abs(z))[:count]
    names = list(measured)
    return [(names[at], float(z[at])) for at in order]
