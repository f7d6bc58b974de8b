"""The target in plain words, and whether the study's own design meets it."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report import wording as say

TRIAL_YEARS = 10  # with fewer no interval is claimed; common practice, no source
# Statistic of the target: what one of it is called in a sentence, and its column in whatifs.csv.
PHRASES = {
    "short_nights": ("nights a year without essential power", "short_nights"),
    "lolh": ("hours a year without essential power", "lolh"),
    "lolp": ("hours without essential power in 1000 hours", "lolh"),
    "eue_kwh": ("kilowatt-hours a year of demand not delivered", "eue_kwh"),
}
COUNTED = {"short_nights": "night", "lolh": "hour", "lolp": "hour", "eue_kwh": "kilowatt-hour"}
# What a further target of the study counts.
FURTHER = {
    "short_nights": "nights without essential power",
    "lolh": "hours without essential power",
    "lold": "days on which essential loads go dark",
    "eue_kwh": "kilowatt-hours not delivered",
    "eue_essential_kwh": "kilowatt-hours not delivered to essential loads",
    "events": "times that essential loads go dark",
    "longest_event_h": "hours of the longest dark time",
    "max_depth_true_pct": "deepest discharge of the bank in per cent",
    "max_depth_reported_pct": "deepest discharge on the monitor in per cent",
    "longest_full_charge_interval_days": "days of the longest wait for a full charge",
    "full_charges": "full charges",
    "days_with_full_charge": "days with a full charge",
    "equivalent_full_cycles": "full cycles' worth of charge drawn",
    "spilled_kwh": "kilowatt-hours that the array offered and nothing took",
    "array_kwh": "kilowatt-hours from the array",
    "generator_h": "hours of generator",
    "generator_starts": "starts of the generator",
    "generator_kwh": "kilowatt-hours from the generator",
    "fuel_l": "litres of fuel",
    "partial_charge_pct": "per cent of the year too long after a full charge",
    "autonomy_days": "days that a full bank lasts with the sun that comes",
    "dark_autonomy_days": "days that a full bank lasts without sun",
}

# Verdict of a design on its target, as a table says it.
MEETS, LIKELY, UNLIKELY, MISSES, UNSURE = "meets", "likely", "unlikely", "misses", "unsure"
JUDGED = {
    MEETS: "yes",
    LIKELY: "likely, less than asked",
    UNLIKELY: "unlikely",
    MISSES: "no",
    UNSURE: "not known",
}
SURE_MISS = 0.05  # chance below which a design misses its target; our choice


def scaled(statistic, *values):
    """Values of the target's statistic in the unit of its phrase.

    Parameters
    ----------
    statistic : str
        Key of the target.
    values : float
        In the unit of summary.json.
    """
    factor = 1000.0 if statistic == "lolp" else 1.0
    return tuple(value * factor for value in values)


def phrase(statistic):
    """What the target counts.

    Parameters
    ----------
    statistic : str
        Key of a statistic.
    """
    return PHRASES[statistic][0]


def target_words(target):
    """``at most 0.2 nights a year without essential power``.

    Parameters
    ----------
    target : darkspell.study.targets.Target

    Returns
    -------
    str
    """
    (value,) = scaled(target.statistic, target.at_most)
    often = ""
    if target.statistic == "short_nights" and 0 < value < 1:
        often = _(" (one night in {value} years)").format(value=say.in_words(say.two_digits(1 / value)))
    counted = phrase(target.statistic)
    if value == 1 and target.statistic in ("short_nights", "lolh"):
        counted = counted.replace("s a year", " a year", 1)
    again = (
        ""
        if target.full_charge is None
        else _(", and the bank {full_again_words}").format(
            full_again_words=full_again_words(target.full_charge)
        )
    )
    return _("at most {value:g} {counted}{often}, on average over many years{again}").format(
        value=value, counted=counted, often=often, again=again
    )


def full_again_words(again):
    """``full again within 14 days in 90 years of 100``.

    Parameters
    ----------
    again : darkspell.study.targets.FullCharge

    Returns
    -------
    str
    """
    return _("full again within {within_days:g} days in {years_pct:g} years of 100").format(
        within_days=again.within_days, years_pct=again.years_pct
    )


def full_again_figure(results):
    """Share of years in which the own design is full again in time [%]: value, low, high; None if not asked.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    again = results.study.target.full_charge
    if again is None:
        return None
    from darkspell.statistics.proportions import share_interval

    kept = (results.members["longest_full_charge_interval_days"] <= again.within_days).to_numpy(float)
    value = 100.0 * kept.mean()
    if results.years < TRIAL_YEARS:
        return value, float("nan"), float("nan")
    return value, *(
        100.0 * float(bound) for bound in share_interval(kept, results.members["parameter_draw"].to_numpy())
    )


