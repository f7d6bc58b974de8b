"""Hold a log against a study: everything from the file to the findings; the command writes them out."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.classification import findings, told
from darkspell.log_analysis.hourly_means import LogHours, hours_of
from darkspell.log_analysis.inference import Bench, HourLog, Posterior, expected_sun, infer
from darkspell.log_analysis.log_simulator import LANES
from darkspell.log_analysis.reader import read_log
from darkspell.log_analysis.settings_estimate import Setting, setting
from darkspell.log_analysis.weather import known_clearness

MEMBERS = 256


@dataclass(frozen=True)
class Comparison:
    """What a log says about a study.

    Parameters
    ----------
    name : str
        Of the log's file.
    hours : LogHours
    found : list of darkspell.log_analysis.classification.Told
        Load, array, capacity, offset, efficiency.
    posterior : Posterior
    setting : Setting
    weather_known : bool
    weather_words : str
    clearness : (float, float, float)
        Mean clearness of the log's days over the climate's, and its interval.
    clearness_rank : float
        Share of years of the climate that are duller over the same dates.
    expected : float64 array [lanes, days, 2]
        Charge in and out of the bank by day as designed, under the same weather [Ah].
    logged : float64 array [days, 2]
        The same from the log; NaN on days with gaps.
    notes : list of str
    """

    name: str
    hours: LogHours
    found: list
    posterior: Posterior
    setting: Setting
    weather_known: bool
    weather_words: str
    clearness: tuple
    clearness_rank: float
    expected: np.ndarray
    logged: np.ndarray
    notes: list


def compare_log(study, assembly, path, seed=None):
    """Compare a log with a study.

    Parameters
    ----------
    study : darkspell.study.Study
    assembly : darkspell.simulation.system.Assembly
    path : path-like
        The log, a CSV.
    seed : int, optional
        Of the comparison's draws; the study's if not given.

    Returns
    -------
    Comparison

    Raises
    ------
    darkspell.core.errors.StudyError
        If the log cannot be read.
    """
    seed = study.engine.seed if seed is None else seed
    shunt = study.monitors[study.monitor]
    rows = read_log(path, study.log, study.site.utc_offset_h)
    hours = hours_of(rows, assembly.calendar, study.system.nominal_voltage_v, shunt.capacity_set_ah)
    known, words = known_clearness(study, assembly.calendar, hours.dates)
    bench = Bench(assembly, hours.log.hours, known, seed)
    log, late = in_step(bench, hours.log, known is not None)
    posterior = infer(assembly, log, known, seed, bench)
    found = findings(posterior, shunt.offset_ma)
    counted = setting(hours.flows, hours.last_soc, hours.jumps, seed)
    found.append(
        told(
            "efficiency", counted.efficiency, counted.efficiency_low, counted.efficiency_high,
            shunt.ah_efficiency_set_pct / 100.0, constant("log_analysis", "efficiency_tolerance"),
        )
    )  # fmt: skip
    rank, ratio = clearness_rank(assembly, hours.log.hours, known)
    weather = (
        (ratio,) * 3
        if known is not None
        else tuple(getattr(posterior, k)[4] for k in ("middle", "low", "high"))
    )
    return Comparison(
        rows.name, hours, found, posterior, counted, known is not None, words, weather, rank,
        as_designed(bench), daily_charge(log), [*rows.notes, *hours.events, *late],
    )  # fmt: skip


def clearness_rank(assembly, hours, known):
    """Share of the climate's years that are duller than the known days, and their ratio to its mean."""
    from darkspell.climate.itinerary import by_place, parts_of
    from darkspell.weather.daily_clearness import daily_clearness

    if known is None:
        return np.nan, np.nan
    members, days = np.arange(MEMBERS), np.unique(hours // 24)
    days = days[np.isfinite(known[days])]
    climate, calendar, seed = assembly.climate, assembly.calendar, assembly.study.engine.seed
    drawn = [daily_clearness(one, calendar, members, members, seed) for one in parts_of(climate)]
    usual = by_place(drawn, climate, calendar)[:, days].mean(1)
    own = known[days].mean()
    return float((usual < own).mean()), float(own / usual.mean())


def in_step(bench, log, known):
    """The log moved by whole hours to where the sun says it belongs, and what was done in a sentence."""
    if not log.has_current:
        return log, []
    sun = expected_sun(bench, known)
    level = np.nan_to_num(log.current, nan=0.0)
    # The rise in the morning, before the bank is full, is what a clock is judged by.
    rise, light = (np.maximum(np.diff(part, prepend=part[0]), 0.0) for part in (level, sun))
    rise, light = (part.reshape(-1, 24).sum(0) for part in (rise, light))
    if rise.sum() <= 0.0 or light.sum() <= 0.0:
        return log, []
    shifts = np.arange(-11, 13)
    late = int(shifts[np.argmax([np.roll(rise, -by) @ light for by in shifts])])
    if abs(late) < 2:
        return log, []
    moved = [np.roll(part, -late) for part in (log.current, log.voltage)]
    for part in moved:
        part[slice(-late, None) if late > 0 else slice(-late)] = np.nan  # what the roll brought round
    way = "late" if late > 0 else "early"
    note = f"By the sun the log's clock is about {abs(late)} h {way}; it was moved. Set log.time_zone if that is why."
    return HourLog(log.hours, *moved, log.has_current, log.has_voltage), [note]


def as_designed(bench):
    """Charge in and out by day of lanes in which nothing differs [Ah]; float64 [lanes, days, 2]."""
    count = LANES * bench.copies * len(bench.blocks)
    asked = np.ones((4, count))
    asked[3] = 0.0
    lanes = bench.lanes(asked, np.random.default_rng([bench.seed, 29]))
    current = lanes.current[:MEMBERS].reshape(min(count, MEMBERS), -1, 24)
    return np.stack([np.maximum(current, 0).sum(2), np.maximum(-current, 0).sum(2)], axis=2)


def daily_charge(log):
    """Charge in and out by day [Ah], days with more than two hours missing NaN; float64 [days, 2]."""
    current = log.current.reshape(-1, 24)
    whole = np.isfinite(current).sum(1) >= 22
    with np.errstate(invalid="ignore"):
        parts = np.nansum(np.maximum(current, 0), 1), np.nansum(np.maximum(-current, 0), 1)
    return np.where(whole[:, None], np.stack(parts, axis=1), np.nan)
