"""What the comparison says, in plain sentences: what is seen, what differs, what to do next."""

import numpy as np

from darkspell.log_analysis.classification import DIFFERS, FITS, UNTOLD
from darkspell.log_analysis.hourly_means import LEAST_DAYS
from darkspell.log_analysis.log_facts import listed
from darkspell.report.figures.number_format import number

NAMES = {
    "load": "Energy use",
    "array": "Array output",
    "capacity": "Bank capacity",
    "offset": "Current shown when none flows",
}
NOT_OF_THIS_KIND = "This log does not fit any system of this kind"
REVERSED = "The current of this log flows into the bank by night and out of it by day: its sign is reversed."
SHORT = (
    "The log covers {length}. That is too short to compare it with the study: load, array, capacity and offset are "
    "not judged. Log at least {least} days."
)
VOLTAGE_ONLY = (
    "Voltage alone does not tell load, array, capacity and offset apart; none of them is judged here."
)


def value(one, at):
    """A value of one verdict with its unit."""
    if not np.isfinite(at):
        return "not known"
    return f"{number(1000 * at, 0)} mA" if one.name == "offset" else f"{number(100 * at, 0)} %"


def interval(one):
    """The interval of one verdict, in words."""
    if not np.isfinite(one.low):
        return "-"
    return f"{value(one, one.low).removesuffix(' %').removesuffix(' mA')} to {value(one, one.high)}"


def between(one, low, high):
    """A range of one verdict, in words."""
    return f"{value(one, low).removesuffix(' %').removesuffix(' mA')} to {value(one, high)}"


def ordinary(one):
    """What is ordinary of one cause, in words.

    Parameters
    ----------
    one : darkspell.log_analysis.classification.Verdict
    """
    return between(one, *one.ordinary)


def meaning(comparison):
    """What the verdicts mean, in numbers; str.

    Parameters
    ----------
    comparison : darkspell.log_analysis.compare.Comparison
    """
    ranges = [
        f"{between(one, *one.as_designed)} for {NAMES[one.name].lower()}"
        for one in comparison.verdicts
        if np.isfinite(one.low)
    ]
    fits = (
        f' "As designed" is a narrow interval about the study\'s value, wholly within {listed(ranges)}.'
        if ranges
        else ""
    )
    return (
        "Ordinary is what a system may have without a fault, in per cent of the study. "
        f'"Differs" is a 95 % interval wholly outside it.{fits} Any other cannot be told.'
    )


def night_use(night):
    """What the loads use by night, as a sentence without its stop.

    Parameters
    ----------
    night : darkspell.log_analysis.load_nights.NightUse
    """
    share, low, high, least, most = (
        number(100 * part, 0) for part in (night.middle, night.low, night.high, night.least, night.most)
    )
    return (
        f"In the hours without sun the loads use {share} % of what the study says for those hours "
        f"({low} to {high} %); "
        f"the planned loads at other hours of use explain {least} to {most} %"
    )


def difference(one):
    """One verdict that differs, as a sentence without its stop."""
    of = f"{value(one, one.middle)} of what the study says ({interval(one)})"
    if one.night is not None:
        day = f"day and night together, {interval(one)} agrees with the log" if np.isfinite(one.low) else ""
        return (
            f"The loads use more than planned by night. {night_use(one.night)}{'; of ' if day else ''}{day}"
        )
    if one.name == "load":
        return f"The loads use {'more' if one.above else 'less'} than planned: {of}"
    if one.name == "array":
        return f"The array gives {'more' if one.above else 'less'} than it should: {of}"
    if one.name == "capacity":
        return f"The bank holds {'more' if one.above else 'less'} than it should: {of}"
    return (
        f"The monitor shows {value(one, one.middle)} when no current flows ({interval(one)}), and so counts "
        f"{number(24.0 * abs(one.middle), 1)} Ah a day that do not flow"
    )


def ranked(found):
    """What differs, the greatest first; list of verdicts."""
    return sorted((one for one in found if one.state == DIFFERS), key=lambda one: -one.excess)


def answer(comparison):
    """Opening sentences: what differs, or that nothing is shown to; list of str."""
    if comparison.hours.short:
        return [SHORT.format(length=comparison.hours.short, least=LEAST_DAYS)]
    if not comparison.inferred:
        return [VOLTAGE_ONLY]
    if comparison.reversed:
        return [f"{REVERSED} No cause is named."]
    if comparison.misfit:
        return [
            f"{NOT_OF_THIS_KIND}: the fitted system does not return {listed(comparison.misfit)}. "
            "No cause is named."
        ]
    found = comparison.verdicts
    differing = ranked(found)
    if differing:
        return [f"{difference(differing[0])}."]
    fits = [
        f"{NAMES[one.name].lower()} ({between(one, *one.as_designed)})" for one in found if one.state == FITS
    ]
    if fits:
        return [
            f"Nothing is shown to differ from the study. As designed, within what is ordinary: {listed(fits)}."
        ]
    return ["Nothing is shown to differ from the study, but this log cannot show that all is as designed."]


def causes_stated(comparison):
    """Whether causes may be stated: not for voltage alone, a reversed sign or a log of another kind."""
    return comparison.inferred and not comparison.misfit and not comparison.reversed


def untold(comparison):
    """What cannot be told, and why; list of str."""
    if not causes_stated(comparison):
        return []
    out = []
    for one in comparison.verdicts:
        if one.state == UNTOLD:
            why = one.reason
            if np.isfinite(one.low):
                why = f"anything from {interval(one)} agrees with the log"
            out.append(f"{NAMES[one.name]}: {why}.")
    night = comparison.evidence.night
    if night is not None and any(one.name == "load" and one.state == UNTOLD for one in comparison.verdicts):
        out.append(f"{night_use(night)}.")
    return out


def weather(comparison):
    """What the weather of the dates was, as a sentence."""
    if not comparison.weather.known:
        return comparison.weather.words
    share = f"{100 * comparison.clearness:.0f} % of the clearness that these dates usually have"
    if comparison.clearness_rank < 0.1:
        way = "duller than in nine years of ten"
    elif comparison.clearness_rank > 0.9:
        way = "brighter than in nine years of ten"
    else:
        way = "ordinary for these dates"
    return f"{comparison.weather.words} It was {way}: {share}."
