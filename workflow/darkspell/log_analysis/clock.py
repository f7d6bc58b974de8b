"""Whether the clock of a log agrees with the sun; it is only said, never moved."""

import numpy as np

CLEAR_LATENESS = 1.5  # h


def clock_note(log, expected):
    """A sentence where the charge current comes much earlier or later than the sun, on most days; list of str.

    A shaded array charges late as well, so the clock is not moved: the reader of the page decides.

    Parameters
    ----------
    log : darkspell.log_analysis.hourly_means.HourLog
    expected : darkspell.log_analysis.quantities.Expected
    """
    if not log.has_current:
        return []
    late = daily_lateness(log.current, expected)
    if late.size < 8:
        return []
    middle = float(np.median(late))
    error = 1.25 * 1.4826 * float(np.median(np.abs(late - middle))) / np.sqrt(late.size)
    if abs(middle) - 2.0 * error < CLEAR_LATENESS:
        return []
    way = "later" if middle > 0 else "earlier"
    return [
        f"Charging begins {abs(middle):.1f} h {way} than the sun rises on the array "
        f"(+-{2 * error:.1f} h, {late.size} days). "
        "If the clock is the reason, set log.time_zone; a shadow or a charger that starts late does the same. "
        "The times were not moved."
    ]


def weather_clock_notes(dates, parts):
    """Sentences on the parts of a log whose hours disagree with the weather's; list of str.

    Parameters
    ----------
    dates : datetime64[D] array [days]
        Of the log.
    parts : list of (int, int, int)
        From `darkspell.log_analysis.alignment.disagreement`.
    """
    out = []
    for first, last, late in parts:
        way = "late" if late > 0 else "early"
        out.append(
            f"From {dates[first]} to {dates[min(last, dates.size - 1)]} the log is {abs(late)} h {way} against the "
            "weather of its dates. The times were not moved; hours of daylight were not used."
        )
    return out


def daily_lateness(current, expected):
    """Hours by which charging begins after the sun reaches the array, by day; float64 [days that tell].

    Both are taken at the hour in which the current, or the clear-sky current, first exceeds a tenth of the
    array's greatest above the level of the night.

    Parameters
    ----------
    current : float64 [H]
        Current of whole days [A].
    expected : Expected
    """
    days = current.reshape(-1, 24)
    sun = expected.envelope.reshape(-1, 24)
    level = 0.1 * float(expected.envelope.max())
    out = []
    for day, light in zip(days, sun, strict=True):
        night = day[light <= 0.0]
        if not np.isfinite(day).all() or night.size == 0 or not (light > level).any():
            continue
        charged = day - np.median(night) > level
        if charged.any():
            out.append(int(np.argmax(charged)) - int(np.argmax(light > level)))
    return np.array(out, float)
