"""What each part of the physics, and each range of a bank constant, does to the answer of some studies.

``python -m dev.physics_effects [--ranges] config/*.yaml`` runs every study on 100 members, then again with one part
switched off, or one constant at either end of its range, on the same draws. Printed are hours of loss of load and
short nights a year, the share of years that lose anything, days with a full charge in the year and in the three
months with the fewest, and the longest time between full charges [days].
"""

import argparse
from contextlib import contextmanager

import numpy as np

from darkspell import api
from darkspell.chemistry.numbers import efficiency_fall
from darkspell.core.constants import table
from darkspell.simulation.run import simulate

MEMBERS = 100
COLUMNS = ("h/year", "short nights", "years %", "full days", "dull months", "longest gap")
OLD_DIM_LIGHT_PCT = 92.3  # efficiency at 200 W/m2 of the coefficient set used before

BANK_UNKNOWN = "bank.capacity_uncertainty_pct", "bank.property_uncertainty_pct"


@contextmanager
def constants(**values):
    """Constants of bank or array at other values while the block runs; ``section__name=value``."""
    rooms = table("bank") | table("pv")
    entries = {key: rooms[key.split("__")[0]][key.split("__")[1]] for key in values}
    before = {key: entry["value"] for key, entry in entries.items()}
    try:
        for key, value in values.items():
            entries[key]["value"] = value
        efficiency_fall.cache_clear()
        yield
    finally:
        for key, entry in entries.items():
            entry["value"] = before[key]
        efficiency_fall.cache_clear()


def result(study, years, **values):
    """Means of the columns printed.

    Parameters
    ----------
    study : darkspell.study.Study
    years : int
    **values
        As `constants` takes them.

    Returns
    -------
    tuple of float
        As `COLUMNS`.
    """
    with constants(**values):
        found = simulate(api._system(study, years), autonomy=False, workers=2)
    members, full = found.members, found.months["days_with_full_charge"].mean(axis=0)
    return (
        float(members["lolh"].mean()), float(members["short_nights"].mean()),
        100.0 * float((members["lolh"] > 0.0).mean()), float(full.sum()), float(np.sort(full)[:3].sum()),
        float(members["longest_full_charge_interval_days"].mean()),
    )  # fmt: skip


def parts_switched_off(study):
    """Parts of the physics that a study has: name, changed study, changed constants.

    Parameters
    ----------
    study : darkspell.study.Study

    Yields
    ------
    tuple of (str, darkspell.study.Study, dict)
    """
    arrays, chemistry = study.arrays, study.bank.chemistry
    dim = {f"arrays.{name}.efficiency_200_pct": OLD_DIM_LIGHT_PCT for name in arrays}
    yield "older efficiency in dim light", study.with_changes(dim), {}
    yield "no reflection", study.with_changes({f"arrays.{n}.glass": "none" for n in arrays}), {}
    yield "constant controller efficiency", _constant_efficiency(study), {}
    yield "no peaks within the hour", study, {"minutes__height": 0.0}
    yield "no cable losses", study.with_changes({"system.cable_resistance_mohm": 0.0}), {}
    if study.climate.source == "typical_year":
        yield "wind of 1 m/s", study.with_changes({"site.wind_m_s": 1.0}), {}
    yield "bank known", study.with_changes(dict.fromkeys(BANK_UNKNOWN, 0.0)), {}
    if table("bank")[chemistry]["taper_cold_per_k"]["value"]:
        yield "no slower charge in the cold", study, {f"{chemistry}__taper_cold_per_k": 0.0}


def _constant_efficiency(study):
    """The study with controllers whose efficiency is that at half power at any load."""
    owns = ((f"arrays.{name}.own_controller", array.own_controller) for name, array in study.arrays.items())
    changes = {}
    for key, one in [("controller", study.controller), *owns]:
        if one is not None and one.kind == "mppt":
            changes |= {f"{key}.efficiency_{at}_pct": one.efficiency_pct for at in ("full", "10")}
    return study.with_changes(changes)


def ranges(study):
    """Range of each constant of the study's bank; name, study, constants at an end.

    Parameters
    ----------
    study : darkspell.study.Study

    Yields
    ------
    tuple of (str, darkspell.study.Study, dict)
    """
    chemistry = study.bank.chemistry
    for name, entry in table("bank")[chemistry].items():
        for end in entry.get("range", ()):
            yield f"{name} = {end:g}", study, {f"{chemistry}__{name}": end}


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("studies", nargs="+")
    parser.add_argument("--ranges", action="store_true", help="ends of the ranges of the bank's constants")
    parser.add_argument("--members", type=int, default=MEMBERS, help="synthetic years")
    asked = parser.parse_args()
    print(f"{'study':14}{'changed':36}" + "".join(f"{name:>14}" for name in COLUMNS))
    for path in asked.studies:
        study = api.read_study(path)
        rows = [("as it is", study, {}), *(ranges if asked.ranges else parts_switched_off)(study)]
        for name, changed, values in rows:
            hours, nights, *rest = result(changed, asked.members, **values)
            shown = "".join(f"{value:14.1f}" for value in rest)
            print(f"{study.name:14}{name:36}{hours:14.2f}{nights:14.3f}{shown}", flush=True)


if __name__ == "__main__":
    main()
