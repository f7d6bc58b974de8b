"""The target in plain words, and whether the study's own design meets it."""

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.report import wording as say

TRIAL_YEARS = 10  # with fewer no interval is claimed; common practice, no source
# Statistic of the target: what one of it is called in a sentence, and its column in whatifs.csv.
PHRASES = {
    "short_nights": (N_("nights a year without essential power"), "short_nights"),
    "lolh": (N_("hours a year without essential power"), "lolh"),
    "lolp": (N_("hours without essential power in 1000 hours"), "lolh"),
    "eue_kwh": (N_("kilowatt-hours a year of demand not delivered"), "eue_kwh"),
}
SINGLE = {
    "short_nights": N_("night a year without essential power"),
    "lolh": N_("hour a year without essential power"),
    "lolp": N_("hour without essential power in 1000 hours"),
}
COUNTED = {
    "short_nights": (N_("{value} night a year"), N_("{value} nights a year")),
    "lolh": (N_("{value} hour a year"), N_("{value} hours a year")),
    "lolp": (N_("{value} hour in 1000 hours"), N_("{value} hours in 1000 hours")),
    "eue_kwh": (N_("{value} kilowatt-hour a year"), N_("{value} kilowatt-hours a year")),
}
# What a further target of the study counts.
FURTHER = {
    "short_nights": N_("nights without essential power"),
    "lolh": N_("hours without essential power"),
    "lold": N_("days on which essential loads go dark"),
    "eue_kwh": N_("kilowatt-hours not delivered"),
    "eue_essential_kwh": N_("kilowatt-hours not delivered to essential loads"),
    "events": N_("times that essential loads go dark"),
    "longest_event_h": N_("hours of the longest dark time"),
    "max_depth_true_pct": N_("deepest discharge of the bank in per cent"),
    "max_depth_reported_pct": N_("deepest discharge on the monitor in per cent"),
    "longest_full_charge_interval_days": N_("days of the longest wait for a full charge"),
    "full_charges": N_("full charges"),
    "days_with_full_charge": N_("days with a full charge"),
    "equivalent_full_cycles": N_("full cycles' worth of charge drawn"),
    "spilled_kwh": N_("kilowatt-hours that the array offered and nothing took"),
    "array_kwh": N_("kilowatt-hours from the array"),
    "generator_h": N_("hours of generator"),
    "generator_starts": N_("starts of the generator"),
    "generator_kwh": N_("kilowatt-hours from the generator"),
    "fuel_l": N_("litres of fuel"),
    "partial_charge_pct": N_("per cent of the year too long after a full charge"),
    "autonomy_days": N_("days that a full bank lasts with the sun that comes"),
    "dark_autonomy_days": N_("days that a full bank lasts without sun"),
}

# Verdict of a design on its target, as a table says it.
MEETS, LIKELY, UNLIKELY, MISSES, UNSURE = "meets", "likely", "unlikely", "misses", "unsure"
JUDGED = {
    MEETS: N_("yes"),
    LIKELY: N_("likely, less than asked"),
    UNLIKELY: N_("unlikely"),
    MISSES: N_("no"),
    UNSURE: N_("not known"),
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
    return _(PHRASES[statistic][0])


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
    single = value == 1 and target.statistic in SINGLE
    counted = _(SINGLE[target.statistic]) if single else phrase(target.statistic)
    if target.statistic == "short_nights" and 0 < value < 1:
        years = say.in_words(say.two_digits(1 / value))
        counted = _("{counted} (one night in {years} years)").format(counted=counted, years=years)
    text = _("at most {value:g} {counted}, on average over many years").format(value=value, counted=counted)
    if target.full_charge is None:
        return text
    return _("{target}, and the bank {full_again}").format(
        target=text, full_again=full_again_words(target.full_charge)
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


def first_chance(results):
    """The same for the target alone, where the study has further targets: comparable with other designs.

    Parameters
    ----------
    results : results.Results
    """
    held = results.summary.get("probability_met")
    each = held.get("each") if isinstance(held, dict) else None
    alone = (each or {}).get("target")
    return own_chance(results) if alone is None else float(alone)


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
    wanted = _("The target is {target}.").format(target=target_words(target))
    if figure is None:
        unknown = _("Whether this design meets it we do not know.")
        return f"{wanted} {unknown}"
    value, low, high = figure
    shown = say.rounded(*figure, scaled(target.statistic, target.at_most)[0])
    single, several = COUNTED[target.statistic]
    counted = single if shown == "1" else several
    known = _(counted).format(value=shown)
    if low == low and high == high:
        known = _("{known} (95 % at this site: {interval})").format(
            known=known, interval=say.between(low, high)
        )
    ends = {
        MEETS: _(
            "This design meets it: {known}; the chance that this site meets it is {chance}, and "
            "{asked:g} % were asked for."
        ),
        LIKELY: _(
            "This design probably meets it: {known}; the chance that this site meets it is {chance}, "
            "but {asked:g} % were asked for."
        ),
        UNLIKELY: _(
            "This design probably misses it: {known}; the chance that this site meets it is "
            "{chance}, and {asked:g} % were asked for."
        ),
        MISSES: _("This design does not meet it: {known}."),
        UNSURE: _("In the years drawn it was {known}; how well that is known we do not know."),
    }
    end = ends[verdict(results)].format(
        known=known, chance=say.chance(own_chance(results)), asked=target.chance_pct
    )
    further = (
        _("Further targets are in the section on designs of whole pieces.")
        if len(results.table("catalogue_designs"))
        else ""
    )
    return say.joined([wanted, end, _full_again_sentence(results), further])


def _full_again_sentence(results):
    """What the design reaches of the second half of the target, the bank full again in time."""
    figure, again = full_again_figure(results), results.study.target.full_charge
    if figure is None:
        return ""
    value, low, high = figure
    known = _("{value} of 100 years").format(value=say.rounded(*figure, again.years_pct))
    if low == low and high == high:
        known = _("{known} (95 % interval: {interval})").format(known=known, interval=say.between(low, high))
    text = (
        _("The bank is full again in time in {known}; {asked:g} were asked for: often enough on average.")
        if value >= again.years_pct
        else _(
            "The bank is full again in time in {known}; {asked:g} were asked for: not often enough on average."
        )
    )
    return text.format(known=known, asked=again.years_pct)
