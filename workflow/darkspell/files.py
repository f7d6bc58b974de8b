"""Files in and out: whole or not at all, and the stored sites."""

import json
import os
from contextlib import contextmanager
from dataclasses import fields
from hashlib import sha256
from pathlib import Path
from tempfile import mkstemp

import numpy as np

# What of an array decides how the light falls on it.
LIGHT_KEYS = (
    "tilt_deg", "azimuth_deg", "tilt_from", "turns", "soiling_pct", "shades", "shade_groups", "shade_wiring",
)  # fmt: skip


@contextmanager
def replacing(path):
    """Path of a temporary file that takes the place of `path` once the block ends without an error.

    A process that dies, or that outlives its parent and goes on writing, leaves the old file whole.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = mkstemp(prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
        with open(name, "rb") as written:
            os.fsync(written.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def write_text(path, text):
    """Write a text file whole, UTF-8."""
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def write_json(path, value):
    """Write a JSON file whole, keys in the order given."""
    write_text(path, json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n")


def write_table(path, table):
    """Write a pandas table whole as CSV, numbers in six significant digits."""
    with replacing(path) as temporary:
        table.to_csv(temporary, index=False, float_format="%.6g", lineterminator="\n")


def file_hash(path):
    """SHA-256 of a file's contents, 64 hexadecimal digits."""
    return sha256(Path(path).read_bytes()).hexdigest()


def site_key(study):
    """Name of a study's site among those stored: place, climate and planes, nothing else."""
    planes = [[array[name] for name in LIGHT_KEYS] for array in study.resolved()["arrays"].values()]
    text = f"{study.subtree_hash('site', 'climate')} {json.dumps(planes)}"
    return sha256(text.encode()).hexdigest()[:12]


def save_sites(path, sites):
    """Store climates and skies by key.

    Parameters
    ----------
    path : path-like
        An .npz file.
    sites : dict
        ``{key: (SiteClimate, SiteSky)}``.
    """
    arrays = {}
    for key, parts in sites.items():
        for part, name in zip(parts, ("climate", "sky"), strict=True):
            for field in fields(part):
                arrays[f"{key}/{name}/{field.name}"] = np.asarray(getattr(part, field.name))
    with replacing(path) as temporary:
        np.savez(temporary, **arrays)


def load_site(path, key):
    """Climate and sky of one stored site."""
    from darkspell.climate.model import SiteClimate
    from darkspell.sky.geometry import SiteSky

    with np.load(path, allow_pickle=False) as stored:
        return tuple(
            kind(**{f.name: _plain(stored[f"{key}/{name}/{f.name}"]) for f in fields(kind)})
            for kind, name in ((SiteClimate, "climate"), (SiteSky, "sky"))
        )


def _plain(value):
    """Arrays as they are, single numbers and texts as Python's own, lists of texts as lists."""
    if value.ndim == 0:
        return value.item()
    return value.tolist() if value.dtype.kind == "U" else value
