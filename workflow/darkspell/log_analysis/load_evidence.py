"""Load by hour of the day, out of hours in which the current of the bank shows it.

By night what leaves the bank is the load. By day, before the charger limits the current, it is the load less what
the array gives: hours of dim light say more of the load, hours of strong light more of the array, and both are read
together. Hours of the day that the log never shows keep what the study plans, as uncertain as daily courses of
people are; what is seen at other hours moves them, as far as both belong to the same appliances.

The state is an ensemble of daily courses and of the array's level, corrected by each observation in proportion to
its certainty (ensemble Kalman update with perturbed observations: Burgers, van Leeuwen & Evensen, Monthly Weather
Review 126 (1998) 1719-1724).
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import disconnected_hours, unlimited_hours
from darkspell.log_analysis.quantities import DRAWS

LEAST_SAMPLES = 3  # hours of one time of day
COARSE = 3.0  # errors of the light where rows are an hour apart, over those of closer rows
LIGHT = (0.0, 0.6, 1.5, 4.0, 10.0)  # array current over the load's: limits of the classes of light


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
    """

    clock: np.ndarray
    power: np.ndarray
    variance: np.ndarray
    array: np.ndarray
    gain: np.ndarray
    volts: float


def night_courses(hours, expected, depth, offset, reasons, rng):
    """Daily courses of the load after the nights are read [W]; float64 [draws, 24].

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
    use = _serving(hours, expected, depth, offset)
    if unserved_share(hours, expected, depth, offset) > constant("log_analysis", "unserved_limit"):
        reasons["load"] = "the bank was so low that loads were switched off, or may have been"
        return expected.courses
    if not hours.measured_load:
        dark = expected.envelope <= 0.0
        use &= dark & np.roll(dark, 1) & np.roll(dark, -1)
    if use.sum() < constant("log_analysis", "least_night_hours"):
        reasons["load"] = "too few hours of night with a current"
        return expected.courses
    seen = seen_power(hours, expected, use)
    operator = _by_clock(seen, 24)
    return np.maximum(_updated(expected.courses, operator, _shown(seen, hours, offset, rng), seen, rng), 0.0)


def day_courses(hours, expected, depth, offset, courses, array, rng):
    """Daily courses after hours of light are read as well [W]; float64 [draws, 24].

    Parameters
    ----------
    hours, expected, depth, offset, rng
        As for `night_courses`.
    courses : float array [draws, 24]
        From `night_courses`.
    array : float array [draws]
        Array factor [-].
    """
    if hours.measured_load:
        return courses
    volts = _volts(hours, expected)
    usual = np.median(courses.mean(1)) / volts
    level = array * np.exp(constant("log_analysis", "dim_light_sd") * rng.standard_normal(DRAWS))
    state = np.column_stack([courses, level])
    serving = _serving(hours, expected, depth, offset) & (expected.envelope > 0.0)
    middle = float(np.median(array))
    for use in _light_classes(hours, expected, depth, usual):
        seen = seen_power(hours, expected, use & serving, middle)
        if not seen.clock.size:
            continue
        operator = _by_clock(seen, 25)
        operator[:, 24] = -seen.array
        # The share of the beam in dim light, and the modules' efficiency, differ from one class to the next.
        error = constant("log_analysis", "light_class_sd") * seen.gain * seen.array
        error = error * (COARSE if hours.coarse else 1.0)
        shown = _shown(seen, hours, offset, rng) + rng.standard_normal((DRAWS, 1)) * error
        shared = np.outer(error, error)
        state = _updated(state, operator, shown, seen, rng, shared)
    return np.maximum(state[:, :24], 0.0)


def _light_classes(hours, expected, depth, usual):
    """Hours by the light, dimmest first; list of bool arrays [H].

    Where the weather of the dates is not known, only hours in which even a clear sky gives less than the load takes.
    """
    if not expected.weather_known:
        return [expected.envelope < LIGHT[1] * usual]
    ratio = expected.array.mean(1) / usual
    free = unlimited_hours(hours, expected, depth)
    out = [(ratio < LIGHT[1])]
    out += [(ratio >= low) & (ratio < high) & free for low, high in zip(LIGHT[1:-1], LIGHT[2:], strict=True)]
    return out


def _serving(hours, expected, depth, offset):
    """Hours with a current in which nothing is disconnected; bool [H]."""
    use = np.isfinite(hours.load_current if hours.measured_load else hours.current)
    if expected.deferrable_share <= 0.0:
        return use & ~disconnected_hours(hours, expected, float(np.median(offset)))
    shed = 0.9 * expected.shed_depth
    with np.errstate(invalid="ignore"):
        use &= ~(depth > shed * expected.capacity)
        low = hours.soc < 1.0 - shed
        use &= ~(low & np.isnan(depth)) if hours.measured_current else ~low & (hours.soc < 0.995)
    return use & ~disconnected_hours(hours, expected, float(np.median(offset)))


def unserved_share(hours, expected, depth, offset):
    """Greatest share of the energy asked for that may not have been served [-].

    Hours in which everything was disconnected, or in which the bank was low enough for it, and the deferrable part in
    hours in which the bank was low enough to shed it, or not known not to be.

    Parameters
    ----------
    hours, expected, depth, offset
        As for `night_courses`.
    """
    known = np.isfinite(hours.current)
    shed = 0.9 * expected.shed_depth
    with np.errstate(invalid="ignore"):
        if not hours.measured_current:
            low, shed = hours.soc < constant("log_analysis", "low_reading"), hours.soc < 1.0 - shed
            unknown = np.zeros(known.size, bool)
        else:
            low = hours.voltage < expected.low_resting
            shed, unknown = depth > shed * expected.capacity, np.isnan(depth)
    if not known.any():
        return 1.0
    off = low | disconnected_hours(hours, expected, float(np.median(offset)))
    idle = _idle(hours, expected, float(np.median(offset)))
    if np.isfinite(hours.voltage).any():
        off |= idle & (np.convolve(low, np.ones(49), mode="same") > 0.5)
    elif hours.measured_current:
        # Weeks without a full charge and without a voltage may hide anything.
        with np.errstate(invalid="ignore"):
            off |= unknown | (idle & (depth > 0.3 * expected.capacity))
    shed_only = (shed | unknown) & ~off
    return float(off[known].mean() + expected.deferrable_share * shed_only[known].mean())


def _idle(hours, expected, offset):
    """Dark hours in which hardly anything flows out of the bank; bool [H]."""
    least = max(0.25 * float(expected.steady.mean()), 0.1 * expected.planned) / expected.nominal
    amps = hours.load_current if hours.measured_load else offset - hours.current
    with np.errstate(invalid="ignore"):
        return (amps < least) & (expected.envelope <= 0.0)


def shed_factor(hours, expected, depth, rng):
    """Load asked for over that served, where deferrable loads may have been shed unseen [-]; float64 [draws].

    Weeks after the last full charge nobody knows how deep the bank is.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    depth : float64 [H]
        Depth of discharge [-].
    rng : numpy.random.Generator
    """
    known = np.isfinite(hours.current)
    unknown = float(np.isnan(depth[known]).mean()) if known.any() and hours.measured_current else 0.0
    share = min(expected.deferrable_share, 0.9) * rng.uniform(0.0, 1.0, DRAWS)
    return 1.0 + unknown * share / (1.0 - share)


def _volts(hours, expected):
    """Voltage by hour [V]; that at rest where the log has none."""
    return np.where(np.isfinite(hours.voltage), hours.voltage, expected.resting)


def seen_power(hours, expected, use, array=0.0):
    """Power out of the bank, or taken by the loads where that is measured, by hour of the day; `Seen`.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    use : bool array [H]
    array : float
        Array factor by which the light of an hour explains its power [-].
    """
    volts, clock = _volts(hours, expected), np.arange(use.size) % 24
    planned = np.array([expected.steady[clock == h].mean() for h in range(24)])
    amps = hours.load_current if hours.measured_load else -hours.current
    power = amps * volts - (expected.steady - planned[clock])
    days = np.isfinite(amps).sum() / 24.0
    given = expected.array.mean(1) * volts
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
        rows.append((h, power[at].mean(), spread, given[at].mean(), gain))
    table = np.array(rows).reshape(-1, 5)
    middle = float(volts[use].mean()) if use.any() else float(expected.resting)
    return Seen(table[:, 0].astype(int), table[:, 1], table[:, 2], table[:, 3], table[:, 4], middle)


def _load_zero(hours, offset, rng):
    """Error of the load's own sensor as added to its reading, its sign reversed [A]; float64 [draws].

    By night the charge current shows its own error; what is left of the net current's is the load's.
    """
    shown = hours.charge_error
    left = np.median(offset) - shown
    usual = hours.zero_sd * rng.standard_normal(DRAWS)
    return usual if abs(left) < 3.0 * max(hours.zero_sd, float(np.std(offset))) else offset - shown


def _by_clock(seen, size):
    out = np.zeros((seen.clock.size, size))
    out[np.arange(seen.clock.size), seen.clock] = 1.0
    return out


def _shown(seen, hours, offset, rng):
    """Power out of the bank in each draw, its offset taken off [W]; float64 [draws, k]."""
    known = np.isfinite(hours.voltage).any()
    scale = constant("log_analysis", "power_sd_measured" if known else "power_sd_assumed")
    factor = 1.0 + scale * rng.standard_normal(DRAWS)
    # A small steady current is rounded the same way in every hour.
    rounded = constant("log_analysis", "rounding_share") * hours.resolution * rng.standard_normal(DRAWS)
    zero = rounded + (_load_zero(hours, offset, rng) if hours.measured_load else offset)
    return factor[:, None] * seen.power + (zero * seen.volts)[:, None]


def _updated(state, operator, shown, seen, rng, shared=0.0):
    """Ensemble corrected by what is seen; float64 [draws, n].

    Parameters
    ----------
    state : float array [draws, n]
    operator : float array [k, n]
        What each observation is of the state.
    shown : float array [draws, k]
        Observations, with the errors that their draws share [W].
    seen : Seen
    rng : numpy.random.Generator
    shared : float array [k, k]
        Covariance of those errors [W2].
    """
    usual = np.median(state[:, :24].mean(1))
    own = seen.variance + (constant("log_analysis", "course_sd") * usual) ** 2
    spread = np.cov(state, rowvar=False) @ operator.T
    gain = np.linalg.solve(operator @ spread + np.diag(own) + shared, spread.T).T
    perturbed = shown + np.sqrt(own) * rng.standard_normal(shown.shape)
    return state + (perturbed - state @ operator.T) @ gain.T
