"""Load by hour of the day, out of hours in which the current of the bank shows it.

By night what leaves the bank is the load. By day, before the charger limits the current, it is the load less what
the array gives: hours of dim light say more of the load, hours of strong light more of the array, and both are read
together. Hours of the day that the log never shows keep what the study plans, as uncertain as daily courses of
people are; what is seen at other hours moves them, as far as both belong to the same appliances.

What hours say is collected as a Gaussian likelihood of the daily course and of the array's factor, and
`load_sampler` draws courses of the study's parts in proportion to it.
"""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import unlimited_hours
from darkspell.log_analysis.load_sampler import Information, information, sampled
from darkspell.log_analysis.quantities import DRAWS
from darkspell.log_analysis.unserved_loads import after_disconnection, serving_hours, unserved_share

LEAST_SAMPLES = 3  # hours of one time of day
COARSE = 3.0  # errors of the light where rows are an hour apart, over those of closer rows
LIGHT = (0.0, 0.6, 1.5, 4.0, 10.0)  # array current over the load's: limits of the classes of light

UNKNOWN_ARRAY = (
    1.0,
    0.3,
)  # mean and standard deviation of the array's factor where the log does not tell it [-]
LEAST_SHARE = 0.3  # of a record's scatter within a time of day that counts as real, at the least
LEAST_ERROR = 0.01  # of a mean power over the planned one


@dataclass(frozen=True)
class Shown:
    """What the nights of a log say of the load.

    Parameters
    ----------
    known : darkspell.log_analysis.load_sampler.Information
    scale, zero : float arrays [draws]
        Errors that all hours share: a factor [-], and a current to be added to what is shown [A].
    """

    known: Information
    scale: np.ndarray
    zero: np.ndarray


@dataclass(frozen=True)
class Seen:
    """Power out of the bank by hour of the day, over the hours that may be used.

    Parameters
    ----------
    clock : int array [k]
        Hours of the day with enough of them.
    power : float array [k]
        Mean [W].
    variance : float array [k]
        Of that mean against the mean over all dates [W2].
    array : float array [k]
        Mean power that the array is expected to give then [W].
    gain : float array [k]
        Of the tilted modules over the horizontal under a clear sky [-].
    volts : float
        Mean voltage [V].
    shift : float array [k]
        How far the record's own error moves `array` [W].
    """

    clock: np.ndarray
    power: np.ndarray
    variance: np.ndarray
    array: np.ndarray
    gain: np.ndarray
    volts: float
    shift: np.ndarray


def load_courses(hours, expected, depth, offset, reasons, rng):
    """Daily courses of the load after the nights are read [W], and what they say; float64 [draws, 24], `Shown`.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    depth : float array [H]
        From `darkspell.log_analysis.full_charge.depth_of`.
    offset : float array [draws]
        Current shown when none flows [A].
    reasons : dict
        Filled where the nights do not tell the load.
    rng : numpy.random.Generator
    """
    use = serving_hours(hours, expected, depth, offset)
    if unserved_share(hours, expected, depth, offset) > constant("log_analysis", "unserved_limit"):
        reasons["load"] = "the bank was so low that loads were switched off, or may have been"
    if not hours.measured_load:
        dark = expected.envelope <= 0.0
        use &= dark & np.roll(dark, 1) & np.roll(dark, -1)
    if use.sum() < constant("log_analysis", "least_night_hours"):
        reasons["load"] = "too few hours of night with a current"
        use[:] = False
    seen = seen_power(hours, expected, use)
    shown = Shown(_information(seen, expected), *_shared_errors(hours, offset, rng))
    return _drawn(expected, shown, UNKNOWN_ARRAY, rng)[0], shown


def day_courses(hours, expected, depth, offset, courses, shown, array, rng):
    """Daily courses after hours of light are read as well [W]; float64 [draws, 24].

    Parameters
    ----------
    hours, expected, depth, offset, rng
        As for `load_courses`.
    courses : float array [draws, 24]
        From `load_courses`.
    shown : Shown
        From `load_courses`.
    array : float array [draws] or None
        Array factor [-]; None where the log does not tell it.
    """
    if hours.measured_load:
        return courses
    usual = np.median(courses.mean(1)) / _volts(hours, expected)
    level = 1.0 if array is None else float(np.median(array))
    serving = serving_hours(hours, expected, depth, offset) & (expected.envelope > 0.0)
    serving &= ~after_disconnection(hours, expected, offset)
    known, light = shown.known, true_light(expected)
    for dimmest, use in enumerate(_light_classes(hours, expected, depth, usual)):
        dim = dimmest == 0
        own = light * constant("log_analysis", "dim_light_gain") if dim else light
        seen = seen_power(hours, expected, use & serving, level, own)
        if not seen.clock.size:
            continue
        # The share of the beam in dim light, and the modules' efficiency, differ from one class to the next.
        sd = constant("log_analysis", "dim_light_sd" if dim else "light_class_sd")
        error = sd * seen.gain * seen.array * level
        error = error * (COARSE if hours.coarse else 1.0)
        shared = np.outer(error, error) + np.outer(seen.shift, seen.shift)
        known = known + _information(seen, expected, shared)
    # What the array gives is left open: its estimate rests on the nights' loads, and here on the same hours.
    return _drawn(expected, replace(shown, known=known), UNKNOWN_ARRAY, rng)[0]


