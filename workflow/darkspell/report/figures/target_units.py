"""A target on the share of hours in the unit that the documents use: hours in 1000 hours."""

from dataclasses import replace

from darkspell.core.messages import N_
from darkspell.report.figures.number_format import target_in_words, translated_words
from darkspell.statistics.registry import TargetWords

SCALE = 1000.0
PER_THOUSAND = TargetWords(
    N_("hours without essential power"),
    N_("in 1000 hours"),
    N_("hours in 1000 hours without essential power"),
    "lolh",
)


def said(statistic):
    """Words of a target's statistic in the document's language, as in `target_in_words`; of hours in 1000 hours.

    Parameters
    ----------
    statistic : str
        Key of the target.

    Returns
    -------
    darkspell.statistics.registry.TargetWords
    """
    return translated_words(PER_THOUSAND) if statistic == "lolp" else target_in_words(statistic)


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
