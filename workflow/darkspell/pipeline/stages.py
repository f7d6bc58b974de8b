"""What the pipeline knows of studies: where they lie, and what makes each of their results stale."""

from functools import cache
from pathlib import Path
from typing import NamedTuple

from darkspell.core.errors import StudyError
from darkspell.pipeline.dependencies import stage_hash
from darkspell.study import Study
from darkspell.study.loader import load_all
from darkspell.study.study_files import MARK, split_name
from darkspell.study.targets import YEARS_A_DRAW

MOST_MEMBERS = 100_000
SYSTEM = (
    "site", "itinerary", "system", "arrays", "controller", "chargers", "bank", "generator", "loads",
    "measured_loads", "inverter", "occupancy", "deferrable", "critical",
    "load_uncertainty_pct", "engine",
)  # fmt: skip
YEARS = (*SYSTEM, "climate", "monitors", "short_night_floor_wh")
# Stage: sections of the study that its result depends on. Its sources are computed, see `dependencies`.
SECTIONS = {
    "site": ("site", "climate", "itinerary", "arrays", "whatifs"),
    "members": YEARS,
    "measured_years": YEARS,
    "grid": (*SYSTEM, "climate", "short_night_floor_wh"),
    "sizing": ("target", "sizing", "bank"),
    "whatifs": (*YEARS, "whatifs"),
    "sweeps": ("sweeps",),
    "costs": (*SYSTEM, "climate", "sizing", "ageing", "whatifs"),
    "catalogue_designs": (*YEARS, "target", "sizing"),
    "remedies": (*YEARS, "target", "sizing", "ageing"),
    "sensitivity": (*YEARS, "target", "sensitivity"),
    "unattended": (*SYSTEM, "climate"),
    "saving": YEARS,
    "disconnects": YEARS,
    "ageing": (*SYSTEM, "climate", "short_night_floor_wh", "target", "ageing"),
    "provenance": ("document", "climate", "engine"),
    "figures": (
        "document.currency",
        "document.figure_style",
        "document.figure_pdfs",
        "document.language",
        "document.numbers",
        "document.units",
        "site",
        "bank",
        "target",
        "sizing",
    ),
    "proposal": ("document", "target", "sizing", "whatifs"),
}
# Stages that run more than the script of their own name.
SCRIPTS = {"members": ("members.py", "members_part.py")}


class Entry(NamedTuple):
    """A study and the file that it came from."""

    path: Path
    study: Study


def load_studies(paths, members=None):
    """Read the studies of one run.

    Parameters
    ----------
    paths : sequence of path-like
        Study files, also those that make several studies; or ``file.yaml::name``.
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
    for path in paths:
        try:
            studies = [with_members(study, members) for study in load_all(path)]
        except StudyError as fault:
            faults.append(str(fault))
            continue
        for study in studies:
            if study.name in entries:
                other = entries[study.name].path
                faults.append(f"{path}: its results would overwrite those of {other}; rename one of the two")
            entries[study.name] = Entry(split_name(path)[0], study)
    if faults:
        raise StudyError("\n".join(faults))
    return entries


def selector(entry):
    """What `load_studies` takes for this one study: its file, with the name where the file makes several.

    Parameters
    ----------
    entry : Entry

    Returns
    -------
    str
    """
    name = entry.study.name
    return str(entry.path) if name == entry.path.stem else f"{entry.path}{MARK}{name}"


def with_members(study, members):
    """The study with another number of simulated years.

    Parameters
    ----------
    study : darkspell.study.Study
    members : int or str or None
        None leaves the study as it is.

    Returns
    -------
    darkspell.study.Study

    Raises
    ------
    darkspell.core.errors.StudyError
        If the number is not whole, below 1 or above `MOST_MEMBERS`.
    """
    if members is None:
        return study
    if not str(members).isdigit() or not 1 <= int(members) <= MOST_MEMBERS:
        raise StudyError(
            f"members: {members!r} is not possible; give a whole number from 1 to {MOST_MEMBERS}"
        )
    draws = min(study.engine.parameter_draws, max(1, int(members) // YEARS_A_DRAW))
    engine = study.engine.model_copy(update={"members": int(members), "parameter_draws": draws})
    changed = study.model_copy(update={"engine": engine})
    given = {*study._given.get("engine", {}), "members", "parameter_draws"}
    changed._given = study._given | {"engine": engine.model_dump(include=given)}
    return changed


def stage_key(entry, stage):
    """Hash of the validated sections, sources and versions that a stage's result depends on.

    A change that leaves the key alone leaves the result valid: a new price simulates no year again.

    Parameters
    ----------
    entry : Entry
    stage : str
        One of `SECTIONS`.

    Returns
    -------
    str
    """
    study, scripts = entry.study, SCRIPTS.get(stage, (f"{stage}.py",))
    sizes = ""
    if stage == "grid":
        asked = study.sizing.array_wp, study.sizing.bank_ah, study.target.full_charge
        sizes, study = f"-{asked}-{study.ageing}", _of_any_capacity(study)
    return f"{study.subtree_hash(*SECTIONS[stage])}{sizes}-{stage_hash(*scripts)}-{library_versions()}"


def _of_any_capacity(study):
    """The study with another bank's size: its grid is the same, unless a current is stated for the size."""
    if study.bank.charge_current_max_a is not None:
        return study
    return study.model_copy(
        update={"bank": study.bank.model_copy(update={"capacity_ah": 1.0, "block_capacity_ah": None})}
    )


@cache
def library_versions():
    """Versions of the libraries that shape numbers, as one word."""
    from importlib.metadata import version

    return "-".join(version(name) for name in ("numpy", "numba", "pvlib", "scipy"))
