"""The study's own step over the dates of a log, with what is asked drawn anew in every lane.

Load and sky come from the rooms that the study itself uses, under seeds of this room's own. What is asked
(load scale, array yield, capacity, offset) scales traces that are made once: a bank of ``q`` times the
capacity is the same, per Ah, as one that meets ``1 / q`` times the powers. Short logs stand several times
in one year of the bank's driver, each time after some days of running in.
"""

from dataclasses import dataclass, fields, replace

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.log_analysis.logged_values import logged
from darkspell.simulation.input_series import TraceBlock, stochastic_days

ASKED = ("load", "array", "capacity", "offset")
SEED_SHIFT = 7_919_000  # the room's own draws: never those of the study's members
RUN_IN_DAYS = 90  # a lead-acid bank may not have been full for weeks when its log begins


@dataclass(frozen=True)
class Lanes:
    """What a set of lanes would have logged, hour by hour.

    Parameters
    ----------
    asked : float64 array [4, lanes]
        `ASKED`: factors on the study's value [-], and the offset [A].
    clearness : float64 array [lanes]
        Logarithm of the mean clearness of the log's days over that of the climate.
    current, voltage : float32 arrays [lanes, hours]
        At the shunt and voltmeter, errors included [A, V].
    soc : float32 array [lanes, hours]
        State of charge of the bank [-].
    """

    asked: np.ndarray
    clearness: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray


