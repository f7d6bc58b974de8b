"""What a log shows by itself, in words: facts, the sentence that opens the page, and its days against the design."""

import numpy as np

from darkspell.log_analysis.design_bands import UNITS, WORDS
from darkspell.log_analysis.overview import DAILY_S, HOURLY_S
from darkspell.report.figures.number_format import number

MANY_DAYS = 0.35  # share of days outside the band that is not usual, though it happens


def summary(comparison):
    """What the log shows by itself, in one sentence; it needs no model."""
    seen, parts = comparison.seen, []
    if seen.run_down:
        return _run_down(seen)
    if seen.step_s >= DAILY_S and np.isfinite(seen.voltages[0]):
        parts.append(f"the daily values of the voltage lie between {_span(seen)} V")
    elif np.isfinite(seen.lowest_voltage):
        mean = "mean " if seen.means and seen.step_s >= 3600.0 else ""
        parts.append(f"the lowest {mean}voltage is {number(seen.lowest_voltage, 2)} V ({seen.lowest_at})")
    elif np.isfinite(seen.lowest_soc):
        parts.append(f"the lowest reading is {number(100 * seen.lowest_soc, 0)} % ({seen.lowest_soc_at})")
    if np.isfinite(seen.lowest_voltage) and seen.hours_below > 0.0:
        parts.append(f"it is below the cut-off of {seen.cut_off:.1f} V for {number(seen.hours_below, 1)} h")
    if seen.full_days is not None:
        parts.append(f"{seen.full_days} of {seen.days} days have a full charge")
    if seen.gaps.by_night:
        parts.append(f"logging stopped in {seen.gaps.nights_stopped} of {seen.gaps.nights} nights")
    if not parts:
        parts.append(f"it covers {seen.days} days")
    return f"In this log {listed(parts)}."


def _run_down(seen):
    one = seen.run_down
    return (
        f"In {seen.days} days the bank hardly charged: its voltage fell from {number(one.first, 1)} V to "
        f"{number(one.last, 1)} V (daily medians; lowest {number(seen.lowest_voltage, 2)} V) and never rose above "
        f"{number(one.highest, 2)} V. A full bank shows about {number(one.full_at_rest, 1)} V at rest."
    )


def _span(seen):
    return f"{number(seen.voltages[0], 2)} and {number(seen.voltages[2], 2)}"


def facts(comparison):
    """What the log shows by itself; list of (name, value)."""
    seen = comparison.seen
    out, apart = [], f"rows {_every(seen.step_s)} apart"
    if np.isfinite(seen.lowest_voltage):
        name = "Lowest voltage" if seen.step_s <= HOURLY_S else f"Lowest of the voltages, {apart}"
        if seen.means and seen.step_s >= 3600.0:
            name = f"Lowest voltage (means of {_every(seen.step_s)})"
        out.append((name, f"{number(seen.lowest_voltage, 2)} V on {seen.lowest_at}"))
    elif np.isfinite(seen.voltages[0]):
        out.append(
            (
                "Daily values of the voltage",
                f"between {_span(seen)} V, median {number(seen.voltages[1], 2)} V",
            )
        )
    if seen.run_down:
        one = seen.run_down
        out.append(
            (
                "Highest voltage",
                f"{number(one.highest, 2)} V; a full bank at rest shows about {number(one.full_at_rest, 1)} V",
            )
        )
        out.append(
            (
                "From the first to the last day",
                f"from {number(one.first, 2)} to {number(one.last, 2)} V (medians)",
            )
        )
    if np.isfinite(seen.lowest_voltage) and np.isfinite(seen.hours_below):
        out.append(
            (
                f"Time below {seen.cut_off:.1f} V, the study's cut-off",
                f"{number(seen.hours_below, 1)} h" if seen.hours_below > 0.0 else "none",
            )
        )
    if np.isfinite(seen.lowest_soc):
        out.append(("Lowest reading", f"{number(100 * seen.lowest_soc, 0)} % on {seen.lowest_soc_at}"))
    if seen.full_days is not None:
        out.append((f"Days with a full charge ({seen.full_mark})", f"{seen.full_days} of {seen.days}"))
        if comparison.hours.short:
            pass  # of a part of a day no run of days is known
        elif seen.longest_gap is None:
            out.append(("Longest time without a full charge", "none: every day has one"))
        else:
            count, first, last = seen.longest_gap
            span = f"1 day, {first}" if count == 1 else f"{count} days, {first} to {last}"
            out.append(("Longest time without a full charge", span))
    out += [("Not shown", part) for part in [_hidden(comparison)] if part]
    least = "of 1.5 h or more" if seen.step_s <= 1800.0 else "longer than three usual steps"
    out.append((f"Gaps between rows, {least}", _gaps(seen.gaps)))
    if seen.gaps.count:
        out.append(("Nights in which logging stops", _nights(seen.gaps)))
    if has_days(comparison):
        out += _band_facts(comparison.bands)
    else:
        why = "the log is too short" if comparison.hours.short else f"{apart} make no whole day"
        out.append(("Days against the design's band", f"not compared: {why}"))
    trip = None if comparison.evidence is None else comparison.evidence.round_trip
    if trip is not None:
        out.append(
            (
                "Charge out over charge in, from full to full",
                f"{number(100 * trip[0], 1)} % "
                f"({number(100 * trip[1], 1)} to {number(100 * trip[2], 1)} %, by sampling alone); "
                "an error of the monitor's zero is part of it",
            )
        )
    return out


