"""Write a copy of a study with the recommended design, so that its next run describes what is offered."""

import json
from math import ceil
from pathlib import Path

import yaml

from darkspell.core.atomic_files import write_text
from darkspell.core.errors import StudyError
from darkspell.report.results import read_table
from darkspell.study import load_study
from darkspell.study.study_files import EXTENDS, MARK

ROUNDING = 1e-6  # of a module or a block
STRINGS = ("bank", "strings_in_parallel")
NONE_MEETS = "No size compared meets the target; widen sizing or change the target"


def adopt(path, results="results", out=None):
    """Write the copy and print its name.

    Parameters
    ----------
    path : path-like
        Study file, run before.
    results : path-like
        Folder of the results.
    out : path-like, optional
        File to write; by default the study's name with ``_recommended``, in its folder.

    Returns
    -------
    int
        Exit code 0.

    Raises
    ------
    StudyError
        Where the study was not run, no size meets the target, or the file exists.
    """
    if MARK in str(path):
        raise StudyError(f"{path}: is one of several studies of a file; adopt takes a file of one study")
    path = Path(path)
    study = load_study(path)
    array_wp, bank_ah, pieces = recommended(study, Path(results))
    out = Path(out) if out else path.with_name(f"{path.stem}_recommended{path.suffix}")
    if out.exists():
        raise StudyError(f"{out}: exists already; remove it, or name another file with --out")
    sized = with_size if len(study.files) == 1 else as_difference
    text = sized(path.read_text(encoding="utf-8-sig"), study, array_wp, bank_ah, pieces)
    write_text(out, text)
    made = load_study(out)
    print(
        f"{out} is written with {made.array_wp:g} Wp and {made.bank.capacity_ah:g} Ah. Next: darkspell run {out}"
    )
    if _meets(study, Path(results)):
        print(
            "The study's own size meets the target, so page 1 recommends it; this is the cheapest that does."
        )
    return 0


def recommended(study, results):
    """Cheapest design that meets the target: whole pieces of the catalogue where there are any, else a size.

    Page 1 recommends it unless the study's own design meets the target.

    Parameters
    ----------
    study : darkspell.study.Study
    results : path-like
        Folder of the results.

    Returns
    -------
    tuple
        As `recommended_pieces`.

    Raises
    ------
    darkspell.core.errors.StudyError
        As `recommended_size`.
    """
    return recommended_pieces(study, results) or (*recommended_size(study, results), {})


def offered(path, study, results):
    """What to do where another design than the study's is recommended, or cheaper; str, empty where it is the same.

    Parameters
    ----------
    path : str
        Study file.
    study : darkspell.study.Study
    results : path-like
        Folder of the results.
    """
    try:
        array_wp, bank_ah, _ = recommended(study, Path(results))
    except StudyError:
        compared = (Path(results) / study.name / "sizing.csv").is_file()
        return NONE_MEETS if compared and not _meets(study, Path(results)) else ""
    own_wp, own_ah = study.array_wp, study.bank.capacity_ah
    if max(abs(array_wp - own_wp), abs(bank_ah - own_ah)) <= 0.5:  # as printed
        return ""
    asked, better = (f"{wp:,.0f} Wp and {ah:,.0f} Ah" for wp, ah in ((own_wp, own_ah), (array_wp, bank_ah)))
    words = f"The study has {asked}; recommended are {better}"
    if _meets(study, Path(results)):
        words = f"The study's {asked} meet the target; the cheapest size that does is {better}"
    return words if MARK in str(path) else f"{words}. To take them over: darkspell adopt {path}"


def _meets(study, results):
    """Whether the study's own design meets its target with the chance asked for: page 1 then recommends it."""
    try:
        summary = json.loads((results / study.name / "summary.json").read_text(encoding="utf-8"))
        return summary["probability_met"]["value"] >= study.target.chance_pct / 100.0
    except (OSError, ValueError, KeyError):
        return False


def recommended_size(study, results):
    """Size of the design that sizing.csv marks as chosen.

    Parameters
    ----------
    study : darkspell.study.Study
    results : path-like
        Folder of the results.

    Returns
    -------
    array_wp, bank_ah : float
        Rated power [Wp] and capacity [Ah].

    Raises
    ------
    darkspell.core.errors.StudyError
        If the study was not run, or no size compared meets its target.
    """
    table_path = results / study.name / "sizing.csv"
    if not table_path.is_file():
        raise StudyError(f"{study.name}: {table_path} is not there; run the study first, by darkspell run")
    table = read_table(table_path)
    chosen = table[table["chosen"].astype(bool)] if len(table) else table
    if not len(chosen):
        raise StudyError(f"{study.name}: {NONE_MEETS[0].lower()}{NONE_MEETS[1:]}")
    return float(chosen.iloc[0].array_wp), float(chosen.iloc[0].bank_ah)


