"""How well global light is split into beam and diffuse light: ``python -m dev.light_splits``.

Judged on hours with a measured beam that nobody fitted here, `HOURS`: 88 winter hours of three places and June at
Payerne; its first lines say where they come from. Global light is the sum of both measured parts. Ours and pvlib's
splits are compared by the diffuse light and by the light on steep planes to the south. A last table has the winter
days of pvlib's typical years by their clearness; their beam is modelled.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from darkspell.weather.diffuse_light import skartveit_olseth, sun_terms
from dev import whole_chain

HOURS = Path(__file__).parents[2] / "tests" / "pv" / "measured_beam.csv"
# Latitude, longitude [degrees] and altitude [m].
PLACES = {
    "Alamosa": (37.70, -105.92, 2317.0), "Eugene": (44.05, -123.07, 150.0), "Golden": (39.742, -105.18, 1829.0),
    "Payerne": (46.815, 6.944, 491.0),
}  # fmt: skip
TILTS = (40.0, 70.0, 90.0)
CLEARNESS = (0.0, 0.2, 0.35, 0.5, 0.65, 0.85)  # of days
OURS = "ours (Skartveit & Olseth)"
SIMPLE = ("erbs", "boland", "orgill_hollands", "louche")


def measured():
    """Measured hours; pandas.DataFrame by place and begin [UTC], columns ``dhi`` and ``dni`` [W/m2]."""
    table = pd.read_csv(HOURS, comment="#", parse_dates=["begin"])
    return table.set_index(["place", "begin"])


def sun_of(place, begin):
    """Position of the sun in the middle of hours.

    Parameters
    ----------
    place : str
        Of `PLACES`.
    begin : pandas.DatetimeIndex
        [UTC].

    Returns
    -------
    dict
        ``middle``, ``zenith``, ``azimuth`` [degrees], ``extra`` [W/m2], ``pressure`` [Pa].
    """
    latitude, longitude, altitude = PLACES[place]
    middle = begin + pd.Timedelta("30min")
    sun = pvlib.solarposition.get_solarposition(middle, latitude, longitude, altitude)
    return {
        "middle": middle, "zenith": sun["zenith"].to_numpy(), "azimuth": sun["azimuth"].to_numpy(),
        "extra": pvlib.irradiance.get_extra_radiation(middle).to_numpy(),
        "pressure": pvlib.atmosphere.alt2pres(altitude),
    }  # fmt: skip


def splits(ghi, sun):
    """Diffuse horizontal and direct normal light by each split [W/m2].

    Parameters
    ----------
    ghi : float array [hours]
        [W/m2].
    sun : dict
        From `sun_of`.

    Returns
    -------
    dict of (dhi, dni)
        By name.
    """
    zenith, middle = sun["zenith"], sun["middle"]
    cosine = np.cos(np.radians(zenith))
    found = {}
    for name in SIMPLE:
        parts = getattr(pvlib.irradiance, name)(ghi, zenith, middle)
        found[name] = np.asarray(parts["dhi"]), np.asarray(parts["dni"])
    series = pd.Series(ghi, index=middle)
    beams = {
        "disc": pvlib.irradiance.disc(ghi, zenith, middle, sun["pressure"])["dni"],
        "dirint": pvlib.irradiance.dirint(
            series, pd.Series(zenith, middle), middle, pressure=sun["pressure"]
        ),
    }
    for name, beam in beams.items():
        dni = np.nan_to_num(np.asarray(beam, float))
        found[name] = np.maximum(ghi - dni * cosine, 0.0), dni
    rows = zip(ghi.astype(np.float32), *list(sun_terms(cosine, sun["extra"]))[:6], strict=True)
    dhi, dni = np.array([skartveit_olseth(*row) for row in rows], float).T
    return found | {OURS: (dhi, dni)}


def on_plane(tilt, dhi, dni, ghi, sun):
    """Light on a plane to the south [W/m2] by pvlib's continuous Perez sky.

    Parameters
    ----------
    tilt : float
        [degrees].
    dhi, dni, ghi : float arrays [hours]
        [W/m2].
    sun : dict
        From `sun_of`.
    """
    light = pvlib.irradiance.get_total_irradiance(
        tilt, 180, sun["zenith"], sun["azimuth"], dni, ghi, dhi, dni_extra=sun["extra"],
        airmass=pvlib.atmosphere.get_relative_airmass(sun["zenith"]), model="perez-driesse", albedo=0.2,
    )  # fmt: skip
    return np.nan_to_num(np.asarray(light["poa_global"], float))


def judged(place):
    """Differences of each split at a place; pandas.DataFrame.

    Parameters
    ----------
    place : str
        Of `PLACES`.

    Returns
    -------
    pandas.DataFrame
        By split: ``dhi`` over measured less 1 [-], ``dhi_rms`` [W/m2], and for each of `TILTS` the light on that
        plane over that of the measured split less 1 [-]. ``attrs["kwh"]``: global light of the hours [kWh/m2].
    """
    rows = measured().loc[place]
    sun = sun_of(place, rows.index)
    dhi, dni = rows["dhi"].to_numpy(float), rows["dni"].to_numpy(float)
    ghi = dhi + dni * np.cos(np.radians(sun["zenith"]))
    planes = {tilt: on_plane(tilt, dhi, dni, ghi, sun).sum() for tilt in TILTS}
    found = {}
    for name, (diffuse, direct) in splits(ghi, sun).items():
        light = [on_plane(tilt, diffuse, direct, ghi, sun).sum() / planes[tilt] - 1.0 for tilt in TILTS]
        rms = np.sqrt(np.mean((diffuse - dhi) ** 2))
        found[name] = [diffuse.sum() / dhi.sum() - 1.0, rms, *light]
    table = pd.DataFrame(found, index=["dhi", "dhi_rms", *(f"at_{tilt:.0f}" for tilt in TILTS)]).T
    table.attrs["kwh"] = ghi.sum() / 1000.0
    return table


def winter_days(name, tilt=65.0):
    """Light on a plane on November to February days of a typical year, by clearness of the day, over ours less 1.

    Parameters
    ----------
    name : str
        Of `dev.whole_chain.RECORDS`.
    tilt : float
        [degrees].

    Returns
    -------
    pandas.DataFrame
        By class of `CLEARNESS`: number of days, ``record`` and ``dirint`` [-].
    """
    data, site = whole_chain.record(name)
    PLACES[name] = site["latitude"], site["longitude"], site["altitude"]
    begin = (data.index - np.timedelta64(1, "h")).tz_convert("UTC")
    sun, ghi = sun_of(name, begin), data["ghi"].to_numpy(float)
    found = splits(ghi, sun) | {"record": (data["dhi"].to_numpy(float), data["dni"].to_numpy(float))}
    lit = sun["zenith"] < 88.0
    light = {
        key: on_plane(tilt, found[key][0], np.where(lit, found[key][1], 0.0), ghi, sun).reshape(-1, 24).sum(axis=1)
        for key in ("record", "dirint", OURS)
    }  # fmt: skip
    above = sun["extra"] * np.maximum(np.cos(np.radians(sun["zenith"])), 0.0)
    kt = ghi.reshape(-1, 24).sum(axis=1) / above.reshape(-1, 24).sum(axis=1)
    day = np.arange(365)
    winter = (day < 59) | (day >= 304)
    rows = {}
    for low, high in zip(CLEARNESS[:-1], CLEARNESS[1:], strict=True):
        which = winter & (kt >= low) & (kt < high)
        if which.any():
            more = [light[key][which].sum() / light[OURS][which].sum() - 1.0 for key in ("record", "dirint")]
            rows[f"{low:g} to {high:g}"] = [which.sum(), *more]
    return pd.DataFrame(rows, index=["days", "record", "dirint"]).T


def main():
    """Print a table for each place."""
    print("over measured, %: diffuse light, its RMS [W/m2], light on planes of 40, 70 and 90 degrees")
    for place in PLACES:
        table = judged(place)
        print(f"\n{place}, {len(measured().loc[place])} hours, {table.attrs['kwh']:.1f} kWh/m2")
        for name, row in table.iterrows():
            planes = "".join(f"{100.0 * value:+8.1f}" for value in row.iloc[2:])
            print(f"{name:28}{100.0 * row['dhi']:+8.1f}{row['dhi_rms']:8.1f}{planes}", flush=True)
    print(
        "\nlight on a plane of 65 degrees, winter days by clearness: the record's and DIRINT's over ours, %"
    )
    for name in whole_chain.RECORDS:
        for kind, row in winter_days(name).iterrows():
            print(
                f"{name:20}{kind:14}{row['days']:5.0f} days{100 * row['record']:+8.1f}{100 * row['dirint']:+8.1f}"
            )


if __name__ == "__main__":
    main()