def _hidden(comparison):
    """What the rows are too far apart to show, in words; empty where they show it all."""
    seen, hidden = comparison.seen, []
    if seen.step_s <= HOURLY_S and (seen.full_days is not None or not np.isfinite(seen.lowest_voltage)):
        return ""
    hidden.append("full charges")
    if seen.step_s > HOURLY_S:
        hidden.append("lowest voltage" if seen.step_s >= DAILY_S else "time below cut-off")
    return (
        f"{listed(hidden)}: rows {_every(seen.step_s)} apart do not show {'them' if hidden[1:] else 'these'}"
    )


def _band_facts(bands):
    """Share of days outside the band, and by how much on which side; list of (name, value)."""
    days, share = int(np.isfinite(bands.logged).sum()), bands.outside
    out = [
        (
            f"Days outside the design's band ({WORDS[bands.quantity]})",
            f"{round(days * share)} of {days} ({100 * share:.0f} %). Of systems as designed, half have "
            f"{100 * bands.usual:.0f} % or more, and 1 in 20 has more than {100 * bands.most:.0f} %",
        )
    ]
    if bands.quantity == "lowest_voltage":
        out.append(("The band was moved to this bank's level", f"by {_moved(bands)}"))
    sides = [_side(bands, side) for side in ("below", "above")]
    sides = [one for one in sides if one]
    return out + ([("Where they lie", "; ".join(sides))] if sides else [])


def _moved(bands):
    """By how much a band of voltages was moved, in words."""
    sign = "+" if bands.shift > 0.0 else ""
    most = ", the most that is put down to a bank's own curve" if bands.at_limit else ""
    return f"{sign}{number(bands.shift, 2)} V{most}"


def moved_bands(bands):
    """What was done to the bands of a voltage, as a sentence with a space before it; empty for other quantities."""
    if bands.quantity != "lowest_voltage":
        return ""
    return (
        f" The bands were moved by {_moved(bands)}. The log differs by so much on most days: each bank has a voltage "
        "curve of its own, and each voltmeter an error."
    )


def _beyond(bands, side):
    """Distance beyond the band of the days on one side of it, and the number of all days."""
    with np.errstate(invalid="ignore"):
        far = bands.bands[0] - bands.logged if side == "below" else bands.logged - bands.bands[4]
        return far[far > 0.0], int(np.isfinite(far).sum())


def _side(bands, side):
    far, days = _beyond(bands, side)
    if not far.size:
        return ""
    low, middle, high = np.quantile(far, (0.0, 0.5, 1.0))
    digits = 2 if bands.quantity == "lowest_voltage" else 1
    span = "" if far.size == 1 else f" in the middle ({number(low, digits)} to {number(high, digits)})"
    return f"{far.size} of {days} days {side} it, by {number(middle, digits)} {_distance_unit(bands)}{span}"


def _distance_unit(bands):
    return "points" if unit(bands) == "%" else unit(bands)


def has_days(comparison):
    """Whether the log is long enough, and any of its days whole enough, to be compared with the design's band."""
    return not comparison.hours.short and bool(np.isfinite(comparison.bands.logged).any())


def _gaps(gaps):
    if not gaps.count:
        return "none"
    share = f"{100 * gaps.share:.1f} %" if gaps.share >= 0.001 else "less than 0.1 %"
    return (
        f"{gaps.count}, {number(gaps.hours, 1)} h together, {share} of the log; the longest from {gaps.longest[0]} "
        f"to {gaps.longest[1]}"
    )


def _nights(gaps):
    more = ", more than chance explains" if gaps.by_night else ""
    return f"{gaps.nights_stopped} of {gaps.nights}{more}"


def _every(step):
    """Time between rows in words."""
    if step >= DAILY_S:
        return "a day"
    return (
        f"{number(step / 3600.0, 1).removesuffix('.0')} h"
        if step >= 3600.0
        else f"{number(step / 60.0, 0)} min"
    )


def outside_design(comparison):
    """Whether more days lie outside the design's band than one log in twenty has."""
    return comparison.bands.outside > comparison.bands.most


def lean(bands):
    """Side on which more of the days outside the design's band lie; "below" or "above"."""
    return max(("below", "above"), key=lambda side: _beyond(bands, side)[0].size)


def band_title(comparison):
    """Title of the picture of the days."""
    bands = comparison.bands
    for side in ("below", "above"):
        far, days = _beyond(bands, side)
        if far.size and far.size == days:
            digits = 2 if bands.quantity == "lowest_voltage" else 1
            by = number(float(np.median(far)), digits)
            return f"Every day lies {side} the design's band, by {by} {_distance_unit(bands)} in the middle"
    share = f"{100 * bands.outside:.0f} % of the days lie outside the design's band"
    if outside_design(comparison):
        return share
    if bands.outside > MANY_DAYS:
        return f"{share}, as in some systems as designed"
    return f"The days are as in the design: {share}, which is usual"


def unit(bands):
    """Unit of the quantity of the picture."""
    return UNITS[bands.quantity]


def listed(words):
    """Words joined by commas and "and".

    Parameters
    ----------
    words : sequence of str
    """
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
