"""Direct and diffuse light of hours with a measured beam, and pvlib's ways to split global light.

The typical years of `dev.whole_chain` have no measured beam: theirs comes from a model of the author of DISC. There
our split costs 3 % on steep planes at 55 N, as all of pvlib's but DISC do; here, with the beam measured, it does not.
"""

import numpy as np
import pandas as pd
import pvlib
import pytest

from darkspell.weather.diffuse_light import skartveit_olseth, sun_terms
from dev.light_splits import OURS, judged, measured, winter_days
from pv.payerne import PLACE, payerne


@pytest.fixture(scope="module")
def hours():
    """Zenith angle [deg], measured and our diffuse and direct light [W/m2], and the light on any plane."""
    record = payerne()
    middle = record.begin + pd.Timedelta("30min")
    sun = PLACE.get_solarposition(middle)
    zenith = sun["zenith"].to_numpy()
    ok = zenith < 88.0
    extra = pvlib.irradiance.get_extra_radiation(middle).to_numpy()
    terms = sun_terms(np.cos(np.radians(zenith)), extra)
    ghi = record.ghi.mean(axis=1)
    rows = zip(ghi.astype(np.float32), *list(terms)[:6], strict=True)
    names = ("cos_zenith", "dni_extra", "per_extra", "per_clear", "top", "beam")
    assert terms._fields[:6] == names
    dhi, dni = np.array([skartveit_olseth(*row) for row in rows]).T

    def plane(tilt, dhi, dni):
        found = pvlib.irradiance.get_total_irradiance(
            tilt, 180, zenith[ok], sun["azimuth"].to_numpy()[ok], dni[ok], ghi[ok], dhi[ok], dni_extra=extra[ok],
            airmass=pvlib.atmosphere.get_relative_airmass(zenith[ok]), model="perez-driesse", albedo=0.2,
        )  # fmt: skip
        return np.nansum(found["poa_global"])

    return (
        zenith[ok],
        (record.dhi[ok], record.dni[ok]),
        (dhi[ok], dni[ok]),
        plane,
        (record.dhi, record.dni, dhi, dni),
    )


def test_diffuse_light_of_all_and_of_low_sun(hours):
    """All within 3 %, sun below 25 degrees within 3 %; DISC has 9 % too little there."""
    zenith, (measured, _), (ours, _), _, _ = hours
    assert ours.sum() == pytest.approx(measured.sum(), rel=0.03)
    low = zenith > 65.0
    assert ours[low].sum() == pytest.approx(measured[low].sum(), rel=0.03)


@pytest.mark.parametrize("tilt", [40, 70, 90])
def test_light_on_steep_planes(hours, tilt):
    """Within 3 % of the light from the measured split; ours is above it, not below."""
    *_, plane, (dhi, dni, our_dhi, our_dni) = hours
    ratio = plane(tilt, our_dhi, our_dni) / plane(tilt, dhi, dni)
    print(f"{tilt} deg: {ratio - 1:+.1%}")
    assert ratio == pytest.approx(1.0, abs=0.03) and ratio > 1.0


@pytest.mark.parametrize("place", ["Golden", "Payerne"])
def test_splits_on_records_that_nobody_fitted(place):
    """Light on steep planes within 1.5 %; of pvlib's splits only DIRINT, which sees the hours about, is better."""
    table = judged(place)
    planes = table[["at_40", "at_70", "at_90"]].abs()
    assert planes.loc[OURS].max() < 0.015
    if place == "Golden":  # winter; in June all are within 2 %
        others = planes.drop([OURS, "dirint"])
        assert planes.loc[OURS].max() < others.max(axis=1).min()
    assert table.loc[OURS, "dhi_rms"] < table["dhi_rms"].drop([OURS, "dirint"]).max()


def test_clear_air_at_altitude_keeps_more_beam_than_ours():
    """What falls short: clear winter air at 2,317 m; steep planes get 9 to 11 % too little, by DIRINT 2 to 3."""
    table = judged("Alamosa")
    assert -0.13 < table.loc[OURS, "at_90"] < -0.08 < table.loc["dirint", "at_90"] < 0.0


def test_the_stored_hours_of_payerne_are_those_of_the_minutes():
    """Both files come from the same record; the minutes are rounded to 1 W/m2, and hold hours of lower sun too."""
    hours, minutes = measured().loc["Payerne"], payerne()
    rows = np.flatnonzero(minutes.begin.isin(hours.index))
    assert len(rows) == len(hours) == 403
    assert hours["dhi"].to_numpy() == pytest.approx(minutes.dhi[rows], abs=0.6)


@pytest.mark.parametrize("name", ["Greensboro, 36 N", "Sand Point, 55 N"])
def test_dull_winter_days_on_a_steep_plane(name):
    """Of clearness below 0.35, which decide loss of load: ours within 5 % of the record's (modelled) beam."""
    table = winter_days(name)
    assert table["days"].sum() == 120
    assert table.loc[["0 to 0.2", "0.2 to 0.35"], "record"].abs().max() < 0.05
