"""Numbers in prose: frequencies, ranges, counts in words, rounded by what an interval supports."""

import unicodedata
from math import floor, isfinite

from darkspell.core.errors import BIDI_CONTROLS
from darkspell.report.figures.number_format import bounds, not_zero, number, places

WORDS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
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
    return WORDS[count] if 0 < count < len(WORDS) else f"{count:d}"


def count_of(count, one, many=None):
    """``one night``, ``two nights``, ``14 nights``.

    Parameters
    ----------
    count : float
    one : str
        Singular.
    many : str, optional
        Plural.

    Returns
    -------
    str
    """
    return f"{in_words(count)} {one if count == 1 else many or one + 's'}"


def whole_range(low, high, one, many=None):
    """Two whole numbers and what they count: ``two to five nights``, ``one night``.

    Parameters
    ----------
    low, high : float
    one : str
        Singular.
    many : str, optional
        Plural.

    Returns
    -------
    str
    """
    if low == high:
        return count_of(low, one, many)
    return f"{in_words(low)} to {count_of(high, one, many)}"


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
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"a share lies between 0 and 1, not at {share:g}")
    if share == 0.0:
        return f"no {what}"
    if share == 1.0:
        return f"every {what}"
    if share > 0.999:
        return f"nearly every {what}"
    if share >= 0.95:
        return f"all but {frequency(1.0 - share, what)}"
    if share < 0.001:
        return f"fewer than one {what} in a thousand"
    if share <= 0.28:
        return f"one {what} in {in_words(two_digits(1.0 / share))}"
    return f"{in_words(round(10 * share))} {what}s in ten"


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
        return f"{number(value, 1)} %" if value < 99.95 else "over 99.9 %"
    if value >= 10:
        return f"{value:.0f} %"
    return f"{value:.2g} %" if value >= 0.01 else "under 0.01 %"


def chance(probability):
    """A probability that is itself estimated: ``about 85 %``, ``over 95 %``.

    Parameters
    ----------
    probability : float
        0 to 1; NaN where it is not known.
    """
    if not isfinite(probability):
        return "not known"
    if probability > 0.95:
        return "over 95 %"
    # rounded down: a chance below the one asked for never prints as that
    return "under 5 %" if probability < 0.05 else f"about {floor(100 * probability + 1e-9)} %"


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


def shares_between(low, high, what="year"):
    """Bounds of a share: ``between one winter in 13 and one winter in six``.

    Parameters
    ----------
    low, high : float
        0 to 1.
    what : str
        What is counted.

    Returns
    -------
    str
    """
    low_words = f"less than one {what} in a thousand" if low < 0.001 else frequency(low, what)
    high_words = frequency(high, what)
    if low_words == high_words:
        return f"about {low_words}"
    return f"between {low_words} and {high_words}"


def rounded(value, low, high):
    """A number with the digits that its interval supports.

    Parameters
    ----------
    value, low, high : float

    Returns
    -------
    str
    """
    return not_zero(value, places(value, low, high))


def between(low, high):
    """``0.3 to 1.4``, both with the decimals of the larger.

    Parameters
    ----------
    low, high : float

    Returns
    -------
    str
    """
    if not (isfinite(low) and isfinite(high)):
        return "not known"
    texts = bounds(low, high)
    return texts[0] if texts[0] == texts[1] else f"{texts[0]} to {texts[1]}"


def span(low, high):
    """Two numbers without decimals: ``37 to 90``; one where they are the same.

    Parameters
    ----------
    low, high : float

    Returns
    -------
    str
    """
    texts = [number(bound, 0) for bound in (low, high)]
    return texts[0] if texts[0] == texts[1] else " to ".join(texts)


def listed(words):
    """``a, b and c``.

    Parameters
    ----------
    words : sequence of str

    Returns
    -------
    str
    """
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


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
