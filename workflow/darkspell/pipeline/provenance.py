"""The record of a study: what went in, which code and constants made it, and where these come from."""

import platform
from importlib.metadata import version

from darkspell import __version__
from darkspell.climate.data_files import FILES, data_file
from darkspell.core.atomic_files import file_hash
from darkspell.core.constants import sources
from darkspell.core.jit_cache import source_hash
from darkspell.study.files import weather_inputs

LIBRARIES = ("numpy", "numba", "scipy", "pandas", "pvlib", "xarray", "matplotlib", "snakemake")


def provenance(path, study):
    """Record of one study.

    Parameters
    ----------
    path : pathlib.Path
        The study file.
    study : darkspell.study.Study

    Returns
    -------
    dict
        JSON-able: ``inputs`` (SHA-256 by name), ``engine``, ``versions``, ``sources`` of all constants, and
        the ``study`` with every default filled.
    """
    inputs = {file.name: file_hash(file) for file in study.files or [path]}
    inputs |= {name: file_hash(weather) for name, weather in weather_inputs(study).items()}
    inputs |= {name: file_hash(data_file(name)) for name in FILES}
    return {
        "study": study.name,
        "inputs": inputs,
        "engine": study.engine.model_dump(),
        "versions": {
            "darkspell": __version__,
            "sources": source_hash(),
            "python": platform.python_version(),
            **{name: version(name) for name in LIBRARIES},
        },
        "resolved": study.resolved(),
        "constants": sources(),
    }
