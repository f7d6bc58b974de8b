"""Numbers and frequencies in words, with as many digits as their interval supports."""

from math import ceil, floor, isfinite, log10
from re import sub

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.messages import _, ngettext
from darkspell.statistics.registry import TARGETS

MINUS, NARROW_SPACE, SPACE = "\u2212", "\u202f", "\u00a0"
MOST_PLACES = 4


def places(value, low, high):
    """Decimals that an interval supports: those of the first digit of half its width.

    A value that begins with 1, 2 or 3 keeps two digits, since one would change it by up to a half: 0.16 and 0.25 are
    not both 0.2.

    Parameters
    ----------
    value, low, high : float
        A number and its interval, any unit; bounds that are not finite count as none.

    Returns
    -------
    int
        Decimals, negative for tens and hundreds.
    """
    half = (high - low) / 2 if isfinite(low) and isfinite(high) else 0.0
    if half <= 0:
        half = abs(value) / 10 or 1.0
    wanted = ceil(-log10(half) - 1e-9)
    straddles = isfinite(low) and isfinite(high) and low < 0 < high
    if value and not straddles:
        wanted = max(wanted, leading_digits(value))
    return max(-6, min(wanted, MOST_PLACES))


def leading_digits(value):
    """Decimals of the digits that a number other than zero keeps: 0 for 34, 1 for 3.4, 0 for 7.4.

    Parameters
    ----------
    value : float
        Not zero.
    """
    power = floor(log10(abs(value)))
    return (1 if abs(value) < 4 * 10.0**power else 0) - power


def bounds(low, high, least=-6):
    """Two bounds as texts, with the decimals of the larger; each keeps its own first digit, down to thousandths.

    Parameters
    ----------
    low, high : float
    least : int
        Fewest decimals.

    Returns
    -------
    tuple of str
    """
    larger = max(abs(low), abs(high))
    decimals = max(places(larger, low, high), least) if larger else 0
    return tuple(
        not_zero(bound, max(_first_digit(bound), min(decimals, MOST_PLACES))) for bound in (low, high)
    )


def _first_digit(value):
    """Decimals of the first digit of a number, 3 at most."""
    return min(-floor(log10(abs(value))), 3) if value else -6


def within(value, low, high, limit=None, least=-6):
    """A value as a text that its printed interval contains, and that is on the value's side of a limit.

    Parameters
    ----------
    value, low, high : float
        A number and its interval; bounds that are not finite count as none.
    limit : float, optional
        Target that the printed number must not reach or pass where the number itself does not.
    least : int
        Fewest decimals.

    Returns
    -------
    str
        With the decimals that the interval supports, or more; the nearest bound's text where those do not do.
    """
    decimals = max(places(value, low, high), least)
    ends = bounds(low, high, least) if isfinite(low) and isfinite(high) and low <= value <= high else None
    texts = [not_zero(value, more) for more in range(decimals, max(decimals, 6) + 1)]
    good = (text for text in texts if _contained(text, ends) and _on_its_side(text, value, limit))
    found = next(good, None)
    if found is not None or ends is None:
        return found or texts[-1]
    return ends[0] if _said(texts[0])[1] < _said(ends[0])[0] else ends[1]


def _contained(text, ends):
    if ends is None:
        return True
    return _said(ends[0])[0] <= _said(text)[1] and _said(text)[0] <= _said(ends[1])[1]


def _on_its_side(text, value, limit):
    shown = _said(text)[1]
    return limit is None or value == limit or shown != limit and (shown > limit) == (value > limit)


def _said(text):
    """Least and greatest number that a text may mean: the same but for the texts for next to nothing."""
    near = {_("under 0.001"): (0.0, 0.001), _("just under 0"): (-0.001, 0.0)}
    return near[text] if text in near else 2 * (float(text.replace(MINUS, "-").replace(NARROW_SPACE, "")),)


def not_zero(value, decimals):
    """A number that is not zero does not print as zero: it keeps one digit; below a thousandth it is named so.

    Parameters
    ----------
    value : float
    decimals : int

    Returns
    -------
    str
    """
    if value == 0:
        return "0"
    if abs(value) < 0.001:
        return _("under 0.001") if value > 0 else _("just under 0")
    while round(value, decimals) == 0:
        decimals += 1
    return number(value, decimals)


