"""What the pipeline knows of studies: where they lie, and what makes each of their results stale."""

from pathlib import Path
from typing import NamedTuple

from darkspell.core.errors import StudyError
from darkspell.core.jit_cache import source_hash
from darkspell.study import Study, load_study

MOST_MEMBERS = 100_000
SYSTEM = (
    "site", "itinerary", "system", "arrays", "controller", "chargers", "bank", "generator", "loads",
    "measured_loads", "inverter", "occupancy", "deferrable", "load_uncertainty_pct", "engine",
)  # fmt: skip
WEATHER_ROOMS = ("core", "climate", "weather")
RUN_ROOMS = (
    *WEATHER_ROOMS, "pv", "chemistry", "bank", "chargers", "loads", "study", "statistics", "report/tables",
    "simulation",
)  # fmt: skip
# Stage: sections of the study that its result depends on, and rooms of the package.
STAGES = {
    "site": (("site", "climate", "itinerary", "arrays", "whatifs"), WEATHER_ROOMS),
    "members": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh"),
        (
            *RUN_ROOMS,
            "monitor",
        ),
    ),
    "measured_years": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh"),
        (*RUN_ROOMS, "monitor", "weather"),
    ),
    "grid": (
        (*SYSTEM, "climate", "short_night_floor_wh"),
        (*RUN_ROOMS, "design/grid.py", "design/grid_costs.py"),
    ),
    "sizing": (("target", "sizing"), ("design/grid_costs.py",)),
    "whatifs": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh", "whatifs"),
        (
            *RUN_ROOMS,
            "monitor",
            "design/whatif_runner.py",
        ),
    ),
    "catalogue_designs": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh", "target", "sizing"),
        (*RUN_ROOMS, "monitor", "design"),
    ),
    "remedies": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh", "target", "sizing"),
        (*RUN_ROOMS, "monitor", "design"),
    ),
    "sensitivity": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh", "target", "sensitivity"),
        (*RUN_ROOMS, "monitor", "design"),
    ),
    "unattended": (
        (*SYSTEM, "climate"),
        (*RUN_ROOMS,),
    ),
    "saving": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh"),
        (
            *RUN_ROOMS,
            "monitor",
        ),
    ),
    "disconnects": (
        (*SYSTEM, "climate", "monitors", "short_night_floor_wh"),
        (
            *RUN_ROOMS,
            "monitor",
        ),
    ),
    "ageing": (
        (*SYSTEM, "climate", "short_night_floor_wh", "target", "ageing"),
        RUN_ROOMS,
    ),
    "provenance": (("document", "climate", "engine"), ("core", "pipeline/provenance.py")),
    "figures": (("document", "site", "bank", "target", "sizing"), ("report/figures", "report/tables")),
    "proposal": (("document", "target", "sizing", "whatifs"), ("report", "hand_check")),
}


class Entry(NamedTuple):
    """A study and the file that it came from."""

    path: Path
    study: Study


def load_studies(paths, members=None):
    """Read the studies of one run.

    Parameters
    ----------
    paths : sequence of path-like
    members : int, optional
        Synthetic years in place of each study's own.

    Returns
    -------
    dict
        ``{name: Entry}``.

    Raises
    ------
    darkspell.core.errors.StudyError
        With the faults of all of them, or where two files give their studies one name.
    """
    entries, faults = {}, []
    for path in map(Path, paths):
        try:
            study = with_members(load_study(path), members)
        except StudyError as fault:
            faults.append(str(fault))
            continue
        if study.name in entries:
            other = entries[study.name].path
            faults.append(f"{path}: its results would overwrite those of {other}; rename one of the two")
        entries[study.name] = Entry(path, study)
    if faults:
        raise StudyError("\n".join(faults))
    return entries


def with_members(study, members):
    """The study with another number of synthetic years; as it is where `members` is None."""
    if members is None:
        return study
    if not str(members).isdigit() or not 1 <= int(members) <= MOST_MEMBERS:
        raise StudyError(
            f"members: {members!r} is not possible; give a whole number from 1 to {MOST_MEMBERS}"
        )
    engine = study.engine.model_copy(update={"members": int(members)})
    changed = study.model_copy(update={"engine": engine})
    changed._given = study._given | {"engine": {**study._given.get("engine", {}), "members": int(members)}}
    return changed


def stage_key(entry, stage):
    """Hash of the validated sections, sources and versions that a stage's result depends on.

    A change that leaves the key alone leaves the result standing: a price runs no year again.
    """
    sections, rooms = STAGES[stage]
    study = entry.study
    asked = study.sizing.array_wp, study.sizing.bank_ah, study.target.full_charge
    sizes = f"-{asked}" if stage == "grid" else ""
    return f"{study.subtree_hash(*sections)}{sizes}-{source_hash(*rooms)}-{library_versions()}"


def library_versions():
    """Versions of the libraries that shape numbers, as one word."""
    from importlib.metadata import version

    return "-".join(version(name) for name in ("numpy", "numba", "pvlib", "scipy"))
