"""Files in and out: whole or not at all, and the stored sites."""

import json
import os
from contextlib import contextmanager
from dataclasses import fields
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from tempfile import mkstemp

import numpy as np

# What of an array decides how the light falls on it.
LIGHT_KEYS = (
    "tilt_deg", "azimuth_deg", "tilt_by_date", "any_heading", "soiling_pct", "shades", "shade_groups", "shade_wiring",
)  # fmt: skip
HALF_MADE = ".half-made-"


@contextmanager
def replacing(path):
    """Path of a temporary file that takes the place of `path` once the block ends without an error.

    A process that dies, or that outlives its parent and goes on writing, leaves the old file whole.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = mkstemp(prefix=f"{HALF_MADE}{path.stem}-", suffix=path.suffix, dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
        with open(name, "rb") as written:
            os.fsync(written.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def clear_half_made(folder):
    """Remove what processes that were killed in the middle of writing have left in a folder."""
    for path in list(Path(folder).rglob(f"{HALF_MADE}*")):
        rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)


def write_text(path, text):
    """Write a text file whole, UTF-8."""
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def write_bytes(path, content):
    """Write a binary file whole."""
    with replacing(path) as temporary:
        temporary.write_bytes(content)


def write_json(path, value):
    """Write a JSON file whole, keys in the order given."""
    write_text(path, json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n")


def write_table(path, table):
    """Write a pandas table whole as CSV, numbers in six significant digits."""
    with replacing(path) as temporary:
        table.to_csv(temporary, index=False, float_format="%.6g", lineterminator="\n")


def join_tables(paths):
    """The rows of CSV files one after another, every cell the text that it was; a pandas table."""
    import pandas as pd

    tables = [pd.read_csv(path, dtype=str, keep_default_na=False, na_values=[]) for path in paths]
    return pd.concat(tables, ignore_index=True)


def write_numbers(path, numbers):
    """Write an array whole, bit for bit, as .npy."""
    with replacing(path) as temporary:
        np.save(temporary, numbers)


def file_hash(path):
    """SHA-256 of a file's contents, 64 hexadecimal digits."""
    return sha256(Path(path).read_bytes()).hexdigest()


def site_key(study):
    """Name of a study's site among those stored: place, climate and planes, nothing else."""
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
    """Climate (a `darkspell.climate.itinerary.Route` where there is an itinerary) and sky of one stored site."""
    from darkspell.climate.itinerary import Route
    from darkspell.climate.site_climate import SiteClimate
    from darkspell.weather.solar_geometry import SiteSky

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
