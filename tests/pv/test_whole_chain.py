"""Power of a year against pvlib's whole chain, on hourly records that pvlib brings, with measured global light alone.

Theirs: the record's own beam, Perez' sky, physical reflection with a coating, Faiman with the record's wind, and the
single-diode model of one crystalline module of the table that pvlib ships. Ours: the record's global light, its wind,
and the module's efficiency at 200 W/m2 and temperature coefficient, as a data sheet gives them.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pvlib
import pytest

from darkspell.core.calendar import Calendar
from darkspell.pv.dc_power import array_numbers
from darkspell.simulation.input_series import BankPlace, Days, fill_hours
from darkspell.study.arrays import Array, Controller
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane

DATA = Path(pvlib.__file__).parent / "data"
RECORDS = {"Greensboro, 36 N": "723170TYA.CSV", "Sand Point, 55 N": "703165TY.csv"}
TILTS = (0.0, 20.0, 40.0, 70.0, 90.0)


@cache
def record(name):
    """Hourly record and its site."""
    return pvlib.iotools.read_tmy3(str(DATA / RECORDS[name]), map_variables=True, coerce_year=2025)


@cache
def module():
    """Single-diode parameters of the crystalline module whose efficiency at 200 W/m2 is the table's median, .984."""
    table = pvlib.pvsystem.retrieve_sam(path=str(DATA / "sam-library-cec-modules-2019-03-05.csv"))
    return table["Mage_Solar_Powertec_Plus_300_6_72_MH"]


def diode(light, cell):
    m = module()
    given = pvlib.pvsystem.calcparams_cec(
        np.maximum(light, 0.01), cell, m.alpha_sc, m.a_ref, m.I_L_ref, m.I_o_ref, m.R_sh_ref, m.R_s, m.Adjust
    )
    return pvlib.pvsystem.singlediode(*given)["p_mp"]


def theirs(name, tilt):
    """Hourly power over that at standard conditions, pvlib's functions only."""
    data, site = record(name)
    middle = data.index - np.timedelta64(30, "m")
    sun = pvlib.solarposition.get_solarposition(middle, site["latitude"], site["longitude"], site["altitude"])
    zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    ghi, dhi, dni, air, wind = (
        data[c].to_numpy(float) for c in ("ghi", "dhi", "dni", "temp_air", "wind_speed")
    )
    extra, airmass = (
        pvlib.irradiance.get_extra_radiation(middle).to_numpy(),
        pvlib.atmosphere.get_relative_airmass(zenith),
    )
    parts = pvlib.irradiance.perez(
        tilt, 180, dhi, dni, extra, zenith, azimuth, airmass, return_components=True
    )
    around, even, low = (np.nan_to_num(parts[f"poa_{n}"]) for n in ("circumsolar", "isotropic", "horizon"))
    angle = pvlib.irradiance.aoi(tilt, 180, zenith, azimuth)
    beam = dni * np.maximum(np.cos(np.radians(angle)), 0)
    ground = pvlib.irradiance.get_ground_diffuse(tilt, ghi, 0.2)
    passes = np.nan_to_num(pvlib.iam.physical(angle, n_ar=1.29))
    share = pvlib.iam.marion_diffuse("physical", tilt, n_ar=1.29)
    light = (beam + around) * passes + even * share["sky"] + low * share["horizon"] + ground * share["ground"]
    cell = pvlib.temperature.faiman(beam + around + even + low + ground, air, wind)
    return np.nan_to_num(diode(light, cell)) / diode(1000.0, 25.0)


def ours(name, tilt):
    """Hourly power over that at standard conditions, from global light and temperature."""
    data, site = record(name)
    calendar, m = Calendar(1), module()
    sky = site_sky(
        site["latitude"], site["longitude"], site["altitude"], site["TZ"],
        [Plane(((1, 1, tilt),), 180.0, glass="anti_reflective")], calendar,
    )  # fmt: skip
    dim = float(diode(200.0, 25.0) / diode(1000.0, 25.0)) * 5
    array = Array(
        power_wp=1000, tilt_deg=tilt, azimuth_deg=180, loss_pct=0, efficiency_200_pct=100 * dim,
        temp_coefficient_pct_k=float(m.gamma_r),
    )  # fmt: skip
    numbers = array_numbers([array], Controller(kind="mppt", efficiency_pct=100), 13.0)
    column = [data[c].to_numpy(np.float32)[:, None] for c in ("ghi", "temp_air", "wind_speed")]
    days = np.zeros((1, 365))
    power, *_ = fill_hours(
        sky, Days(days, days, days, *column), numbers, 0.05, BankPlace(18.0), 0.2, np.array([0]), 1
    )
    return power[:, 0] / 1000.0


@pytest.mark.parametrize("tilt", TILTS)
@pytest.mark.parametrize("name", RECORDS)
def test_a_year_of_power_from_global_light_alone(name, tilt):
    """The year within 3 %, December to February within 8 %.

    At Sand Point the split of global light gives 13 % more diffuse light than the record, which on steep planes costs
    3.0 to 3.1 % of the year, all but 0.2 of what is missing there. That record has no measured beam: with pvlib's own
    chain its splits miss 3.0 to 9.8 % (Erbs 7.0 upright), all but DISC, whose author's model made the record's beam.
    On a measured beam ours misses nothing (`test_decomposition`). Held to 3.5 % there.
    """
    winter = np.isin(Calendar(1).month_of_hour, [11, 0, 1])
    mine, other = ours(name, tilt), theirs(name, tilt)
    print(f"{name}, {tilt:g} deg: year {mine.sum() / other.sum() - 1:+.1%}, "
          f"winter {mine[winter].sum() / other[winter].sum() - 1:+.1%}")  # fmt: skip
    steep_north = name.startswith("Sand") and tilt >= 70.0
    assert mine.sum() == pytest.approx(other.sum(), rel=0.035 if steep_north else 0.03)
    assert mine[winter].sum() == pytest.approx(other[winter].sum(), rel=0.08)
