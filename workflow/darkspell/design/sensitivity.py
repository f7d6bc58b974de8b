"""Which inputs move the answer: elementary effects (Morris), on common draws.

From starting points drawn over the whole ranges each input is moved by itself; the mean size of what that does,
scaled to the input's full range, ranks the inputs, and its scatter tells how far the effect hangs on the others
(M. D. Morris, Technometrics 33 (1991) 161-174; F. Campolongo et al., Environ. Model. Softw. 22 (2007) 1509-1518).
"""

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.design.whatif_runner import run_studies
from darkspell.simulation.system import build_system

LEVELS = 4  # grid levels of Morris (1991)
COLUMNS = (
    "input", "key", "kind", "from", "to", "statistic", "effect", "effect_low", "effect_high", "mean_effect",
    "scatter", "share_pct",
)  # fmt: skip


def sensitivity(study, values):
    """Rank the inputs of a study's ``sensitivity`` section; rows of `COLUMNS`, the strongest first.

    Parameters
    ----------
    study : darkspell.study.Study
    values : float array [points]
        From `point_values`, of all `points_of` the study.

    Returns
    -------
    list of dict
        ``effect``: mean absolute change of the statistic when the input goes through its whole range, with
        its 95 % interval over starting points; ``mean_effect``: the same with its sign; ``scatter``: standard
        deviation over starting points; ``share_pct``: of the sum of all effects.
    """
    analyze = _library("analyze").analyze
    asked, seed = study.sensitivity, study.engine.seed % 2**32
    problem, points = _problem(asked), points_of(study)
    found = analyze(problem, points, values, num_levels=LEVELS, seed=seed)
    total = float(np.sum(found["mu_star"])) or 1.0
    rows = []
    for place, (name, one) in enumerate(asked.inputs.items()):
        strength, half_width = float(found["mu_star"][place]), float(found["mu_star_conf"][place])
        numbers = (
            strength, max(strength - half_width, 0.0), strength + half_width, float(found["mu"][place]),
            float(found["sigma"][place]), 100.0 * strength / total,
        )  # fmt: skip
        told = (name, one.key, one.kind, one.low, one.high, asked.statistic)
        rows.append(dict(zip(COLUMNS, (*told, *numbers), strict=True)))
    return sorted(rows, key=lambda row: (-row["effect"], row["input"]))


def points_of(study):
    """Points at which the inputs are tried; the same for the same seed.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float64 array [trajectories x (inputs + 1), inputs]
    """
    asked = study.sensitivity
    sample = _library("sample").sample
    return sample(_problem(asked), N=asked.trajectories, num_levels=LEVELS, seed=study.engine.seed % 2**32)


def point_values(system, site_of, points, workers=None, tell=None):
    """Mean of the statistic at some points.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    site_of : callable
        From a study to ``(climate, sky)``.
    points : float array [points, inputs]
        All `points_of` the study, or some of them.
    workers, tell
        As in `darkspell.core.batches.over_batches`.

    Returns
    -------
    float64 array [points]
        Keys that take whole numbers get whole numbers.
    """
    study = system.study
    asked = study.sensitivity
    engine = study.engine.model_copy(update={"members": asked.members})
    means = np.empty(len(points))
    for place, point in enumerate(points):
        changes = {
            one.key: float(np.round(value, 9))
            for one, value in zip(asked.inputs.values(), point, strict=True)
        }
        changed = study.with_changes(changes).model_copy(update={"engine": engine})
        result = run_studies([build_system(changed, *site_of(changed))], 0, asked.members, workers)[0]
        means[place] = np.mean(result[asked.statistic])
        if tell:
            tell((place + 1) / len(points))
    return means


def _problem(asked):
    bounds = [[one.low, one.high] for one in asked.inputs.values()]
    return {"num_vars": len(bounds), "names": list(asked.inputs), "bounds": bounds}


def _library(step):
    from importlib import import_module

    try:
        return import_module(f"SALib.{step}.morris")
    except ModuleNotFoundError:
        raise StudyError(
            "sensitivity: needs the library SALib; install it with: pip install 'darkspell[sensitivity]'"
        ) from None
