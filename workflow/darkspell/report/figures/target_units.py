"""A target on the share of hours in the unit that the documents use: hours in 1000 hours."""

from dataclasses import replace

from darkspell.statistics.registry import TARGETS, TargetWords

SCALE = 1000.0
WORDS = TARGETS | {
    "lolp": TargetWords(
        "hours without essential power",
        "in 1000 hours",
        "hours in 1000 hours without essential power",
        "lolh",
    )
}


def per_thousand(results):
    """Results with a target on the loss-of-load probability, its figures and its limit times 1000; else as they are.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.results.Results
    """
    study = results.study
    if study.target.statistic != "lolp":
        return results
    columns = [name for name in results.sizing if name.startswith("lolp")]
    sizing = results.sizing.assign(**{name: SCALE * results.sizing[name] for name in columns})
    numbers = ("value", "mean", "place_low", "place_high", "simulation_low", "simulation_high")
    entry = results.summary["lolp"]
    scaled = {key: None if entry.get(key) is None else SCALE * entry[key] for key in numbers}
    target = study.target.model_copy(update={"at_most": SCALE * study.target.at_most})
    return replace(
        results,
        sizing=sizing,
        summary=results.summary | {"lolp": entry | scaled},
        study=study.model_copy(update={"target": target}),
    )
