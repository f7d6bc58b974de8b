"""The study's own step over the dates of a log, with what is asked drawn anew in every lane.

Load and sky come from the rooms that the study itself uses, under seeds of this room's own. What is asked
(load scale, array yield, capacity, offset) scales traces that are made once: a bank of ``q`` times the
capacity is the same, per Ah, as one that meets ``1 / q`` times the powers. Short logs stand several times
in one year of the bank's driver, each time after some days of running in.
"""

from dataclasses import dataclass, fields

import numpy as np

from darkspell.array.output import pwm_amps_per_watt
from darkspell.bank.block import run_block
from darkspell.bank.drive import LANES
from darkspell.calendar import HOURS
from darkspell.constants import constant
from darkspell.traces import TraceBlock

ASKED = ("load", "array", "capacity", "offset")
SEED_SHIFT = 7_919_000  # the room's own draws: never those of the study's members
RUN_IN_DAYS = 13


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
    """

    asked: np.ndarray
    clearness: np.ndarray
    current: np.ndarray
    voltage: np.ndarray


class Bench:
    """Traces of one study for one log, kept, so that several rounds of draws meet them.

    Parameters
    ----------
    assembly : darkspell.assembly.Assembly
    hours : int array [H]
        Hours of the study year that the log covers, in order, at most a year of them.
    known : float array [365] or None
        Daily clearness by study day, NaN where not known.
    seed : int
    lanes : int
        A multiple of 64.
    """

    def __init__(self, assembly, hours, known=None, seed=0, lanes=None):
        self.assembly, self.hours, self.seed = assembly, hours, int(seed) + SEED_SHIFT
        lanes = constant("logbook", "lanes") if lanes is None else lanes
        self.run_in = min(24 * RUN_IN_DAYS, HOURS - hours.size)
        self.window = (hours[0] - self.run_in + np.arange(self.run_in + hours.size)) % HOURS
        self.copies = HOURS // self.window.size
        days = np.unique(hours // 24)
        usual = assembly.climate.monthly_kt()[assembly.calendar.month_of_day][days].mean()
        self.blocks, self.clearness = [], []
        for first in range(0, lanes, LANES):
            block = traces_of(assembly, np.arange(first, first + LANES), known, self.seed)
            self.blocks.append(_cut(block, self.window))
            mean = block.clearness[:, days].mean(1) / max(usual, 0.01)
            self.clearness.append(np.log(np.maximum(mean, 0.01)))

    def lanes(self, asked, rng):
        """Run draws of what is asked; `Lanes`, as many as there are blocks and copies for.

        Parameters
        ----------
        asked : float array [4, n]
            Taken in order, 64 for each copy of each block; `n` a multiple of that.
        rng : numpy.random.Generator
            For what nobody asks: resistance, efficiency, errors of the instruments.
        """
        group, parts = LANES * self.copies, []
        for count, first in enumerate(range(0, asked.shape[1], group)):
            which = count % len(self.blocks)
            part = self._run(self.blocks[which], asked[:, first : first + group], rng)
            parts.append((np.tile(self.clearness[which], self.copies), *part))
        return Lanes(asked, *(np.concatenate([part[i] for part in parts]) for i in range(3)))

    def _run(self, block, asked, rng):
        load, array, capacity, offset = (row.reshape(self.copies, LANES) for row in asked)
        bank = asked_bank(self.assembly, block, load, array, capacity)
        shape = (self.copies, self.window.size, LANES)
        rows = [row[: shape[0] * shape[1]].reshape(shape)[:, self.run_in :] for row in bank]
        past = block["past_monitor"][self.run_in :] * load[:, None]
        return logged(self.assembly, rows, past, capacity, offset, rng)


def logged(assembly, rows, past, capacity, offset, rng):
    """Current and voltage that are logged [A, V], float32 [copies x lanes, hours] each.

    Parameters
    ----------
    rows : three float32 arrays [copies, hours, lanes]
        Current per unit of capacity scale, voltage and charge of the bank.
    past : float32 array [copies, hours, lanes]
        Load that the shunt does not see [W].
    capacity, offset : float arrays [copies, lanes]
    rng : numpy.random.Generator
    """
    current, voltage, soc = rows
    shape = capacity.shape
    current = current * capacity[:, None].astype(np.float32)
    out = current + past / voltage
    gain = 1.0 + constant("logbook", "gain_sd") * rng.standard_normal(shape)
    stored = 1.0 - constant("logbook", "efficiency_sd") * rng.standard_normal(shape)
    out *= np.where(out > 0, (gain * stored)[:, None], gain[:, None])
    nominal = assembly.study.system.nominal_voltage_v
    volts = constant("logbook", "voltmeter_sd_per_12v") * nominal / 12.0 * rng.standard_normal(shape)
    stiff = np.exp(constant("logbook", "resistance_sd") * rng.standard_normal(shape)) - 1.0
    curve = constant("logbook", "curve_sd") * rng.standard_normal(shape)
    shown = voltage + doubtful_voltage(assembly, current, soc, stiff[:, None], curve[:, None])
    out, shown = out + offset[:, None], shown + volts[:, None]
    return tuple(
        np.ascontiguousarray(np.moveaxis(part, 1, 2), np.float32).reshape(shape[0] * shape[1], -1)
        for part in (out, shown)
    )


def doubtful_voltage(assembly, current, soc, stiff, curve):
    """What other resistance and another curve of open-circuit voltage change while discharging [V].

    Parameters
    ----------
    current : float32 array
        Of the bank [A].
    soc : float32 array
        [-], same shape.
    stiff, curve : float arrays
        Excess of the resistance, and of the curve's fall from full, over the table's [-].
    """
    c = assembly.chemistry
    knots = np.linspace(0.0, 1.0, 41)
    hinges = np.maximum(knots[:, None] - np.array(c.ocv_knot), 0.0) @ np.array(c.ocv_slope)
    fall = np.interp(soc, knots, hinges - hinges[-1])
    change = stiff * float(c.resistance) / assembly.capacity * current + curve * fall
    return np.where(current < 0, change, 0.0).astype(np.float32)


def asked_bank(assembly, block, load, array, capacity):
    """Current per unit of capacity scale [A], voltage [V] and charge [-] of a block with scaled parts.

    Parameters
    ----------
    block : dict of float32 arrays [hours, 64]
        From `_cut`.
    load, array, capacity : float arrays [copies, 64]

    Returns
    -------
    tuple of three float32 arrays [8760, 64]
        The copies one after the other.
    """
    standing = assembly.study.standing_draw_w
    sun, draw, size = ((row / capacity).astype(np.float32) for row in (array, load, np.ones_like(load)))
    scale = {
        "mpp": sun, "pwm": sun, "essential": draw, "deferrable": draw, "peak": draw, "always": draw, "aux": size,
    }  # fmt: skip
    rows = {}
    for name, part in block.items():
        many = part[None] * scale[name][:, None] if name in scale else np.tile(part, (len(load), 1, 1))
        if name == "always":
            many = many + (standing * (size - 1))[:, None]
        many = many.reshape(-1, part.shape[1])
        rows[name] = np.ascontiguousarray(np.resize(many, (HOURS, part.shape[1])), np.float32)
    traces = TraceBlock(**rows, clearness=np.zeros(0))
    bank = run_block(traces.for_bank(), assembly.scales(), assembly.controls, assembly.chemistry)
    return bank.current, bank.voltage, bank.soc


def _cut(traces, window):
    return {f.name: getattr(traces, f.name)[window] for f in fields(traces) if f.name != "clearness"}


def traces_of(assembly, members, known, seed):
    """Traces of some members under a seed; where `known` says so, under the clearness of the dates."""
    from darkspell.chargers.draw import aux_block
    from darkspell.loads.draw import load_block
    from darkspell.traces import no_power

    world = np.arange(members.size)  # every lane a world of its own
    mpp, pwm, temp_bank, temp_air, kt = weather_of(assembly, members, world, known, seed)
    *loads, always = load_block(
        assembly.appliances, assembly.calendar, members, world, seed, 0.0, temp_air=temp_air
    )
    aux = aux_block(assembly.chargers, assembly.calendar, members, world, seed)
    aux = no_power(members.size) if aux is None else aux
    return TraceBlock(mpp, pwm, temp_bank, temp_air, *loads, kt, aux, always)


def weather_of(assembly, members, world, known, seed):
    """Array output, temperatures and clearness of lanes, the known days of clearness put in."""
    from darkspell.sky.daily import daily_clearness

    study = assembly.study
    kt = daily_clearness(assembly.climate, assembly.calendar, members, world, seed)
    if known is not None:
        rng = np.random.default_rng([seed, int(members[0])])
        error = constant("logbook", "clearness_sd")
        noisy = known * np.exp(error * rng.standard_normal(kt.shape) - 0.5 * error**2)
        kt = np.where(np.isfinite(noisy), np.clip(noisy, 0.01, 0.88), kt)
    mpp, pwm, temp_bank, temp_air = fill_hours(assembly, kt, members, seed)
    limit = study.controller.current_limit_a
    if study.controller.kind == "pwm" and limit is not None:
        np.minimum(pwm, np.float32(limit), out=pwm)
    return mpp, pwm, temp_bank, temp_air, kt


def fill_hours(assembly, kt, members, seed):
    """Hours of days whose clearness is given; see `darkspell.traces`."""
    from darkspell import traces as room
    from darkspell.draws import normal_table, stream_key
    from darkspell.sky.hourly import noise_numbers
    from darkspell.sky.temperature import daily_means, daily_range, daily_swing

    study, sky, place = assembly.study, assembly.sky, assembly.place
    out = np.empty((4, HOURS, members.size), np.float32)
    room._fill(
        members.astype(np.int64),
        stream_key(seed, "sky/hourly"),
        normal_table(),
        noise_numbers(),
        kt,
        np.round(kt * sky.daily_extra, 3),
        daily_means(assembly.climate, assembly.calendar, members, seed),
        0.5 * daily_range(assembly.climate, assembly.calendar, kt),
        daily_swing(),
        (sky.clear, sky.extra_horizontal, sky.cos_zenith, sky.extra_normal),
        (sky.cos_incidence, sky.beam_share, sky.diffuse_share, sky.ground_share),
        assembly.arrays,
        pwm_amps_per_watt(study.system.nominal_voltage_v),
        (1.0 - np.exp(-1.0 / place.lag), place.low, place.high),
        study.site.albedo,
        out,
    )
    return tuple(out)
