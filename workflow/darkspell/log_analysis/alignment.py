"""Rows an hour apart do not say whether they are named by the beginning or the end of their hour."""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.evidence import evidence
from darkspell.log_analysis.full_charge import bulk_hours, depth_of, full_hours, unlimited_hours
from darkspell.log_analysis.quantities import CAUSES, DRAWS, Evidence

HALF_DAYS = 10
LEAST_OF_CLOCK = 4  # hours of one time of day
UNLIKE = "the means of the hours do not follow the weather's hours; see log.row_time and log.time_zone"
UNCLEAR = (
    "rows an hour apart do not follow the weather's hours: whether they are momentary values, or means named by "
    "another moment, cannot be told (log.rows_are, log.row_time)"
)
MOMENTARY = "rows an hour apart are momentary values, and clouds pass between them"


def aligned_evidence(hours, expected, rng):
    """Evidence of a log, whichever moment its rows are named by.

    Rows closer than half an hour say enough themselves; where they disagree with the weather's hours, only nights
    are read. Rows further apart may be means named by their beginning or end, or momentary values. The reading that
    follows the weather best is taken where the weather is known and tells them apart, else all that are as good.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    rng : numpy.random.Generator

    Returns
    -------
    darkspell.log_analysis.quantities.Evidence
    """
    if not hours.coarse:
        parts = disagreement(hours, expected)
        return _doubted(hours, expected, rng, parts) if parts else evidence(hours, expected, rng)
    readings = readings_of(hours, expected)
    why = {"means": UNLIKE, "samples": MOMENTARY}.get(hours.kind, UNCLEAR)
    if not expected.weather_known:
        return _both(readings, rng, MOMENTARY if hours.kind == "samples" else "")
    scores = [_agreement(*one) for one in readings]
    late = _coarse_lateness(hours, expected, max(scores), sum(not one[0].momentary for one in readings))
    if late:
        return _doubted(hours, expected, rng, [(0, hours.current.size // 24 - 1, late)])
    best = readings[int(np.argmax(scores))]
    if best[0].momentary:
        follows = _follows_at_moment(*best, max(scores))
    else:
        follows = max(scores) > constant("log_analysis", "means_agreement")
    if not follows:
        return _both(readings, rng, why)
    near = max(scores) - constant("log_analysis", "label_margin")
    close = [one for one, score in zip(readings, scores, strict=True) if score >= near]
    return evidence(*best, rng) if len(close) == 1 else _both(close, rng, "")


def readings_of(hours, expected):
    """What rows half an hour or more apart may mean; list of (Hours, Expected).

    Means named by their beginning, means named by their end, and momentary values.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    """
    out = []
    if hours.kind != "samples":
        out = [(hours, expected)] if hours.moment_known else [(hours, expected), (_earlier(hours), expected)]
    if hours.kind != "means" and expected.weather_known:
        out.append((replace(hours, momentary=True), at_moment(expected, hours.minute)))
    return out or [(hours, expected)]


def at_moment(expected, minute):
    """Expectation at one moment of each hour, between the means of the hours next to it; `Expected`.

    Parameters
    ----------
    expected : darkspell.log_analysis.quantities.Expected
    minute : float
        After the beginning of the hour, 0 to 60.
    """
    share = 0.5 - minute / 60.0
    other = 1 if share > 0.0 else -1  # the hour before, or the one after

    def between(values):
        return (1.0 - abs(share)) * values + abs(share) * np.roll(values, other, axis=0)

    return replace(expected, array=between(expected.array), envelope=between(expected.envelope))


def _follows_at_moment(hours, expected, score):
    """Whether momentary values follow the weather of their own hour, and that of no other hour better.

    Both are judged by the standard error of a correlation of so many hours.
    """
    error = 1.0 / np.sqrt(max(_unlimited(hours, expected).sum(), 1))
    sure = constant("log_analysis", "samples_agreement") * error
    margin = max(constant("log_analysis", "clock_margin"), error)
    others = [_agreement(moved(hours, shift), expected) for shift in (-2, -1, 1, 2)]
    return score > sure and max(others) < score + margin


def _doubted(hours, expected, rng, parts):
    """Evidence of a log whose hours disagree with the weather's in `parts`."""
    found = evidence(hours, expected, rng, light=False)
    # Which hours are dark is not known either: the sun of a dusk would pass for a load that is not there.
    draws = {name: part for name, part in found.draws.items() if name != "load"}
    reasons = {"load": "the times of the log and of the weather disagree", **found.reasons}
    return replace(found, draws=draws, reasons=reasons, clock=parts, night=None)


def _coarse_lateness(hours, expected, score, readings):
    """Hours by which rows an hour apart are late beyond what their naming explains; 0 where nothing shows it."""
    for shift, late in ((-readings, 1), (1, -1)):
        other = _agreement(moved(hours, shift), expected)
        if other > max(
            score + constant("log_analysis", "clock_margin"), constant("log_analysis", "clock_agreement")
        ):
            return late
    return 0


def _both(readings, rng, why):
    """Evidence of some readings together; `why` the array cannot be told, empty if it can."""
    parts = [evidence(*one, rng, light=not why) for one in readings]
    draws, reasons = {}, dict(parts[0].reasons)
    for name in CAUSES:
        if all(name in part.draws for part in parts):
            share = DRAWS // len(parts)
            draws[name] = np.concatenate([part.draws[name][:share] for part in parts])
        else:
            reasons.setdefault(name, next((part.reasons[name] for part in parts if name in part.reasons), ""))
    if why:
        draws.pop("array", None)
        reasons["array"] = why
        if "load" in draws and not readings[0][0].measured_load:  # nothing shows that the clock is right
            wide = constant("log_analysis", "night_only_sd") * rng.standard_normal(draws["load"].size)
            draws["load"] = draws["load"] * np.exp(wide)
    first = parts[0]
    return Evidence(draws, reasons, first.full, first.deepest, first.round_trip, night=first.night)


def _earlier(hours):
    """The same log, each row taken for the hour before."""
    return moved(hours, -1)


def moved(hours, shift):
    """A log whose values are taken for another hour, `shift` hours later; `Hours`.

    Parameters
    ----------
    hours : Hours
    shift : int
        Hours; negative is earlier.
    """

    def part(values):
        if values is None:
            return None
        out = np.full(values.size, np.nan)
        if shift < 0:
            out[:shift] = values[-shift:]
        else:
            out[shift:] = values[: values.size - shift]
        return out

    names = ("current", "voltage", "soc", "load_current", "charge_current")
    return replace(hours, **{name: part(getattr(hours, name)) for name in names})


def disagreement(hours, expected):
    """Parts of a log whose hours do not agree with those of the weather; list of (first day, last day, hours late).

    In each half of the log (summer time may begin or end in it) the current, before the charger limits it, is
    compared with what the array is expected to give, at the same hour and at one and two hours earlier and later.
    What days differ by at the same time of day is compared, so neither the course of the loads nor the hour at which
    the bank is full can pass for a wrong clock.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    days = hours.current.size // 24
    if not expected.weather_known or days < 2 * HALF_DAYS:
        return []
    full = full_hours(hours, expected)
    use = unlimited_hours(hours, expected, depth_of(hours, expected, full, 0.0))
    shifts = np.arange(-2, 3)
    margin = constant("log_analysis", "clock_margin")
    readings = [moved(hours, -int(shift)).current for shift in shifts]

    def best(first, last):
        part = use.copy()
        part[: 24 * first] = part[24 * (last + 1) :] = False
        scores = np.array([weather_correlation(reading, expected, part) for reading in readings])
        late = scores.max() - scores[2] > margin
        return (float(scores.max()), int(shifts[np.argmax(scores)])) if late else (0.0, 0)

    # Half a log has few hours: it counts only where it follows the weather well.
    sure = constant("log_analysis", "clock_agreement")
    halves = [
        (first, last, *best(first, last)) for first, last in ((0, days // 2 - 1), (days // 2, days - 1))
    ]
    out = [(first, last, late) for first, last, score, late in halves if score > sure]
    whole = best(0, days - 1)[1]
    return out or ([(0, days - 1, whole)] if whole else [])


def _unlimited(hours, expected):
    """Hours of daylight with a current that the charger does not limit yet; bool [H]."""
    full = full_hours(hours, expected)
    return bulk_hours(hours, expected, depth_of(hours, expected, full, 0.0)) & np.isfinite(hours.current)


def _agreement(hours, expected):
    """Correlation of the current with what the array is expected to give, before the charger limits it."""
    return weather_correlation(hours.current, expected, _unlimited(hours, expected))


def weather_correlation(current, expected, use):
    """Correlation of current and expected array, each less its mean of the same time of day; 0 where too few hours.

    Parameters
    ----------
    current : float array [H]
        NaN where not known [A].
    expected : Expected
    use : bool array [H]
        Hours in which the charger does not limit the current.
    """
    use = use & np.isfinite(current)
    clock = np.flatnonzero(use) % 24
    count = np.bincount(clock, minlength=24)
    often = (count >= LEAST_OF_CLOCK)[clock]
    if often.sum() < 24:
        return 0.0
    pair = np.array([expected.array[use].mean(1), current[use]], float)[:, often]
    clock = clock[often]
    means = np.array([np.bincount(clock, row, minlength=24) / np.maximum(count, 1) for row in pair])
    pair = pair - means[:, clock]
    size = np.sqrt((pair**2).sum(1).prod())
    return float((pair[0] * pair[1]).sum() / size) if size > 0.0 else 0.0
