"""What-ifs: the same members meet a changed system; each difference with its interval at this site."""

import json

from darkspell.statistics.registry import COMPARED_KEYS, CRITICAL_KEYS, mean_units

COMPARED = mean_units(COMPARED_KEYS)
OCCASIONAL = mean_units(
    ("generator_h", "fuel_l", *CRITICAL_KEYS)
)  # where either has a generator, or loses such load

COLUMNS = (
    "whatif", "changes", "statistic", "unit", "study_value", "whatif_value", "difference", "low", "high",
    "simulation_low", "simulation_high", "study_mean", "whatif_mean", "point", "verdict", "years", "level",
)  # fmt: skip


def compare(name, changes, base, other, parameter_draw, seed, level=0.95):
    """Rows of one what-if and its study.

    Parameters
    ----------
    name : str
    changes : dict
        Dotted key to value.
    base, other : mappings of float arrays [members]
        Statistics of `COMPARED` and `OCCASIONAL` by member, of the study and of the what-if, on the same draws.
    parameter_draw : int array [members]
    seed : int
    level : float
        Confidence level of the intervals [-].

    Returns
    -------
    list of dict
        `COLUMNS`. ``study_value``, ``whatif_value`` and ``difference`` are best guesses: of losses the median over
        parameter draws, else the mean of years (``point`` says which). ``low`` and ``high`` bound the difference
        at this site, ``simulation_low`` and ``simulation_high`` by sampling error alone. The verdict is "real"
        where the site's interval leaves out zero.
    """
    import numpy as np

    from darkspell.statistics.intervals import verdict
    from darkspell.statistics.site_difference import site_difference

    rows, demand = [], float(np.mean(base["demand_kwh"]))
    for statistic, unit in (COMPARED | OCCASIONAL).items():
        a, b = (np.asarray(values[statistic], float) for values in (base, other))
        if statistic in OCCASIONAL and not (a.any() or b.any()):
            continue
        found = site_difference(a, b, parameter_draw, statistic, demand, level, seed)
        words = (name, json.dumps(changes, ensure_ascii=False), statistic, unit)
        numbers = (
            found.study_value, found.study_value + found.value, found.value, found.low, found.high,
            found.simulation_low, found.simulation_high, found.study_mean, found.study_mean + found.mean,
        )  # fmt: skip
        ends = (found.point, verdict(found.low, found.high), len(parameter_draw), round(level, 6))
        rows.append(dict(zip(COLUMNS, (*words, *numbers, *ends), strict=True)))
    return rows
