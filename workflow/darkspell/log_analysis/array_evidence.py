"""Array output, from hours in which the charger does not limit the current."""

from dataclasses import replace

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.full_charge import bulk_hours
from darkspell.log_analysis.quantities import DRAWS

AGREES = 0.15  # of a day's ratio with that of the log
STRONG = (4.0, 1.5)  # array current over the load's


def array_draws(hours, expected, depth, offset, courses, draws, reasons, rng):
    """Draws of the array factor [-]; None where the array cannot be told.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    depth : float array [H]
        From `darkspell.log_analysis.full_charge.depth_of`.
    offset : float array [draws]
        Current shown when none flows [A].
    courses : float array [draws, 24]
        Load by hour of the day [W], from `darkspell.log_analysis.load_evidence.load_courses`.
    draws, reasons : dict
        Filled: the draws if the array can be told, otherwise why not.
    rng : numpy.random.Generator
    """
    if not expected.weather_known:
        reasons["array"] = "the weather of the dates is not known (log.weather_file)"
        return None
    if expected.steep and not np.isfinite(hours.voltage).any():
        reasons["array"] = "without a voltage nobody sees when the charger of such a bank holds back"
        return None
    use = bulk_hours(hours, expected, depth) & high_sun(expected)
    least = constant("log_analysis", "least_bulk_hours")
    volts = np.where(np.isfinite(hours.voltage), hours.voltage, 1.02 * expected.resting)
    by_clock = np.median(courses, axis=0)
    served = by_clock[np.arange(use.size) % 24] / volts
    if hours.measured_load:
        hours, served = replace(hours, current=hours.charge_current), np.zeros(use.size)
        offset = hours.charge_error + hours.zero_sd * rng.standard_normal(DRAWS)
        courses = np.zeros((DRAWS, 24))
    often = often_unlimited(use, expected)
    single = often.sum() < least  # hours of days on which the charger limited the current later than usual
    use = use if single else often
    # Where the loads take most of the current, their own uncertainty hides the array's.
    for share in STRONG:
        strong = use & (expected.array.mean(1) > share * served)
        if strong.sum() >= 2 * least:
            use = strong
            break
    if use.sum() < least:
        reasons["array"] = "too few hours of high sun before the charger limits the current"
        return None
    found, agreeing = _dated_ratio(hours, expected, use, volts, served, offset, courses, single, rng)
    if found is None:
        reasons["array"] = "too few days of charging before the charger limits the current"
        return None
    model, record = constant("log_analysis", "array_model_sd"), expected.weather_sd
    coarse = constant("log_analysis", "coarse_rows_sd") if hours.coarse else 0.0
    coarse = constant("log_analysis", "hourly_means_sd") if hours.hourly_means else coarse
    snow = constant("log_analysis", "snow_sd") * frost_share(expected)
    taper = constant("log_analysis", "early_taper_sd") if expected.steep else 0.0
    blind = 0.0 if np.isfinite(hours.voltage).any() else constant("log_analysis", "blind_taper_sd")
    low_sun = constant("log_analysis", "low_sun_sd") * (expected.tilt_gain[use].mean() - 1.0)
    own = np.array([model, record, coarse, snow, taper, blind, low_sun])
    noise = np.sqrt((own**2).sum()) * rng.standard_normal(DRAWS)
    # Snow that stays hides a part of the array that no day of the log may show; but it hides as much on many days
    # of different weather only by chance.
    hidden = constant("log_analysis", "snow_hides") * frost_share(expected) * _disagreement(agreeing)
    draws["array"] = np.maximum(found * np.exp(noise) / (1.0 - hidden * rng.random(DRAWS)), 0.02)
    return draws["array"]


def _disagreement(share):
    """How far snow may hide what the days show, 0.15 to 1, by the share of days that agree with their quantile."""
    most, span = constant("log_analysis", "snow_agreement")
    return float(np.clip((most - share) / span, 0.15, 1.0))


def high_sun(expected):
    """Hours in which a clear sky gives a good part of its greatest current; bool [H].

    With the sun lower a hill, a tree or the edge of a roof takes its part, which no study knows.
    """
    return expected.envelope > constant("log_analysis", "high_sun") * expected.envelope.max()


def often_unlimited(use, expected):
    """Hours among `use` whose time of day lies before the charger limits the current on most days; bool [H].

    At other times of day the hours left are those that were duller than usual, and the array would seem too small.
    """
    clock = np.arange(use.size) % 24
    light = high_sun(expected)
    share = np.array(
        [use[(clock == h) & light].mean() if (light & (clock == h)).any() else 0.0 for h in range(24)]
    )
    least = constant("log_analysis", "often_unlimited_steep" if expected.steep else "often_unlimited")
    return use & (share >= least)[clock]


def frost_share(expected):
    """How far snow has to be reckoned with, 0 to 1, by the share of freezing days.

    Parameters
    ----------
    expected : Expected
    """
    return min(float(expected.freezing.mean()) / constant("log_analysis", "snow_chance"), 1.0)


def held_back_unseen(hours, expected):
    """Whether the charger may hold back current before the log shows it.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    return expected.steep or not np.isfinite(hours.voltage).any()


def day_quantile(hours, expected):
    """Which of the days, by their ratio, stands for the array.

    Snow, and a charger that holds back early, take from some days and add to none.

    Parameters
    ----------
    hours : Hours
    expected : Expected
    """
    out = 0.5 + 0.25 * frost_share(expected)
    return max(out, 0.65) if held_back_unseen(hours, expected) else out


def _load_error(use, volts, courses):
    """Current of the loads in some hours less that of the median course, summed [Ah]; float64 [draws]."""
    weight = np.bincount(np.flatnonzero(use) % 24, 1.0 / volts[use], minlength=24)
    return (courses - np.median(courses, axis=0)) @ weight


def _dated_ratio(hours, expected, use, volts, served, offset, courses, single, rng):
    """Array factor under the weather of the dates, before the models' errors, and the share of days that agree.

    float64 [draws], or None where too few days show it; [-].
    """
    offered = expected.array[use].mean(1)
    given = hours.current[use] - np.median(offset) + served[use]
    ratio, error, spread, agreeing = _daily_ratio(
        np.flatnonzero(use) // 24, given, offered, day_quantile(hours, expected)
    )
    if ratio is None:
        return None, 0.0
    if single:  # what these days differ by, nobody knows the reason of
        error = np.hypot(error, constant("log_analysis", "single_days_share") * spread)
    extra = _load_error(use, volts, courses) - (offset - np.median(offset)) * use.sum()
    return ratio + error * rng.standard_normal(DRAWS) + extra / offered.sum(), agreeing


def _daily_ratio(day, given, offered, share):
    """Weighted quantile of the days' ratio of given to offered, its error, their spread, the share that agrees."""
    days, at = np.unique(day, return_inverse=True)
    offer, got = np.bincount(at, offered), np.bincount(at, given)
    keep = offer > 0.1 * np.median(offer)
    if keep.sum() < 4:
        return None, None, None, None
    ratio, weight = got[keep] / offer[keep], offer[keep]
    order = np.argsort(ratio)
    total = np.cumsum(weight[order])
    middle = float(ratio[order][np.searchsorted(total, share * total[-1])])
    spread = 1.4826 * float(np.median(np.abs(ratio - np.median(ratio))))
    agreeing = float((np.abs(ratio - middle) < AGREES * abs(middle)).mean())
    return middle, 1.25 * spread / np.sqrt(weight.sum() ** 2 / (weight**2).sum()), spread, agreeing
