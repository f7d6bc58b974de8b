"""Ceiling of daily clearness: the clear sky of pvlib, and its dependence on altitude and vapour."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pvlib
import pytest

from darkspell.climate.clear_sky import clear_sky_clearness, clearness_ceiling
from darkspell.climate.extraterrestrial import daily_extraterrestrial


def solis_clearness(latitude, altitude, water):
    """Daily clear-sky clearness of pvlib's simplified Solis model on 21 March and 21 June, clean air."""
    found = []
    for date in ("2025-03-21", "2025-06-21"):
        times = pd.date_range(date, periods=24 * 6, freq="10min", tz="UTC")
        sun = pvlib.solarposition.get_solarposition(times, latitude, 0.0, altitude=altitude)
        ghi = pvlib.clearsky.simplified_solis(
            sun["apparent_elevation"], aod700=0.05, precipitable_water=water,
            pressure=pvlib.atmosphere.alt2pres(altitude),
        )["ghi"]  # fmt: skip
        found.append(ghi.sum() / 6000.0 / daily_extraterrestrial(latitude, times[0].dayofyear))
    return np.array(found)


# Clean air over vapour of about 1.5 cm (10 degC) and 4 cm (26 degC). The two models agree within 0.05; which is
# less than the 8 % by which the ceiling is above them.
@pytest.mark.parametrize(
    ("latitude", "altitude", "temp_air", "water"),
    [(45.0, 0.0, 15.0, 1.5), (5.0, 0.0, 30.0, 4.0), (35.0, 2000.0, 10.0, 1.0)],
)
def test_the_clear_sky_is_that_of_pvlib(latitude, altitude, temp_air, water):
    ours = clear_sky_clearness(latitude, altitude, np.full(12, temp_air), np.full(12, 10.0))[[2, 5]]
    assert ours == pytest.approx(solis_clearness(latitude, altitude, water), abs=0.05)


def test_dry_high_places_are_clearer_than_humid_low_ones():
    humid, desert = (
        clear_sky_clearness(latitude, altitude, np.full(12, temp), np.full(12, 10.0)).mean()
        for latitude, altitude, temp in ((5.0, 0.0, 28.0), (25.0, 2000.0, 15.0))
    )
    assert humid < 0.73 < desert


# Brightest day of 13 years at Anguededou (5.4 N): 0.746; no day of the model there may be far brighter.
def test_the_ceiling_holds_in_the_humid_tropics_and_above_known_days():
    site = SimpleNamespace(latitude_deg=5.4, altitude_m=0.0)
    temp_air, swing, kt = np.full(12, 27.0), np.full(12, 8.0), np.full(12, 0.4)
    assert clearness_ceiling(site, temp_air, swing, kt).max() < 0.78
    assert (clearness_ceiling(site, temp_air, swing, kt, np.full(12, 0.85)) > 0.85).all()
    assert (clearness_ceiling(site, temp_air, swing, np.full(12, 0.75)) > 0.75).all()
