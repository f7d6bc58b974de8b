"""The loads of a study as parts: how much each uses, and at which hours of the day it may run.

A part that runs through its whole window has one course. Any other is planned evenly over its window, but runs
evenly, by the habits of people (an evening and a morning; Widen & Wackelgard, Applied Energy 87 (2010) 1880-1892),
or in blocks at hours of its own: a timer, a heater before dawn, a pump at noon. All of these are candidates.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.loads.hourly_loads import is_even

CANDIDATES = 240
THROUGHOUT = 0.85  # running time over the window from which on its hours are known
MIXED = 0.2, 0.4  # shares of the candidates that are even and that follow habits; the others are blocks
CYCLING = 0.6, 0.0  # the same of what a thermostat or a pump switches all day


@dataclass(frozen=True)
class LoadParts:
    """Parts of the load, before a log is read.

    Parameters
    ----------
    courses : float array [parts, candidates, 24]
        Power by hour of the day over the log's dates that a factor of 1 means [W].
    choices : int array [parts]
        How many of the candidates count; 1 where the hours are known.
    mean : float array [parts]
        Factor expected before the log is read [-]; 0 for what the study does not know.
    covariance : float array [parts, parts]
        Of the factors.
    block_wh : float
        Error of the daily energy that rows an hour apart leave where appliances run in one block a day [Wh].
    by_night : int array [parts]
        How many of the candidates count in the hours without sun over many days; `choices` by default.
    """

    courses: np.ndarray
    choices: np.ndarray
    mean: np.ndarray
    covariance: np.ndarray
    block_wh: float = 0.0
    by_night: np.ndarray | None = None

    def __post_init__(self):
        if self.by_night is None:
            object.__setattr__(self, "by_night", self.choices)


def load_parts(fixed, moving, planned, rng):
    """Parts of a study's load; `LoadParts`.

    Parameters
    ----------
    fixed : list of float arrays [24]
        Power of what runs through its window or is never switched off, by hour of the day [W].
    moving : list of (window, energy, running, kinds)
        Of each other appliance: share of each hour in its window, float64 [24], sum 1; daily energy over the log's
        dates [Wh]; running time of a day of use [h]; `MIXED` or `CYCLING`.
    planned : float
        Mean of the whole load [W].
    rng : numpy.random.Generator
    """
    rows = [np.tile(course, (CANDIDATES, 1)) for course in fixed]
    rows += [energy * candidates(window, running, kinds, rng) for window, energy, running, kinds in moving]
    rows.append(planned * unknown_courses(rng))
    count = len(rows)
    own = np.full(count, constant("log_analysis", "own_load_sd"))
    mean, common = np.ones(count), np.full(count, constant("log_analysis", "common_load_sd"))
    mean[-1], common[-1], own[-1] = 0.0, 0.0, constant("log_analysis", "unknown_load_sd")
    choices = np.array([1] * len(fixed) + [CANDIDATES] * (count - len(fixed)))
    # What a thermostat switches does not keep to the same hours of night for weeks.
    night = [1] * len(fixed) + [
        int(sum(kinds) * CANDIDATES) if kinds is CYCLING else CANDIDATES for *_, kinds in moving
    ]
    # A run that is sampled once an hour is met half an hour too often or too seldom, evenly distributed.
    single = [energy / max(running, 1.0) for _, energy, running, kinds in moving if kinds is MIXED]
    missed = np.sqrt(np.sum(np.square(single)) / 12.0)
    covariance = np.outer(common, common) + np.diag(own**2)
    return LoadParts(np.array(rows), choices, mean, covariance, float(missed), np.array([*night, CANDIDATES]))


def candidates(window, running, kinds, rng):
    """Courses that an appliance may have, as shares of its day; float64 [candidates, 24], sums 1.

    Parameters
    ----------
    window : float array [24]
        Share of each hour in the window, sum 1.
    running : float
        Running time of a day of use [h].
    kinds : (float, float)
        `MIXED` or `CYCLING`.
    rng : numpy.random.Generator
    """
    out = np.empty((CANDIDATES, 24))
    even, habit = int(kinds[0] * CANDIDATES), int(sum(kinds) * CANDIDATES)
    out[:even] = window
    noise = np.exp(constant("log_analysis", "course_logit_sd") * rng.standard_normal((habit - even, 24)))
    out[even:habit] = window * habits(habit - even, rng) * noise
    inside = window > 0.0
    out[habit:] = inside * blocks(CANDIDATES - habit, inside, running, rng)
    return out / out.sum(1, keepdims=True)


def habits(count, rng):
    """Activity over the hours of a day, with an evening and a morning of any strength [-]; float64 [count, 24].

    Parameters
    ----------
    count : int
    rng : numpy.random.Generator
    """
    middle = np.arange(24) + 0.5
    strength, evening = rng.uniform(0.0, 4.0, (count, 1)), rng.normal(19.5, 1.2, (count, 1))
    away = (middle - evening + 12.0) % 24.0 - 12.0
    morning = rng.uniform(0.0, 2.5, (count, 1)) * np.exp(-0.5 * ((middle - 8.0) / 1.8) ** 2)
    return 1.0 + strength * np.exp(-0.5 * (away / 2.2) ** 2) + morning


def blocks(count, inside, running, rng):
    """Runs of an appliance at the same hours each day, their edges blurred; float64 [count, 24].

    Parameters
    ----------
    count : int
    inside : bool array [24]
        Hours of the window.
    running : float
        Running time of a day of use [h].
    rng : numpy.random.Generator
    """
    hours, length = np.arange(24) + 0.5, np.maximum(running * rng.uniform(0.8, 1.4, (count, 1)), 0.5)
    middle = rng.choice(np.flatnonzero(inside), (count, 1)) + rng.random((count, 1))
    away = np.abs((hours - middle + 12.0) % 24.0 - 12.0)
    edge = rng.uniform(0.3, 1.5, (count, 1))
    return 1.0 / (1.0 + np.exp(np.minimum((away - 0.5 * length) / (0.5 * edge), 50.0))) + 1e-6


def unknown_courses(rng):
    """Courses of what the study does not know, or of what is not there [-]; float64 [candidates, 24], means 1.

    Parameters
    ----------
    rng : numpy.random.Generator
    """
    begin = rng.integers(0, 24, (CANDIDATES, 1))
    length = rng.choice([1, 2, 4, 8, 12, 24], (CANDIDATES, 1))
    return ((np.arange(24) - begin) % 24 < length) * 24.0 / length


def study_parts(system, log_hours, rng):
    """Steady loads by the hour, and the parts of the load; dict for `darkspell.log_analysis.quantities.Expected`.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    log_hours : int64 [H]
        Hours of the study year that the log covers.
    rng : numpy.random.Generator
    """
    hour, days = log_hours % 24, np.unique(log_hours // 24)
    own = np.full(log_hours.size, system.study.self_consumption_w)
    steady, fixed, moving, shed = own, [own], [], 0.0
    for one in system.appliances:
        use = one.use_by_date()[system.calendar.day_of_year - 1]
        energy = one.daily_energy * one.chance_of_use
        if one.series is not None:
            energy, use = float(one.series.sum(axis=1).mean()), np.ones(365)
        mean, window = energy * use[days].mean(), window_share(one)
        shed += mean * (one.tier == "deferrable")
        if one.series is not None or is_even(one):
            steady = steady + (energy * window)[hour] * use[log_hours // 24]
        if one.series is not None or one.hours_per_day >= THROUGHOUT * one.window_length:
            fixed.append((energy * window)[hour] * use[log_hours // 24])
        elif mean > 0.0:
            moving.append((window, mean, float(one.hours_per_day), CYCLING if is_even(one) else MIXED))
    fixed = [by_clock(part, hour) for part in fixed if part.any()]
    planned = float(sum(part.mean() for part in fixed) + sum(part[1] for part in moving) / 24.0)
    return dict(
        steady=steady, parts=load_parts(fixed, moving, planned, rng), planned=planned,
        deferrable_share=float(shed / 24.0 / planned),
    )  # fmt: skip


def by_clock(values, hour):
    """Means by hour of the day; float64 [24].

    Parameters
    ----------
    values : float array [H]
    hour : int array [H]
        Hour of the day of each.
    """
    return np.array([values[hour == h].mean() for h in range(24)])


def window_share(appliance):
    """Share of each hour of the day in an appliance's window; float64 [24], sum 1.

    Parameters
    ----------
    appliance : darkspell.loads.budget.Appliance
    """
    edges = np.arange(25.0)
    out = np.zeros(24)
    for shift in (-24.0, 0.0, 24.0):
        start = appliance.window_start_h + shift
        stop = start + appliance.window_length
        out += np.maximum(np.minimum(edges[1:], stop) - np.maximum(edges[:-1], start), 0.0)
    return out / out.sum()