def number(value, decimals=0):
    """A number with so many decimals; a true minus sign, thousands apart from 10 000 on.

    Parameters
    ----------
    value : float
    decimals : int

    Returns
    -------
    str
    """
    text = f"{abs(round(value, decimals)):.{max(decimals, 0)}f}"
    whole, point, rest = text.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", NARROW_SPACE)
    negative = value < 0 and float(text) > 0
    return f"{MINUS if negative else ''}{whole}{point}{rest}"


def known(value, low, high, unit="", limit=None):
    """A number with its interval: ``1.2 (0.9 to 1.5) kWh``.

    Parameters
    ----------
    value, low, high : float
    unit : str
    limit : float, optional
        As for `within`.

    Returns
    -------
    str
    """
    unit = f"{SPACE}{unit}" if unit else ""
    text = within(value, low, high, limit)
    if not (isfinite(low) and isfinite(high)):
        return f"{text}{unit}"
    low, high = bounds(low, high)
    return _("{value} ({low} to {high}){unit}").format(value=text, low=low, high=high, unit=unit)


def plain(value):
    """A number that is given, not found: as short as it can be written.

    Parameters
    ----------
    value : float

    Returns
    -------
    str
    """
    text = f"{value:.6g}"
    return number(value, len(text.partition(".")[2])) if "e" not in text else text


def frequency(share):
    """A share as a frequency: ``9 of 10``, ``1 in 40``, ``none``, ``all``.

    Parameters
    ----------
    share : float
        0 to 1.

    Returns
    -------
    str
    """
    if share <= 0:
        return _("none")
    if share >= 1:
        return _("all")
    if share > 0.95:
        return _("all but 1 in {count}").format(count=plain(_round(1 / (1 - share))))
    if share < 0.15:
        return _("1 in {count}").format(count=plain(_round(1 / share)))
    return _("{count} of 10").format(count=min(9, max(1, round(10 * share))))


def _round(value):
    """Two significant digits."""
    return round(value, 1 - floor(log10(value))) if value >= 10 else round(value)


def target_in_words(statistic):
    """Words of a target's statistic in the document's language.

    Parameters
    ----------
    statistic : str
        Key of the target.

    Returns
    -------
    darkspell.statistics.registry.TargetWords
    """
    return translated_words(TARGETS[statistic])


def translated_words(one):
    """Words of a target in the document's language.

    Parameters
    ----------
    one : darkspell.statistics.registry.TargetWords

    Returns
    -------
    darkspell.statistics.registry.TargetWords
    """
    return one._replace(words=_(one.words), unit=_(one.unit), phrase=_(one.phrase))


def limit_in_words(at_most, unit):
    """A target's limit with its unit: ``1 night a year``, ``5 hours a year``.

    Parameters
    ----------
    at_most : float
    unit : str

    Returns
    -------
    str
    """
    if at_most == 1:
        singular = {_("nights a year"): _("night a year"), _("hours a year"): _("hour a year")}
        unit = singular.get(unit, unit)
    return f"{plain(at_most)} {unit}"


def counted(number_of, one, many):
    """A count in figures and its noun: ``1 year``, ``1000 years``.

    Parameters
    ----------
    number_of : float
    one, many : str
        Messages in singular and plural, such as ``{count} year``, ``{count} years``; no line ends between the two.
    """
    return ngettext(one, many, number_of).format(count=plain(number_of)).replace(" ", SPACE, 1)


def name_in_words(key):
    """A name from the study file for a reader: ``second_wall_array`` -> ``Second wall array``.

    A sweep writes the point of a number as a ``p`` (``bank_120p5``); it becomes a point again.

    Parameters
    ----------
    key : str

    Returns
    -------
    str
    """
    text = sub(r"(?<=\d)p(?=\d)", ".", str(key).replace("_", " ").strip())
    named = set(MONTH_NAMES) - {"May"}  # also a word of its own
    text = " ".join(word.capitalize() if word.capitalize() in named else word for word in text.split(" "))
    return text[:1].upper() + text[1:]


def sentence_list(words):
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
