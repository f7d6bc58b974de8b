"""Wind of a record on the temperature of modules, hour by hour, against pvlib's functions."""

from functools import cache

import numpy as np
import pvlib
import pytest

from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.pv.dc_power import array_numbers, low_light_efficiency
from darkspell.simulation.input_series import BankPlace, Days, fill_hours
from darkspell.study.arrays import Array, Controller
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane
from dev.whole_chain import record

NAME = "Greensboro, 36 N"


@cache
def power(windy):
    """Hourly power of 1 kW lying flat under plain air, over its rating; with the record's wind or its mean."""
    data, site = record(NAME)
    sky = site_sky(
        site["latitude"], site["longitude"], site["altitude"], site["TZ"],
        [Plane(((1, 1, 0.0),), 180.0, glass="none")], Calendar(1),
    )  # fmt: skip
    array = Array(power_wp=1000, tilt_deg=0, azimuth_deg=180, loss_pct=0, glass="none")
    mean = float(data["wind_speed"].mean())
    numbers = array_numbers([array], Controller(kind="mppt", efficiency_pct=100), 13.0, wind=mean)
    ghi, air, wind = (data[c].to_numpy(np.float32)[:, None] for c in ("ghi", "temp_air", "wind_speed"))
    none = np.zeros((1, 365))
    days = Days(none, none, none, ghi, air, wind if windy else None)
    out, *_ = fill_hours(sky, days, numbers, 0.05, BankPlace(18.0), 0.2, np.array([0]), 1)
    return out[:, 0] / 1000.0


def by_pvlib(wind):
    """`pvlib.temperature.faiman` and `pvlib.pvsystem.pvwatts_dc`, with the efficiency in dim light."""
    data, _ = record(NAME)
    ghi = data["ghi"].to_numpy(float)
    cell = pvlib.temperature.faiman(ghi, data["temp_air"].to_numpy(), wind, u0=25.0, u1=6.84)
    dim = low_light_efficiency(np.maximum(ghi, 1.0) / 1000.0)
    return pvlib.pvsystem.pvwatts_dc(ghi, cell, 1.0, -0.0035) * dim


def test_hours_with_the_wind_of_the_record():
    """What the wind changes within 0.1 %, the power within 1.3 % (low sun, not the wind), above 100 W/m2."""
    data, _ = record(NAME)
    bright = data["ghi"].to_numpy() > 100.0
    wanted, mean = by_pvlib(data["wind_speed"].to_numpy()), by_pvlib(data["wind_speed"].mean())
    assert power(True)[bright] == pytest.approx(wanted[bright], rel=0.013)
    assert power(True)[bright] / power(False)[bright] == pytest.approx((wanted / mean)[bright], rel=1e-3)


def test_what_the_wind_of_each_hour_changes():
    """Calm hours are up to 12 % weaker than with the mean wind, windy ones stronger; the year hardly differs."""
    data, _ = record(NAME)
    bright = data["ghi"].to_numpy() > 700.0
    ratio, wind = power(True)[bright] / power(False)[bright], data["wind_speed"].to_numpy()[bright]
    assert ratio[wind < 1.0].mean() < 0.97 and ratio[wind > 6.0].mean() > 1.01
    assert power(True).sum() == pytest.approx(power(False).sum(), rel=0.01)


@pytest.mark.parametrize(
    ("mounting", "sandia"), [("roof", "close_mount_glass_glass"), ("deck", "insulated_back_glass_polymer")]
)
def test_modules_without_air_behind_them_are_as_warm_as_sandias(mounting, sandia):
    """`pvlib.temperature.sapm_cell` (King et al., SAND2004-3535): within 1.5 K in full sun, 0 to 6 m/s at 10 m."""
    numbers = pvlib.temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"][sandia]
    u0, u1 = (constant("pv", mounting, name) for name in ("u0", "u1"))
    for wind in (0.0, 1.0, 3.0, 6.0):
        theirs = pvlib.temperature.sapm_cell(1000.0, 20.0, wind, **numbers)
        low = wind * constant("climate", "wind_low_over_10_m")
        assert 20.0 + 1000.0 / (u0 + u1 * low) == pytest.approx(theirs, abs=1.5)
