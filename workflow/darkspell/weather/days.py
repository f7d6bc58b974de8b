"""Daily weather of a block of members."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Days:
    """Daily weather of a block of members, drawn or measured; by study day.

    Parameters
    ----------
    kt : float64 array [lanes, 365]
        Clearness [-].
    temp_air_mean, temp_air_range : float64 arrays [lanes, 365]
        Air temperature: daily mean [degC], maximum less minimum [K].
    ghi : float32 array [8760, lanes], optional
        Global horizontal irradiance, where its hours are known [W/m2]; `kt` then says nothing to them.
    temp_air : float32 array [8760, lanes], optional
        Air temperature, where its hours are known [degC].
    wind : float32 array [8760, lanes], optional
        Wind at the modules, where its hours are known [m/s].
    """

    kt: np.ndarray
    temp_air_mean: np.ndarray
    temp_air_range: np.ndarray
    ghi: np.ndarray | None = None
    temp_air: np.ndarray | None = None
    wind: np.ndarray | None = None
