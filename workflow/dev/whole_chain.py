"""Power of a year against pvlib's whole chain, by tilt: ``python -m dev.whole_chain``.

Records are the hourly typical years that pvlib brings; of them ours sees global light, temperature and wind alone.
Theirs: the record's own beam, Perez' sky, physical reflection with a coating, Faiman with the record's wind, and the
single-diode model of one crystalline module of the table that pvlib ships. Ours: the module's efficiency at 200 W/m2
and its temperature coefficient, as a data sheet gives them. No record with a measured beam over a year was at hand.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pvlib

from darkspell.core.calendar import Calendar
from darkspell.pv.dc_power import array_numbers
from darkspell.simulation.input_series import BankPlace, Days, fill_hours
from darkspell.study.arrays import Array, Controller
from darkspell.weather.diffuse_light import skartveit_olseth, sun_terms
from darkspell.weather.solar_geometry import site_sky
from darkspell.weather.surfaces import Plane

DATA = Path(pvlib.__file__).parent / "data"
RECORDS = {
    "Miami, 26 N": "12839.tm2", "Greensboro, 36 N": "723170TYA.CSV", "Sand Point, 55 N": "703165TY.csv",
}  # fmt: skip
TILTS = (0.0, 20.0, 40.0, 55.0, 70.0, 90.0)


@cache
def record(name):
    """Hourly record and its site, columns by pvlib's names; hours labelled by their end.

    Parameters
    ----------
    name : str
        Of `RECORDS`.

    Returns
    -------
    data : pandas.DataFrame
    site : dict
    """
    path = str(DATA / RECORDS[name])
    if path.endswith("tm2"):
        data, site = pvlib.iotools.read_tmy2(path)
        names = {"GHI": "ghi", "DHI": "dhi", "DNI": "dni", "DryBulb": "temp_air", "Wspd": "wind_speed"}
        data = data[list(names)].rename(columns=names).astype(float)
        data[["temp_air", "wind_speed"]] /= 10.0
        data.index = data.index.map(lambda when: when.replace(year=2025)) + np.timedelta64(1, "h")
        return data, site
    return pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2025)


@cache
def module():
    """Single-diode parameters of the crystalline module whose efficiency at 200 W/m2 is the table's median, .984."""
    table = pvlib.pvsystem.retrieve_sam(path=str(DATA / "sam-library-cec-modules-2019-03-05.csv"))
    return table["Mage_Solar_Powertec_Plus_300_6_72_MH"]


def diode(light, cell):
    """Power of the module [W].

    Parameters
    ----------
    light, cell : float or float array
        Light that reaches its cells [W/m2], and their temperature [degC].
    """
    m = module()
    given = pvlib.pvsystem.calcparams_cec(
        np.maximum(light, 0.01), cell, m.alpha_sc, m.a_ref, m.I_L_ref, m.I_o_ref, m.R_sh_ref, m.R_s, m.Adjust
    )
    return pvlib.pvsystem.singlediode(*given)["p_mp"]


def theirs(name, tilt, our_split=False):
    """Hourly power over that at standard conditions, pvlib's functions only.

    Parameters
    ----------
    name : str
        Of `RECORDS`.
    tilt : float
        Facing south [degrees].
    our_split : bool
        With our split of global light in place of the record's beam.

    Returns
    -------
    float array [8760]
        [-].
    """
    data, site = record(name)
    middle = data.index - np.timedelta64(30, "m")
    sun = pvlib.solarposition.get_solarposition(middle, site["latitude"], site["longitude"], site["altitude"])
    zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    columns = ("ghi", "dhi", "dni", "temp_air", "wind_speed")
    ghi, dhi, dni, air, wind = (data[c].to_numpy(float) for c in columns)
    extra = pvlib.irradiance.get_extra_radiation(middle).to_numpy()
    if our_split:
        dhi, dni = split(ghi, zenith, extra)
    airmass = pvlib.atmosphere.get_relative_airmass(zenith)
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


def split(ghi, zenith, extra):
    """Diffuse horizontal and direct normal light by the package's split [W/m2].

    Parameters
    ----------
    ghi, zenith, extra : float arrays [hours]
        Global light [W/m2], zenith angle [degrees], extraterrestrial normal irradiance [W/m2].
    """
    terms = sun_terms(np.cos(np.radians(zenith)), extra)
    rows = zip(np.asarray(ghi, np.float32), *list(terms)[:6], strict=True)
    dhi, dni = np.array([skartveit_olseth(*row) for row in rows], float).T
    return dhi, np.where(np.asarray(zenith) < 89.5, dni, 0.0)


def ours(name, tilt):
    """Hourly power over that at standard conditions, from global light, temperature and wind.

    Parameters
    ----------
    name : str
        Of `RECORDS`.
    tilt : float
        Facing south [degrees].

    Returns
    -------
    float array [8760]
        [-].
    """
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


def away(name, tilt, our_split=False):
    """Ours less theirs over theirs [-]: of the year, and of December to February.

    Parameters
    ----------
    name, tilt, our_split
        As `theirs` takes them.

    Returns
    -------
    year, winter : float
    """
    cold = np.isin(Calendar(1).month_of_hour, [11, 0, 1])
    mine, other = ours(name, tilt), theirs(name, tilt, our_split)
    return mine.sum() / other.sum() - 1.0, mine[cold].sum() / other[cold].sum() - 1.0


def main():
    """Print the table."""
    print("ours over pvlib's whole chain, %: year and December to February; and with our split in theirs")
    print(f"{'record':20}{'tilt':>6}{'year':>8}{'winter':>8}{'year':>10}{'winter':>8}")
    for name in RECORDS:
        for tilt in TILTS:
            row = [100.0 * part for ours_too in (False, True) for part in away(name, tilt, ours_too)]
            print(
                f"{name:20}{tilt:6.0f}{row[0]:+8.1f}{row[1]:+8.1f}{row[2]:+10.1f}{row[3]:+8.1f}", flush=True
            )


if __name__ == "__main__":
    main()
