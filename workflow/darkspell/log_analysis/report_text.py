"""What the comparison says, in plain sentences: owner, weather, monitor, or a fault to look for."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.classification import DIFFERS, FITS, UNTOLD
from darkspell.report.figures.number_format import number

NAMES = {
    "load": "What is used",
    "array": "What the array gives",
    "capacity": "What the bank holds",
    "offset": "Current shown when none flows",
    "efficiency": "Charge efficiency set in the monitor",
}
CURES = {
    "load": "Ask the owner what has been added or runs longer; put it into the study, or take it out of use.",
    "array": "Look at the modules first: dirt, snow, a shadow that is new, a string that is off, a fuse.",
    "capacity": "Charge the bank fully, then count what a discharge to the usual depth gives; check single cells.",
    "offset": "Set the shunt's zero with every load and charger off; look for a wire that passes the shunt.",
    "efficiency": "Set it in the monitor to what the setting sheet says.",
}


def value(one, at):
    """A value of one finding with its unit."""
    if not np.isfinite(at):
        return "not known"
    if one.name == "offset":
        return f"{number(1000 * at, 0)} mA"
    if one.name == "efficiency":
        return f"{number(100 * at, 1)} %"
    return f"{number(100 * at, 0)} %"


def interval(one):
    """The interval of one finding, in words."""
    if not np.isfinite(one.low):
        return "not known"
    return f"{value(one, one.low).removesuffix(' %').removesuffix(' mA')} to {value(one, one.high)}"


def sentence(one):
    """One finding as a sentence with its uncertainty."""
    if one.state == UNTOLD:
        if not np.isfinite(one.low):
            return f"{NAMES[one.name]}: cannot be told from this log; it lacks the columns."
        return f"{NAMES[one.name]}: cannot be told from this log (anything from {interval(one)})."
    if one.state == FITS:
        return f"{NAMES[one.name]}: as designed, within what is ordinary ({interval(one)})."
    return f"{_difference(one)} (95 % interval {interval(one)})."


def _difference(one):
    of = f"{value(one, one.middle)} of what the study says"
    more = one.middle > one.design
    if one.name == "load":
        return f"The owner uses {'more' if more else 'less'} than planned: {of}"
    if one.name == "array":
        return f"The array gives {'more' if more else 'less'} than it should: {of}"
    if one.name == "capacity":
        return f"The bank holds {'more' if more else 'less'} than it should: {of}"
    if one.name == "offset":
        return f"The monitor shows {value(one, one.middle)} when no current flows"
    return f"The monitor counts with a charge efficiency of {value(one, one.middle)}, not {value(one, one.design)}"


def answer(comparison):
    """Owner, weather or fault: the opening sentences; list of str."""
    found = comparison.found
    out = [f"{_difference(one)} ({interval(one)})." for one in ranked(found)]
    out += [CURES[one.name] for one in ranked(found)[:1]]
    if not out:
        fits, untold = (
            [NAMES[one.name][0].lower() + NAMES[one.name][1:] for one in found if one.state == state]
            for state in (FITS, UNTOLD)
        )
        out.append(
            f"Nothing that this log tells differs from the design beyond the ordinary: {_listed(fits)} as designed."
            if fits
            else "This log does not tell whether anything differs from the design."
        )
        if fits and untold:
            out.append(f"It does not tell: {_listed(untold)}.")
    out.append(weather(comparison))
    if comparison.posterior.odd > constant("log_analysis", "odd_limit"):
        out.append(
            "Parts of this log lie outside everything that was simulated for it. Something is at work that is not "
            "asked here, or a column or unit is mapped wrongly: do not trust the intervals before that is found."
        )
    return out


def ranked(found):
    """What differs, the greatest excess first."""
    return sorted((one for one in found if one.state == DIFFERS), key=lambda one: -one.excess)


def weather(comparison):
    """What the weather of the dates was, as a sentence."""
    middle, low, high = comparison.clearness
    if comparison.weather_known:
        rank = comparison.clearness_rank
        share = f"{100 * middle:.0f} % of the clearness that these dates usually have"
        if rank < 0.1:
            return f"The weather was duller than in nine years of ten: {share}. That alone empties a bank further."
        if rank > 0.9:
            return f"The weather was brighter than in nine years of ten: {share}."
        return f"The weather was ordinary for these dates: {share}."
    if high < 0.92:
        return f"The days seem duller than usual, by the log: {100 * low:.0f} to {100 * high:.0f} % of usual."
    if low > 1.08:
        return (
            f"The days seem brighter than usual, by the log: {100 * low:.0f} to {100 * high:.0f} % of usual."
        )
    return (
        f"The weather of these dates is not known; by the log itself it had {100 * low:.0f} to "
        f"{100 * high:.0f} % of the usual clearness. A series for the dates would narrow what the array gives."
    )


def settings(comparison, shunt):
    """What the monitor's own count says of its settings; list of str."""
    one, out = comparison.setting, []
    if np.isfinite(one.capacity) and abs(one.capacity / shunt.capacity_set_ah - 1.0) > 0.03:
        low, high = number(one.capacity_low, 0), number(one.capacity_high, 0)
        out.append(
            f"The monitor counts with a capacity of about {number(one.capacity, 0)} Ah ({low} to {high} Ah), "
            f"where the study has {shunt.capacity_set_ah:g} Ah set."
        )
    if one.change is not None:
        date = comparison.hours.dates[min(one.change, comparison.hours.dates.size - 1)]
        out.append(f"The monitor's settings seem to have been changed about {date}.")
    return out


def _listed(words):
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
