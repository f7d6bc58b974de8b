"""Slips of typing in a value: what was probably meant."""

import re

COMPASS = (
    "north", "north-northeast", "northeast", "east-northeast", "east", "east-southeast", "southeast",
    "south-southeast", "south", "south-southwest", "southwest", "west-southwest", "west", "west-northwest",
    "northwest", "north-northwest",
)  # fmt: skip
LETTERS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
MINUS = "\u2212\u2013\u2014\u2010\u2011"
QUOTES = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u00ab\u00bb"
BLANKS = "\u00a0\u2007\u2009\u202f\u2002\u2003\u3000\u200b"
_DEGREES = re.compile(
    r"([-+]?)(\d{1,3}(?:\.\d+)?)\s*(?:[:\u00b0]|\s|deg)?\s*(?:(\d{1,2}(?:\.\d+)?)\s*['\u2032:]?)?"
    r"\s*(?:(\d{1,2}(?:\.\d+)?)\s*(?:\"|''|\u2033)?)?\s*([NSEWnsew])?"
)
_NUMBER = re.compile(r"([-+]?[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?)\s*([^\d\s].*)?")


def compass_degrees(word):
    """Direction of a compass word.

    Parameters
    ----------
    word : object
        Such as ``"south"``, ``"SSW"`` or ``"south-west"``.

    Returns
    -------
    float or None
        Clockwise from north [deg]; None where it is no such word.
    """
    if not isinstance(word, str):
        return None
    plain = re.sub(r"[\s_-]", "", word).lower()
    for names in (COMPASS, LETTERS):
        points = [name.replace("-", "").lower() for name in names]
        if plain in points:
            return 22.5 * points.index(plain)
    return None


def number_cure(text, unit=""):
    """What to write in place of a text where a number is asked for.

    Parameters
    ----------
    text : str
    unit : str
        Unit of the number; "" or "-" without one.

    Returns
    -------
    str
        A cure, or "" if the text is not like a number.
    """
    plain = "".join("-" if mark in MINUS else mark for mark in text if mark not in QUOTES + BLANKS).strip()
    if re.fullmatch(r"-?\d{1,3}([,' _]\d{3})+", plain):
        whole = re.sub(r"[,' _]", "", plain)
        point = (
            f", or {plain.replace(',', '.')} if the comma is a decimal mark" if plain.count(",") == 1 else ""
        )
        return f"give it without marks between the thousands: {whole}{point}"
    if re.fullmatch(r"-?\d+,\d+", plain):
        return f"give it with a point: {plain.replace(',', '.')}"
    if unit == "deg" and (degrees := _degrees(plain)) is not None:
        return f"give decimal degrees, south and west negative: {degrees:.6g}"
    zone = re.fullmatch(r"(?:UTC|GMT)\s*([-+]?\d{1,2})(?::(\d\d))?", plain) if unit == "h" else None
    if zone:
        hours = abs(int(zone[1])) + int(zone[2] or 0) / 60.0
        return f"give hours, east positive: {-hours if zone[1][0] == '-' else hours:g}"
    match = _NUMBER.fullmatch(plain)
    if match is None:
        return ""
    number, rest = match.groups()
    if rest is None and number != text:
        return f"give it in plain characters: {number}"
    money = (
        unit.startswith("currency") and rest is not None and re.fullmatch(r"\D{1,3}|Euro|euro", rest.strip())
    )
    same = rest is None or rest.strip().lower() == unit.lower() or money
    return f"give a number without quotes or unit: {number}" if same else ""


def _degrees(text):
    """Decimal degrees of 61.4N, 61:24 or 61 deg 24' N; None where the text is none of these."""
    match = _DEGREES.fullmatch(text)
    if match is None or not (match[3] or match[5]):
        return None
    minutes, seconds = float(match[3] or 0.0), float(match[4] or 0.0)
    value = float(match[2]) + minutes / 60.0 + seconds / 3600.0
    return -value if match[1] == "-" or (match[5] or "").upper() in ("S", "W") else value


def word_cure(text):
    """What to write instead of a word where true or false is needed.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Empty where the word is none of the usual ones.
    """
    meant = {"yes": "true", "on": "true", "y": "true", "no": "false", "off": "false", "n": "false"}
    return meant.get(text.strip().lower(), "")


def line_cure(line):
    """What is wrong with a line that does not read as YAML; "" where nothing is seen.

    Parameters
    ----------
    line : str

    Returns
    -------
    str
    """
    if any(mark in line for mark in BLANKS):
        return "it holds a blank that is none (a no-break space); type a plain one"
    if re.match(r"[^'\"#]*:\s+'[^']*\w'\w[^']*'\s*$", line):
        return "put a text with an apostrophe in it between double quotes"
    match = re.match(r"\s*([A-Za-z0-9_-]+):([^\s/\\].*)$", line)
    if match:
        return f"put a blank after the colon: {match[1]}: {match[2][:30].strip()}"
    return ""
