"""Measured light of Payerne (46.8 N, Switzerland), June 2016: the Baseline Surface Radiation Network's one-minute
record that pvlib's test data bring (`bsrn-pay0616.dat.gz`), whole hours with the sun up; rounded to 1 W/m2."""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import pvlib

PLACE = pvlib.location.Location(46.815, 6.944, "UTC", 491)


class Hours(NamedTuple):
    """Beginnings [UTC]; minutes of global light [hours, 60]; hourly diffuse and direct light; clear sky [W/m2]."""

    begin: pd.DatetimeIndex
    ghi: np.ndarray
    dhi: np.ndarray
    dni: np.ndarray
    clear: np.ndarray


@cache
def payerne():
    """The record as `Hours`."""
    stored = np.load(Path(__file__).parent / "payerne_2016_06.npz")
    begin = pd.DatetimeIndex(stored["begin"].astype("datetime64[h]").astype("datetime64[s]"), tz="UTC")
    minutes = pd.DatetimeIndex(np.concatenate([begin + pd.Timedelta(m + 0.5, "min") for m in range(60)]))
    clear = PLACE.get_clearsky(minutes)["ghi"].to_numpy().reshape(60, -1).mean(axis=0)
    dhi, dni = stored["dhi_dni"].astype(float).T
    return Hours(begin, stored["ghi"].astype(float), dhi, dni, clear)