def recommended_pieces(study, results):
    """Sizes, tilt, azimuth and controller of the whole pieces that page 1 recommends; None where there are none.

    Parameters
    ----------
    study : darkspell.study.Study
    results : path-like
        Folder of the results.

    Returns
    -------
    array_wp, bank_ah : float
        Rated power [Wp] and capacity [Ah].
    pieces : dict
        Further keys, as tuples, and their values.
    """
    table_path = results / study.name / "catalogue_designs.csv"
    if study.sizing.catalogue is None or not table_path.is_file():
        return None
    table = read_table(table_path)
    chosen = table[table["place"] == "chosen"] if len(table) else table
    if not len(chosen):
        return None
    row, pieces = chosen.iloc[0], {}
    for key in ("tilt_deg", "azimuth_deg"):
        if row[key] == row[key]:
            pieces |= {("arrays", name, key): float(row[key]) for name in study.arrays}
    controller = study.sizing.catalogue.controllers.get(row["controller"])
    if controller is not None:
        pieces[("controller", "current_limit_a")] = controller.current_limit_a
    return float(row["array_wp"]), float(row["bank_ah"]), pieces


def as_difference(text, study, array_wp, bank_ah, pieces=None):
    """A study file that extends one which itself extends another: only sizes and pieces are in it; see `with_size`.

    Parameters
    ----------
    text, study, array_wp, bank_ah, pieces
        As for `with_size`; the text is not used.

    Returns
    -------
    str
    """
    factor = array_wp / study.array_wp
    lines = [f"{EXTENDS}: {study.files[0].name}"]
    sizes = _array_sizes(study, factor) | _bank_sizes(study, bank_ah)
    lines += [f"{'.'.join(key)}: {value:.6g}" for key, value in sizes.items()]
    lines += [f"{'.'.join(key)}: {value:g}" for key, value in (pieces or {}).items()]
    return "\n".join([*lines, ""])


def with_size(text, study, array_wp, bank_ah, pieces=None):
    """The text of a study with other sizes; every other letter stays, comments included.

    Parameters
    ----------
    text : str
        The study file.
    study : darkspell.study.Study
        The study that it holds.
    array_wp : float
        Rated power of all arrays together [Wp]; each array keeps its share and the controller's current limit grows
        with the array, as in the grid of sizes.
    bank_ah : float
        Rated capacity of the bank [Ah].
    pieces : dict, optional
        Further keys, as tuples, and their values, from `recommended_pieces`.

    Returns
    -------
    str

    Raises
    ------
    StudyError
        Where the file gives a size in a form that is not a plain number.
    """
    factor = array_wp / study.array_wp
    new = _array_sizes(study, factor) | _bank_sizes(study, bank_ah)
    limit = study.controller.current_limit_a
    if limit is not None and not any(array.own_controller for array in study.arrays.values()):
        new[("controller", "current_limit_a")] = limit * factor  # as in the grid of sizes
    new |= pieces or {}
    if STRINGS in new:
        text = _with_strings(text)
    places = dict(_scalars(yaml.compose(text)))
    missing = [".".join(key) for key in new if key not in places]
    if missing:
        raise StudyError(f"{missing[0]}: is no plain number in the file; change the sizes by hand")
    for key, value in sorted(new.items(), key=lambda item: -places[item[0]][0]):
        begin, end = places[key]
        text = f"{text[:begin]}{float(f'{value:.6g}'):g}{text[end:]}"
    return text


def _array_sizes(study, factor):
    """Key and value of each array's size: its power, or whole modules where it is counted in them, rounded up."""
    sizes = {}
    for name, array in study.arrays.items():
        power = array.power_wp * factor
        if array.modules is not None and array.module_wp is not None:
            sizes[("arrays", name, "modules")] = ceil(power / array.module_wp - ROUNDING)
        else:
            sizes[("arrays", name, "power_wp")] = power
    return sizes


def _bank_sizes(study, bank_ah):
    """Key and value of the bank's size: whole strings of blocks, rounded up; currents grow with it."""
    bank, sizes = study.bank, {}
    if bank.block_capacity_ah is not None:
        sizes[STRINGS] = ceil(bank_ah / bank.block_capacity_ah - ROUNDING)
        bank_ah = sizes[STRINGS] * bank.block_capacity_ah
    sizes[("bank", "capacity_ah")] = bank_ah
    for key in ("charge_current_max_a", "discharge_current_max_a"):
        amps = getattr(bank, key)
        if amps is not None:
            sizes[("bank", key)] = amps * bank_ah / bank.capacity_ah  # as in the grid of sizes
    return sizes


def _with_strings(text):
    """The text with the number of strings in it, before the capacity of a block, if the file leaves it out."""
    bank = dict(_scalars(yaml.compose(text)))
    if STRINGS in bank:
        return text
    for section, node in yaml.compose(text).value:
        for key, _ in node.value if section.value == "bank" else ():
            if key.value == "block_capacity_ah":
                after = ", " if node.flow_style else "\n" + " " * key.start_mark.column
                at = key.start_mark.index
                return f"{text[:at]}{STRINGS[1]}: 1{after}{text[at:]}"
    return text


def _scalars(node, path=()):
    """Keys of a composed file with the first and last place of their values in the text."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _scalars(value, (*path, key.value))
    elif isinstance(node, yaml.ScalarNode):
        yield path, (node.start_mark.index, node.end_mark.index)
