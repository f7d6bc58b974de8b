"""Times of day and windows between two of them, as study files write them."""

from typing import Annotated

from pydantic import StringConstraints

ClockTime = Annotated[str, StringConstraints(pattern=r"^(([01][0-9]|2[0-3]):[0-5][0-9]|24:00)$")]


def hours_of(clock):
    """Hours since midnight [h].

    Parameters
    ----------
    clock : str
        "HH:MM".

    Returns
    -------
    float
        0 to 24.
    """
    hours, minutes = clock.split(":")
    return int(hours) + int(minutes) / 60


def start_and_length(window):
    """Start and length of a window, past midnight if it ends before it starts [h].

    Parameters
    ----------
    window : pair of str
        "HH:MM" each.

    Returns
    -------
    start, length : float
        0 to 24.
    """
    start, end = (hours_of(clock) for clock in window)
    return start, (end - start if end > start else end - start + 24)


def some_length(window):
    """The window, if it has a length.

    Parameters
    ----------
    window : pair of str
        "HH:MM" each.

    Returns
    -------
    pair of str

    Raises
    ------
    ValueError
        If it ends where it starts, or starts at the end of the day.
    """
    if window[0] == window[1] or window[0] == "24:00":
        raise ValueError('has no length; for the whole day write ["00:00", "24:00"]')
    return window
