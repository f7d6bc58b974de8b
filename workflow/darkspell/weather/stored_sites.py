"""Climate and sky of the sites of a study, stored for the jobs that need them."""

import json
from dataclasses import fields
from hashlib import sha256

import numpy as np

from darkspell.climate.itinerary import Route
from darkspell.climate.site_climate import SiteClimate
from darkspell.core.atomic_files import replacing
from darkspell.weather.solar_geometry import SiteSky

# What of an array decides how the light falls on it.
LIGHT_KEYS = (
    "tilt_deg", "azimuth_deg", "tilt_by_date", "any_heading", "soiling_pct", "shades", "shade_groups", "shade_wiring",
)  # fmt: skip


def site_key(study):
    """Key of a study's site among those stored: location, climate and planes.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    str
    """
    planes = [[array[name] for name in LIGHT_KEYS] for array in study.resolved()["arrays"].values()]
    text = f"{study.subtree_hash('site', 'climate', 'itinerary')} {json.dumps(planes)}"
    return sha256(text.encode()).hexdigest()[:12]


def save_sites(path, sites):
    """Store climates and skies by key.

    Parameters
    ----------
    path : path-like
        An .npz file.
    sites : dict
        ``{key: (SiteClimate or Route, SiteSky)}``.
    """
    arrays = {}
    for key, (climate, sky) in sites.items():
        arrays |= _flat(f"{key}/sky", sky)
        for number, one in enumerate(getattr(climate, "climates", (climate,))):
            arrays |= _flat(f"{key}/climate/{number}", one)
        if hasattr(climate, "where"):
            arrays |= {f"{key}/latitudes": climate.latitudes, f"{key}/where": climate.where}
    with replacing(path) as temporary:
        np.savez(temporary, **arrays)


def load_site(path, key):
    """Climate and sky of one stored site.

    Parameters
    ----------
    path : path-like
    key : str
        See `site_key`.

    Returns
    -------
    climate : darkspell.climate.SiteClimate or darkspell.climate.itinerary.Route
    sky : darkspell.weather.solar_geometry.SiteSky
    """
    with np.load(path, allow_pickle=False) as stored:
        sky = _read(stored, f"{key}/sky", SiteSky)
        if f"{key}/where" not in stored:
            return _read(stored, f"{key}/climate/0", SiteClimate), sky
        latitudes, where = stored[f"{key}/latitudes"], stored[f"{key}/where"]
        climates = tuple(_read(stored, f"{key}/climate/{n}", SiteClimate) for n in range(latitudes.size))
        return Route(climates, latitudes, where), sky


def _flat(prefix, part):
    return {f"{prefix}/{field.name}": np.asarray(getattr(part, field.name)) for field in fields(part)}


def _read(stored, prefix, kind):
    return kind(**{field.name: _plain(stored[f"{prefix}/{field.name}"]) for field in fields(kind)})


def _plain(value):
    """Arrays as they are, single numbers and texts as Python's own, lists of texts as lists."""
    if value.ndim == 0:
        return value.item()
    return value.tolist() if value.dtype.kind == "U" else value