def _drawn(expected, shown, array, rng):
    """Daily courses and array factors given what is shown."""
    own = constant("log_analysis", "course_sd") * expected.planned
    return sampled(expected.parts, shown.known, shown.scale, shown.zero, array, own, rng)


def _information(seen, expected, shared=None):
    """What mean powers by hour of the day say; `darkspell.log_analysis.load_sampler.Information`."""
    count = seen.clock.size
    operator = np.zeros((count, 25))
    operator[np.arange(count), seen.clock] = 1.0
    if shared is None:  # no sun, or loads measured apart
        shared = np.zeros((count, count))
    else:
        operator[:, 24] = -seen.array
    least = (LEAST_ERROR * expected.planned) ** 2
    return information(operator, np.diag(seen.variance + least) + shared, seen.power, seen.volts)


def true_light(expected):
    """Current that the array is expected to give, a record's own error of single hours allowed for [A]; float64 [H].

    Hours that a record shows as very dim were less dim than that on average, and very bright ones less bright: each
    is moved toward the mean of its time of day (regression dilution; Fuller, Measurement Error Models, 1987).

    Parameters
    ----------
    expected : darkspell.log_analysis.quantities.Expected
    """
    given = expected.array.mean(1).astype(float)
    if not expected.weather_known:
        return given
    out, clock = given.copy(), np.arange(given.size) % 24
    for h in range(24):
        at = clock == h
        part = given[at]
        if part.size < 2 or part.var() <= 0.0:
            continue
        error = constant("log_analysis", "dim_hour_sd") ** 2 * np.mean(part**2)
        out[at] = part.mean() + max(1.0 - error / part.var(), LEAST_SHARE) * (part - part.mean())
    return out


def _light_classes(hours, expected, depth, usual):
    """Hours by the light, dimmest first; list of bool arrays [H].

    Where the weather of the dates is not known, only hours in which even a clear sky gives less than the load takes.
    """
    if not expected.weather_known:
        # Nothing shows here whether the clock is right: no hour next to a bright one counts.
        bright = expected.envelope >= LIGHT[1] * usual
        return [~(bright | np.roll(bright, 1) | np.roll(bright, -1))]
    ratio = expected.array.mean(1) / usual
    free = unlimited_hours(hours, expected, depth)
    out = [(ratio < LIGHT[1])]
    out += [(ratio >= low) & (ratio < high) & free for low, high in zip(LIGHT[1:-1], LIGHT[2:], strict=True)]
    return out


def _volts(hours, expected):
    """Voltage by hour [V]; that at rest where the log has none."""
    return np.where(np.isfinite(hours.voltage), hours.voltage, expected.resting)


def seen_power(hours, expected, use, array=0.0, light=None):
    """Power out of the bank, or taken by the loads where that is measured, by hour of the day; `Seen`.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    use : bool array [H]
    array : float
        Array factor by which the light of an hour explains its power [-].
    light : float array [H], optional
        From `true_light`; what the record shows if not given.
    """
    volts, clock = _volts(hours, expected), np.arange(use.size) % 24
    planned = np.array([expected.steady[clock == h].mean() for h in range(24)])
    amps = hours.load_current if hours.measured_load else -hours.current
    power = amps * volts - (expected.steady - planned[clock])
    days = np.isfinite(amps).sum() / 24.0
    recorded = expected.array.mean(1) * volts
    given = recorded if light is None else light * volts
    rows = []
    for h in range(24):
        at = use & (clock == h)
        count = int(at.sum())
        if count < LEAST_SAMPLES:
            continue
        spread = float((power[at] + array * given[at]).var(ddof=1)) / count
        if not hours.coarse and hours.measured_current and array == 0.0:
            # Days without this hour may differ from those with it; means of all days need not be extended.
            spread *= max(1.0 - count / days, 0.0)
            spread += (hours.current_sd * volts[at].mean()) ** 2 / count
        gain = 1.0
        if array:
            gain = expected.tilt_gain[at].mean()
            spread += (constant("log_analysis", "dim_hour_sd") * gain * given[at].mean()) ** 2
        shift = (given - recorded)[at].mean()
        rows.append((h, power[at].mean(), spread, given[at].mean(), gain, shift))
    table = np.array(rows).reshape(-1, 6)
    middle = float(volts[use].mean()) if use.any() else float(expected.resting)
    return Seen(table[:, 0].astype(int), *table[:, 1:5].T, middle, table[:, 5])


def _load_zero(hours, offset, rng):
    """Error of the load's own sensor as added to its reading, its sign reversed [A]; float64 [draws].

    By night the charge current shows its own error; what is left of the net current's is the load's.
    """
    shown = hours.charge_error
    left = np.median(offset) - shown
    usual = hours.zero_sd * rng.standard_normal(DRAWS)
    return usual if abs(left) < 3.0 * max(hours.zero_sd, float(np.std(offset))) else offset - shown


def _shared_errors(hours, offset, rng):
    """Factor on all powers shown [-] and current to be added to them [A]; float64 [draws] each."""
    known = np.isfinite(hours.voltage).any()
    scale = constant("log_analysis", "power_sd_measured" if known else "power_sd_assumed")
    factor = 1.0 + scale * rng.standard_normal(DRAWS)
    # A small steady current is rounded the same way in every hour.
    rounded = constant("log_analysis", "rounding_share") * hours.resolution * rng.standard_normal(DRAWS)
    return factor, rounded + (_load_zero(hours, offset, rng) if hours.measured_load else offset)
