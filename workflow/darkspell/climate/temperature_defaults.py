"""Daily range and day-to-day variability of air temperature, estimated from monthly means."""

import numpy as np

from darkspell.core.constants import constant


def daily_range(kt):
    """Mean daily maximum minus minimum of air temperature from mean clearness [K].

    Hargreaves' relation ``kt = k sqrt(range)``, solved for the range; Allen et al., FAO Irrigation and Drainage
    Paper 56 (1998), eq. 50.

    Parameters
    ----------
    kt : float array [12]
        Monthly mean clearness [-].

    Returns
    -------
    float64 array [12]
    """
    low, high = constant("climate", "range_bounds")
    return np.clip((np.asarray(kt) / constant("climate", "hargreaves")) ** 2, low, high)


def daily_sd(temp_air):
    """Standard deviation of daily mean temperature within its month [K].

    ``base + per_swing * (annual range of monthly means) + per_cold * (annual mean - monthly mean)``, fitted on
    typical years.

    Parameters
    ----------
    temp_air : float array [12]
        Monthly mean air temperature [degC].

    Returns
    -------
    float64 array [12]
    """
    temp_air = np.asarray(temp_air, float)
    sd = constant("climate", "temp_sd_base") + constant("climate", "temp_sd_per_swing") * np.ptp(temp_air)
    return np.maximum(
        sd + constant("climate", "temp_sd_per_cold") * (temp_air.mean() - temp_air),
        constant("climate", "temp_sd_least"),
    )
