"""What-ifs: the same members meet a changed system; each difference with its interval."""

import json

from darkspell.statistics.bounded_means import event_size
from darkspell.statistics.registry import COMPARED_KEYS, mean_units

COMPARED = mean_units(COMPARED_KEYS)
GENERATOR = mean_units(("generator_h", "fuel_l"))  # where either has one that runs

COLUMNS = (
    "whatif", "changes", "statistic", "unit", "study_value", "whatif_value", "difference", "low", "high",
    "verdict", "years", "level",
)  # fmt: skip


def compare(name, changes, base, other, parameter_draw, seed, level=0.95):
    """Rows of one what-if beside its study.

    Parameters
    ----------
    name : str
    changes : dict
        Dotted key to value.
    base, other : mappings of float arrays [members]
        Statistics of `COMPARED` and `GENERATOR` by member, of the study and of the what-if, on the same draws.
    parameter_draw : int array [members]
    seed : int
    level : float
        Confidence level of the intervals [-].

    Returns
    -------
    list of dict
        Whatif, changes, statistic, unit, study_value, whatif_value, difference, low, high, verdict, years, level.
    """
    import numpy as np

    from darkspell.statistics.intervals import difference_interval, verdict

    rows = []
    for statistic, unit in (COMPARED | GENERATOR).items():
        a, b = (np.asarray(values[statistic], float) for values in (base, other))
        if statistic in GENERATOR and not (a.any() or b.any()):
            continue
        size = event_size(statistic, np.mean(base["demand_kwh"]))
        low, high = difference_interval(a, b, parameter_draw, level, seed, size)
        words = (name, json.dumps(changes, ensure_ascii=False), statistic, unit)
        numbers = (a.mean(), b.mean(), (b - a).mean(), low, high)
        rows.append(
            dict(
                zip(
                    COLUMNS,
                    (*words, *numbers, verdict(low, high), len(parameter_draw), round(level, 6)),
                    strict=True,
                )
            )
        )
    return rows