def own_figure(results):
    """Target's statistic of the study's own design: value, low, high; None where it is not known.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    entry = results.summary.get(results.study.target.statistic)
    if not entry or entry["value"] is None:
        return None
    if results.years < TRIAL_YEARS:
        return scaled(results.study.target.statistic, entry["value"], float("nan"), float("nan"))
    low, high = (
        entry[key] if entry[key] is not None else float("nan") for key in ("place_low", "place_high")
    )
    return scaled(results.study.target.statistic, entry["value"], low, high)


def own_chance(results):
    """Probability that the site's long-run average meets the target with the study's own design [-].

    From summary.json where it is given there; else the share of parameter draws whose average over their years
    meets it, which still holds the sampling noise of those few years. NaN where neither is known.

    Parameters
    ----------
    results : results.Results
    """
    held = results.summary.get("probability_met")
    if held is not None:
        return float(held["value"] if isinstance(held, dict) else held)
    name, target = results.study.target.statistic, results.study.target.at_most
    if name not in results.members or results.years < TRIAL_YEARS:
        return np.nan
    return float((results.members.groupby("parameter_draw")[name].mean() <= target).mean())


def judged(chance, asked):
    """Verdict on a target by the chance that the site meets it.

    Parameters
    ----------
    chance : float
        Probability that the site's long-run average meets all targets [-]; NaN where it is not known.
    asked : float
        Chance asked for [-].

    Returns
    -------
    str
        `MEETS` with the chance asked for, `LIKELY` or `UNLIKELY` with less, `MISSES`, or `UNSURE`.
    """
    if chance != chance:
        return UNSURE
    if chance >= asked:
        return MEETS
    return LIKELY if chance >= 0.5 else UNLIKELY if chance >= SURE_MISS else MISSES


def verdict(results):
    """As `judged`, of the study's own design; None where its figure is not known.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    if own_figure(results) is None:
        return None
    target, again = results.study.target, full_again_figure(results)
    # The chance of summary.json is that of both halves together.
    if (
        "probability_met" not in results.summary
        and again is not None
        and again[0] < target.full_charge.years_pct
    ):
        return MISSES
    return judged(own_chance(results), target.chance_pct / 100.0)


def verdict_sentence(results):
    """Whether the design in this proposal meets the target, with its figure and interval.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    target, figure = results.study.target, own_figure(results)
    wanted = _("The target is {target_words}.").format(target_words=target_words(target))
    if figure is None:
        return _("{wanted} Whether this design meets it we do not know.").format(wanted=wanted)
    value, low, high = figure
    shown = say.rounded(*figure)
    known = f"{shown} {COUNTED[target.statistic]}{'' if shown == '1' else 's'}"
    known += _(" in 1000 hours") if target.statistic == "lolp" else _(" a year")
    if low == low and high == high:
        known += _(" (95 % at this site: {interval})").format(interval=say.between(low, high))
    sure = _("the chance that this site meets it is {chance}").format(chance=say.chance(own_chance(results)))
    asked = _("{chance_pct:g} % were asked for").format(chance_pct=target.chance_pct)
    ends = {
        MEETS: _("This design meets it: {known}; {sure}, and {asked}.").format(
            known=known, sure=sure, asked=asked
        ),
        LIKELY: _("This design probably meets it: {known}; {sure}, but {asked}.").format(
            known=known, sure=sure, asked=asked
        ),
        UNLIKELY: _("This design probably misses it: {known}; {sure}, and {asked}.").format(
            known=known, sure=sure, asked=asked
        ),
        MISSES: _("This design does not meet it: {known}.").format(known=known),
        UNSURE: _("In the years drawn it was {known}; how well that is known we do not know.").format(
            known=known
        ),
    }
    found = verdict(results)
    further = (
        _(" Further targets are in the section on designs of whole pieces.")
        if len(results.table("catalogue_designs"))
        else ""
    )
    return f"{wanted} {ends[found]}{_full_again_sentence(results)}{further}"


def _full_again_sentence(results):
    """What the design reaches of the second half of the target, the bank full again in time."""
    figure, again = full_again_figure(results), results.study.target.full_charge
    if figure is None:
        return ""
    value, low, high = figure
    known = _("{value} of 100 years").format(value=say.rounded(*figure))
    if low == low and high == high:
        known += _(" (95 % interval: {interval})").format(interval=say.between(low, high))
    enough = _("often enough") if value >= again.years_pct else _("not often enough")
    return _(
        " The bank is full again in time in {known}; {years_pct:g} were asked for: {enough} on average."
    ).format(known=known, years_pct=again.years_pct, enough=enough)
