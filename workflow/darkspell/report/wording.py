"""Numbers in prose: frequencies, ranges, counts in words, rounded by what an interval supports."""

import unicodedata
from math import floor, isfinite

from darkspell.core.errors import BIDI_CONTROLS
from darkspell.core.messages import N_, _, ngettext
from darkspell.report.figures.number_format import bounds, number, within

WORDS = (
    "", N_("one"), N_("two"), N_("three"), N_("four"), N_("five"), N_("six"), N_("seven"), N_("eight"),
    N_("nine"), N_("ten"), N_("eleven"), N_("twelve"),
)  # fmt: skip
# How often, by what is counted.
FREQUENCIES = {
    "year": {
        "never": N_("no year"),
        "always": N_("every year"),
        "nearly": N_("nearly every year"),
        "all but": N_("all but {years}"),
        "rarely": N_("fewer than one year in a thousand"),
        "less": N_("less than one year in a thousand"),
        "one in": N_("one year in {count}"),
        "in ten": N_("{count} years in ten"),
    },
    "winter": {
        "never": N_("no winter"),
        "always": N_("every winter"),
        "nearly": N_("nearly every winter"),
        "all but": N_("all but {winters}"),
        "rarely": N_("fewer than one winter in a thousand"),
        "less": N_("less than one winter in a thousand"),
        "one in": N_("one winter in {count}"),
        "in ten": N_("{count} winters in ten"),
    },
}
RIGHT_TO_LEFT = {"R", "AL", "AN"}
ISOLATE, END = "\u2068", "\u2069"


def given(text):
    """Text that somebody typed, made safe to stand inside a sentence of ours.

    Control characters go, and direction overrides with them; text written from right to left is isolated, so
    that it cannot turn the sentence around it.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    kept = without_controls(text).strip()
    turned = any(unicodedata.bidirectional(letter) in RIGHT_TO_LEFT for letter in kept)
    return f"{ISOLATE}{kept}{END}" if turned else kept


def without_controls(text):
    """Text without control characters and direction overrides; line ends and tabs become spaces.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return "".join(
        " " if letter in "\n\r\t" else letter
        for letter in str(text)
        if letter not in BIDI_CONTROLS and (letter in "\n\r\t" or unicodedata.category(letter) != "Cc")
    )


def in_words(count):
    """A whole number: in words up to twelve, in figures beyond.

    Parameters
    ----------
    count : int

    Returns
    -------
    str
    """
    return _(WORDS[count]) if 0 < count < len(WORDS) else f"{count:d}"


def count_of(count, one, many):
    """A count and its noun: ``one night``, ``two nights``, ``14 nights``.

    Parameters
    ----------
    count : float
    one, many : str
        Messages in singular and plural, such as ``{count} night``, ``{count} nights``.

    Returns
    -------
    str
    """
    return ngettext(one, many, count).format(count=in_words(count))


def whole_range(low, high, one, many):
    """Two whole numbers and what they count: ``two to five nights``, ``one night``.

    Parameters
    ----------
    low, high : float
    one, many : str
        Messages in singular and plural, as for `count_of`.

    Returns
    -------
    str
    """
    if low == high:
        return count_of(low, one, many)
    count = _("{low} to {high}").format(low=in_words(low), high=in_words(high))
    return ngettext(one, many, high).format(count=count)


def frequency(share, what="year"):
    """A share of years as a frequency a client can picture.

    Parameters
    ----------
    share : float
        0..1.
    what : str
        Of what: "year" or "winter".

    Returns
    -------
    str
        ``one winter in nine``, ``three winters in ten``, ``99 winters in 100``.

    Raises
    ------
    ValueError
        If the share is not between 0 and 1.
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"a share lies between 0 and 1, not at {share:g}")
    words = {key: _(text) for key, text in FREQUENCIES[what].items()}
    if share in (0.0, 1.0):
        return words["always" if share else "never"]
    if share > 0.999:
        return words["nearly"]
    if share >= 0.95:
        return words["all but"].format(**{f"{what}s": frequency(1.0 - share, what)})
    if share < 0.001:
        return words["rarely"]
    if share <= 0.28:
        return words["one in"].format(count=in_words(two_digits(1.0 / share)))
    return words["in ten"].format(count=in_words(round(10 * share)))


def percent(share):
    """A share in per cent, two significant digits: ``11 %``, ``0.4 %``.

    Parameters
    ----------
    share : float
        0 to 1.

    Returns
    -------
    str
    """
    if share in (0.0, 1.0):
        return f"{100 * share:.0f} %"
    value = 100.0 * share
    if share > 0.99:
        return f"{number(value, 1)} %" if value < 99.95 else _("over 99.9 %")
    if value >= 10:
        return f"{value:.0f} %"
    return f"{value:.2g} %" if value >= 0.01 else _("under 0.01 %")


def chance(probability):
    """A probability that is itself estimated: ``about 85 %``, ``over 95 %``.

    Parameters
    ----------
    probability : float
        0 to 1; NaN where it is not known.
    """
    if not isfinite(probability):
        return _("not known")
    if probability > 0.95:
        return _("over 95 %")
    # rounded down: a chance below the one asked for never prints as that
    about = floor(100 * probability + 1e-9)
    return _("under 5 %") if probability < 0.05 else _("about {percent} %").format(percent=about)


def two_digits(value):
    """A number as a whole one of at most two significant digits.

    Parameters
    ----------
    value : float

    Returns
    -------
    str
    """
    step = 10 ** max(len(f"{value:.0f}") - 2, 0)
    return int(round(value / step) * step)


def rounded(value, low, high, limit=None, least=-6):
    """A number with the digits that its interval supports, as `number_format.within`.

    Parameters
    ----------
    value, low, high : float
    limit : float, optional
        Target of which the printed number stays on the number's own side.
    least : int
        Fewest decimals.

    Returns
    -------
    str
    """
    return within(value, low, high, limit, least)


def between(low, high, least=-6):
    """``0.3 to 1.4``, both with the decimals of the larger.

    Parameters
    ----------
    low, high : float
    least : int
        Fewest decimals.

    Returns
    -------
    str
    """
    if not (isfinite(low) and isfinite(high)):
        return _("not known")
    return to(*bounds(low, high, least))


def span(low, high):
    """Two numbers without decimals: ``37 to 90``; one where they are the same.

    Parameters
    ----------
    low, high : float

    Returns
    -------
    str
    """
    return to(number(low, 0), number(high, 0))


def to(low, high):
    """Two texts as a range: ``37 to 90``; one of them where they are the same.

    Parameters
    ----------
    low, high : str

    Returns
    -------
    str
    """
    return low if low == high else _("{low} to {high}").format(low=low, high=high)


def listed(words):
    """``a, b and c``.

    Parameters
    ----------
    words : sequence of str

    Returns
    -------
    str
    """
    *first, last = words
    return _("{first} and {last}").format(first=", ".join(first), last=last) if first else last


def joined(sentences):
    """Sentences as one paragraph; empty ones are left out.

    Parameters
    ----------
    sentences : sequence of str

    Returns
    -------
    str
    """
    return " ".join(filter(None, sentences))


def sentence(text):
    """A text with its first letter large.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return text[:1].upper() + text[1:]
