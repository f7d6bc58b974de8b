"""Air temperature beyond its monthly means: how far it swings in a day, how far days differ."""

import numpy as np

from darkspell.core.constants import constant


def daily_range(kt):
    """Mean daily maximum less minimum from mean clearness [K].

    Hargreaves' relation turned round: kt = k sqrt(range); Allen et al., FAO Irrigation and Drainage
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
    """SD of the daily means about the mean of their month [K], from the swing of the year.

    Larger where the year swings more, and in the cold months of it; fitted on typical years.

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
