"""Sentences that tables and climates hold in English, in the language of the document at hand.

Files of numbers keep their English. A sentence is recognised by its template here, and its values are put into the
translation; one that no template fits stays as it is.
"""

import re
from functools import cache

from darkspell.core.messages import N_, _

TEMPLATES = (
    # monitor_settings.csv, see `darkspell.monitor.settings_explanations`
    N_("That of the label ({capacity} Ah at {hours} h, {health} % of it left)."),
    N_("That of the label ({capacity} Ah at {hours} h)."),
    N_(
        "What the bank holds today at the slow rate of this system (label: {capacity} Ah at {hours} h, {health} % of "
        "it left)."
    ),
    N_("What the bank holds today at the slow rate of this system (label: {capacity} Ah at {hours} h)."),
    N_(
        "The error, exceeded 5 % of the time, is {error} points, and warnings are missed for {hours} a year; with "
        "the {capacity} Ah of the label they would be {other_error} points and {other_hours}."
    ),
    N_(
        "The error, exceeded 5 % of the time, is {error} points, and warnings are missed for {hours} a year; with "
        "the {capacity} Ah that it holds at this slow rate they would be {other_error} points and {other_hours}."
    ),
    N_("Lower it as the bank ages; a common mistake is to keep the capacity of the new bank."),
    N_("Exponent 1: no correction is needed at these currents."),
    N_("Share of the charge that the bank stores between two full charges."),
    N_("Losses near full need no setting: the next full charge sets the count to 100 %."),
    N_("A little below the charger's {voltage} V, so that every full charge is seen."),
    N_("Below {current} A at that voltage the bank counts as full ({percent} % of {capacity} Ah)."),
    N_("A higher limit calls it full too soon; a lower one may never call it full."),
    N_("Longer than a gap in the clouds lasts."),
    N_("As the study sets it."),
    N_("Our default."),
    N_("In normal use the charge should stay above {charge} %."),
    N_("On the years of this study it serves better than the usual {value}."),
    # source and notes of a climate, see `darkspell.climate.atlas`
    N_("built-in atlas at {place}, land"),
    N_("built-in atlas at {place}, sea"),
    N_("The atlas is coarse; twelve monthly values would reduce the uncertainty."),
    N_(
        "No land cell of the atlas is near: how much days differ within a month follows from mean clearness and "
        "temperature, with a larger uncertainty."
    ),
    N_("Sea or small island: the monthly means are those of two satellite climatologies."),
    N_("Beyond 60 degrees of latitude one satellite climatology is missing, so the means are less certain."),
    # see `darkspell.climate.from_record`
    N_("Measured years: {years}."),
    N_(
        "The means of few years are combined with the built-in atlas, the more so the fewer they are: {percent} % of "
        "their difference in the annual mean is kept."
    ),
    N_("Satellite data: monthly means are lowered by {percent} % to the level of ground stations."),
    N_("The mix of clear and dull days is that of the climate, because satellites miss the dullest days."),
    N_("Its persistence is kept."),
)
PLACE = re.compile(r"\\{(\w+)\\}")  # a placeholder of a template after `re.escape`


def reworded(text):
    """A text, sentence by sentence in the document's language.

    Parameters
    ----------
    text : str
        Of a table, in English.

    Returns
    -------
    str
    """
    said, rest = [], str(text)
    while rest:
        sentence, rest = _first(rest)
        said.append(sentence)
    return " ".join(said)


def _first(text):
    """The first sentence of a text in the document's language, and the rest; all of it where not known."""
    for template in TEMPLATES:
        found = _pattern(template).match(text)
        if found:
            return _(template).format(**found.groupdict()), text[found.end() :]
    return text, ""


@cache
def _pattern(template):
    """Pattern of a template's sentence and the space after it."""
    return re.compile(PLACE.sub(r"(?P<\1>[^()]+?)", re.escape(template)) + r"(?:\s+|$)")
