"""Days of the week and months as people name them: "Fri-Sun", [Nov, Dec, 1], "Nov-Mar"."""

import re
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field

DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip
WORKING, FREE = tuple(range(5)), (5, 6)
GROUPS = {"all": tuple(range(7)), "weekdays": WORKING, "weekends": FREE}
EVERY = ("all", "all_days")
_RANGE = re.compile(r"\s*([^\s-]+)\s*(?:-|to)\s*([^\s-]+)\s*")


def day_numbers(days):
    """Days of the week in a study's word for them.

    Parameters
    ----------
    days : str
        As `named_days` returns it.

    Returns
    -------
    tuple of int
        Monday 0.
    """
    word = "all" if days in EVERY else days
    return GROUPS[word] if word in GROUPS else tuple(_listed(days, DAY_NAMES))


def named_days(value, every="all"):
    """A study's word for days of the week in one form, whichever way they were named.

    Parameters
    ----------
    value : object
        A word of `GROUPS`, names or spans of days ("Fri-Sun", "Mon, Thu"), or a list of these.
    every : str
        The word for all days.

    Returns
    -------
    object
        A word of `GROUPS` where one fits, else the days' first three letters; `value` itself if it is no text.

    Raises
    ------
    ValueError
        If a word names no day.
    """
    if value == every or value in ("weekdays", "weekends"):
        return value
    texts = value if isinstance(value, list) else [value]
    if not texts or not all(isinstance(text, str) for text in texts):
        return value
    numbers = _listed(", ".join(texts), DAY_NAMES)
    if numbers is None:
        cure = f"give {every}, weekdays, weekends, or days by name such as Fri-Sun or [Mon, Thu]"
        raise ValueError(f"names no day of the week; {cure}")
    found = {numbers: word for word, numbers in GROUPS.items()}.get(tuple(numbers))
    if found:
        return every if found == "all" else found
    return ", ".join(DAY_NAMES[day][:3] for day in numbers)


def month_numbers(value):
    """Months in ascending order, whichever way they were named.

    Parameters
    ----------
    value : object
        Names and spans of months as a text ("Nov-Mar, July"), or a list of numbers and names, which may
        pass New Year.

    Returns
    -------
    object
        List of int; `value` itself if it is something else.
    """
    if isinstance(value, str):
        found = _listed(value, MONTHS)
        return value if found is None else [month + 1 for month in found]
    if not isinstance(value, list):
        return value
    months = [_month(month) for month in value]
    if all(type(month) is int for month in months):
        turn = [at for at, pair in enumerate(zip(months, months[1:], strict=False)) if pair == (12, 1)]
        if len(turn) == 1:
            return months[turn[0] + 1 :] + months[: turn[0] + 1]
    return months


def _month(value):
    found = _number(value, MONTHS) if isinstance(value, str) else None
    return value if found is None else found + 1


def _listed(text, names):
    """Places of all names and spans in a text, ascending; None if a part is neither."""
    places = set()
    for part in re.split(r",|;|\band\b", text):
        ends = _RANGE.fullmatch(part)
        first, last = (_number(word, names) for word in (ends.groups() if ends else (part, part)))
        if first is None or last is None:
            return None
        places |= {(first + step) % len(names) for step in range((last - first) % len(names) + 1)}
    return sorted(places)


def _number(word, names):
    """Place of a name, given in full or by three letters or more; None if it is none."""
    word = word.strip().rstrip(".").lower()
    fits = [at for at, name in enumerate(names) if len(word) >= 3 and name.lower().startswith(word)]
    return fits[0] if len(fits) == 1 else None


def _ascending(months):
    if any(later <= earlier for earlier, later in zip(months, months[1:], strict=False)):
        raise ValueError("must ascend without repeats, as in [5, 6, 7]; over New Year as in [11, 12, 1, 2]")
    return months


Month = Annotated[int, Field(ge=1, le=12)]
Months = Annotated[
    list[Month],
    BeforeValidator(month_numbers),
    AfterValidator(_ascending),
    Field(min_length=1, max_length=12),
]
Days = Annotated[str, BeforeValidator(named_days), Field(max_length=40)]
DaysAtHome = Annotated[
    str, BeforeValidator(lambda value: named_days(value, "all_days")), Field(max_length=40)
]
