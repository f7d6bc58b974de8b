"""Simulations of some members, stored by their jobs and read again bit for bit."""

from dataclasses import fields

import numpy as np

from darkspell.core.atomic_files import replacing
from darkspell.simulation.run import Simulation
from darkspell.statistics.histogram import SocHistogram


def save_part(path, simulation):
    """Store a simulation of some members as an .npz file.

    Parameters
    ----------
    path : path-like
    simulation : darkspell.simulation.run.Simulation
    """
    arrays = {}
    for field in fields(simulation):
        arrays |= _flat(field.name, getattr(simulation, field.name))
    with replacing(path) as temporary:
        np.savez(temporary, **arrays)


def load_part(path):
    """Read what `save_part` stored.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    darkspell.simulation.run.Simulation
    """
    tree = {}
    with np.load(path, allow_pickle=False) as stored:
        for name in stored.files:
            *above, last = name.split("/")
            place = tree
            for key in above:
                place = place.setdefault(key, {})
            if last:
                place[last] = stored[name]
    for name in ("soc_true", "soc_reported"):
        histogram = SocHistogram()
        histogram.counts[:] = tree[name]
        tree[name] = histogram
    return Simulation(**tree)


def _flat(name, value):
    if isinstance(value, SocHistogram):
        return {name: value.counts}
    if not isinstance(value, dict):
        return {name: value}
    flat = {f"{name}/": np.empty(0)}  # keeps a mapping that is empty
    for key, inner in value.items():
        flat |= _flat(f"{name}/{key}", inner)
    return flat