class LogSimulator:
    """Traces of one study for one log, kept, so that several rounds of draws meet them.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    hours : int array [H]
        Hours of the study year that the log covers, in order, at most a year of them.
    known : float array [365] or None
        Daily clearness by study day, NaN where not known.
    seed : int
    lanes : int
        A multiple of 64.
    """

    def __init__(self, system, hours, known=None, seed=0, lanes=None):
        self.system, self.hours, self.seed = system, hours, int(seed) + SEED_SHIFT
        lanes = constant("log_analysis", "lanes") if lanes is None else lanes
        self.run_in = min(24 * RUN_IN_DAYS, HOURS - hours.size)
        self.window = (hours[0] - self.run_in + np.arange(self.run_in + hours.size)) % HOURS
        self.copies = HOURS // self.window.size
        days = np.unique(hours // 24)
        usual = system.climate.monthly_kt()[system.calendar.month_of_day][days].mean()
        self.blocks, self.clearness = [], []
        for first in range(0, lanes, LANES):
            block = traces_of(system, np.arange(first, first + LANES), known, self.seed)
            self.blocks.append(_cut(block, self.window))
            mean = block.clearness[:, days].mean(1) / max(usual, 0.01)
            self.clearness.append(np.log(np.maximum(mean, 0.01)))

    @property
    def count(self):
        """How many draws one call of `lanes` takes."""
        return LANES * self.copies * len(self.blocks)

    def lanes(self, asked, rng, course_sd=0.0):
        """Run draws of what is asked; `Lanes`, as many as there are blocks and copies for.

        Parameters
        ----------
        asked : float array [4, n]
            Taken in order, 64 for each copy of each block; `n` a multiple of that.
        rng : numpy.random.Generator
            For what nobody asks: resistance, efficiency, errors of the instruments.
        course_sd : float
            Hours at which the loads run against the planned ones, standard deviation of the logarithm [-].
        """
        group, parts = LANES * self.copies, []
        for count, first in enumerate(range(0, asked.shape[1], group)):
            which = count % len(self.blocks)
            block = self.blocks[which]
            if course_sd > 0.0:
                block = other_hours(block, self.window, course_sd, rng)
            part = self._run(block, asked[:, first : first + group], rng)
            parts.append((np.tile(self.clearness[which], self.copies), *part))
        return Lanes(asked, *(np.concatenate([part[i] for part in parts]) for i in range(4)))

    def _run(self, block, asked, rng):
        load, array, capacity, offset = (row.reshape(self.copies, LANES) for row in asked)
        bank = asked_bank(self.system, block, load, array, capacity)
        shape = (self.copies, self.window.size, LANES)
        rows = [row[: shape[0] * shape[1]].reshape(shape)[:, self.run_in :] for row in bank]
        past = block["past_monitor"][self.run_in :] * load[:, None]
        return logged(self.system, rows, past, capacity, offset, rng)


def asked_bank(system, block, load, array, capacity):
    """Current per unit of capacity scale [A], voltage [V] and charge [-] of a block with scaled parts.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    block : dict of float32 arrays [hours, 64]
        From `_cut`.
    load, array, capacity : float arrays [copies, 64]

    Returns
    -------
    tuple of three float32 arrays [8760, 64]
        The copies one after the other.
    """
    standing = system.study.self_consumption_w
    sun, draw, size = ((row / capacity).astype(np.float32) for row in (array, load, np.ones_like(load)))
    scale = {
        "mpp": sun,
        "pwm": sun,
        "essential": draw,
        "deferrable": draw,
        "peak": draw,
        "critical": draw,
        "aux": size,
        "heat": size,
    }
    rows = {}

    def repeated(many):
        """All copies one after the other, to the length of a year."""
        many = many.reshape(-1, many.shape[-1])
        return np.ascontiguousarray(np.resize(many, (HOURS, many.shape[-1])), np.float32)

    for name, part in block.items():
        if isinstance(part, tuple):  # shares of loads: the same whatever their scale
            rows[name] = tuple(repeated(np.tile(one[None], (len(load), 1, 1))) for one in part)
            continue
        many = part[None] * scale[name][:, None] if name in scale else np.tile(part, (len(load), 1, 1))
        if name == "always":
            warm = block["heat"][None]
            many = (
                (part[None] - warm) * draw[:, None] + warm * size[:, None] + (standing * (size - 1))[:, None]
            )
        rows[name] = repeated(many)
    traces = TraceBlock(**rows, clearness=np.zeros(0))
    bank = run_block(traces.for_bank(), system.per_ah_factors(), system.controls, system.chemistry)
    return bank.current, bank.voltage, bank.soc


def _cut(traces, window):
    kept = [f.name for f in fields(traces) if f.name not in ("clearness", "bank")]  # the bank is drawn here
    found = {name: getattr(traces, name) for name in kept}
    return {
        name: tuple(part[window] for part in values) if isinstance(values, tuple) else values[window]
        for name, values in found.items()
        if values is not None and not (isinstance(values, tuple) and not values)
    }


def other_hours(block, window, sd, rng):
    """Traces whose loads run at other hours than planned, the same energy in all; dict of float32 arrays.

    Parameters
    ----------
    block : dict of float32 arrays [hours, lanes]
        From `_cut`.
    window : int array [hours]
        Study hours.
    sd : float
        Standard deviation of the logarithm of the power at one time of day [-]; neighbouring hours go together.
    rng : numpy.random.Generator
    """
    out = dict(block)
    for name in ("essential", "deferrable"):
        if name not in block:
            continue
        noise = rng.standard_normal((24, block[name].shape[1]))
        noise = (noise + np.roll(noise, 1, 0) + np.roll(noise, -1, 0)) / np.sqrt(3.0)
        factor = np.exp(sd * noise)[window % 24]
        total = (block[name] * factor).sum(0)
        factor *= np.where(total > 0.0, block[name].sum(0) / np.maximum(total, 1e-9), 1.0)
        for part in (name, "critical") if name == "essential" and "critical" in block else (name,):
            out[part] = (block[part] * factor).astype(np.float32)
    return out


@dataclass(frozen=True)
class DatedDays:
    """Drawn days, those whose clearness is known put in, with the error of a series drawn anew in every lane.

    It stands in an system where measured years do.
    """

    climate: object
    calendar: object
    seed: int
    known: np.ndarray

    def of(self, members):
        """Days of some members; `darkspell.weather.days.Days`.

        Parameters
        ----------
        members : int [lanes]
        """
        days = stochastic_days(self.climate, self.calendar, members, members, self.seed)
        rng = np.random.default_rng([self.seed, int(members[0])])
        error = constant("log_analysis", "clearness_sd")
        noisy = self.known * np.exp(error * rng.standard_normal(days.kt.shape) - 0.5 * error**2)
        kt = np.where(np.isfinite(noisy), np.round(np.clip(noisy, 0.01, 0.88), 6), days.kt)
        return replace(days, kt=kt)


def traces_of(system, members, known, seed, days=None):
    """Traces of some members under a seed; where `known` says so, under the clearness of the dates.

    `days` (with a method ``of``) gives the days in place of drawn ones.
    """
    if days is None and known is not None:
        days = DatedDays(system.climate, system.calendar, seed, known)
    # Every lane is a parameter draw of its own.
    return replace(system, seed=seed, load_uncertainty_pct=0.0, measured=days).traces(members, members)
