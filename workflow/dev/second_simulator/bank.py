"""Bank, charger and load switch by minute.

Lithium iron phosphate: open-circuit voltage from the two electrodes' published functions (Safari & Delacourt,
J. Electrochem. Soc. 158 (2011) A562, DOI 10.1149/1.3567007; read in open implementations), a hysteresis state, an
ohmic resistance and one RC pair. Lead-acid: the normalised equations of Copetti, Lorenzo & Chenlo (Progress in
Photovoltaics 1 (1993) 283-292; recalled) for the voltage of charge and discharge, for the capacity by rate and
for the charge efficiency; a branch state that relaxes between charge and discharge.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit

BULK, ABSORPTION, FLOAT = 0, 1, 2


class BankValues(NamedTuple):
    """What one bank is; per 12 V block times `blocks` where volts.

    Attributes
    ----------
    lead : bool
    cells : float
        In series.
    capacity : float
        [Ah], 20 h rate.
    resistance, polarisation : float
        Ohmic and RC resistance of the bank [Ohm] (lithium).
    tau_h : float
        Time constant of the RC pair (lithium) or of the branch after charge (lead) [h].
    hysteresis : float
        Half the distance of charged and discharged branch [V a cell].
    shift : float
        Constant error of the open-circuit curve [V a cell].
    slope : float
        Factor on the curve's fall from full [-].
    efficiency : float
        Ampere-hours stored over those charged (lithium) [-].
    """

    lead: bool
    cells: float
    capacity: float
    resistance: float
    polarisation: float
    tau_h: float
    hysteresis: float
    shift: float
    slope: float
    efficiency: float


class Switches(NamedTuple):
    """Voltages and thresholds of charger and load switch [V, h, A, -]."""

    absorption: float
    float_voltage: float
    setpoint_per_k: float
    hold_h: float
    tail: float
    current_limit: float
    pwm: bool
    efficiency: float
    cut_off: float
    reconnect: float
    shed: float
    resume: float


def lfp_curve(points=801):
    """Open-circuit voltage of a cell at equal steps of the state of charge.

    The electrodes' windows (positive 0.86 to 0.015, negative 0.015 to 0.80) are our choice.

    Parameters
    ----------
    points : int

    Returns
    -------
    float64 array [points]
        [V]
    """
    soc = np.linspace(0.0, 1.0, points)
    y, x = 0.86 - (0.86 - 0.015) * soc, 0.015 + (0.80 - 0.015) * soc
    positive = (
        3.4323 - 0.8428 * np.exp(-80.2493 * (1.0 - y) ** 1.3198)
        - 3.2474e-6 * np.exp(20.2645 * (1.0 - y) ** 3.8003) + 3.2482e-6 * np.exp(20.2646 * (1.0 - y) ** 3.7995)
    )  # fmt: skip
    negative = (
        0.6379 + 0.5416 * np.exp(-305.5309 * x) + 0.044 * np.tanh(-(x - 0.1958) / 0.1088)
        - 0.1978 * np.tanh((x - 1.0571) / 0.0854) - 0.6875 * np.tanh((x + 0.0117) / 0.0529)
        - 0.0175 * np.tanh((x - 0.5692) / 0.0875)
    )  # fmt: skip
    return positive - negative


def drawn_bank(system, factor, rng):
    """One bank of a kind, as real ones differ; `BankValues`.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    factor : float
        Capacity over that of the study [-].
    rng : numpy.random.Generator
    """
    capacity = system.capacity * factor
    lead = system.chemistry != "lfp"
    blocks = system.voltage / 12.0
    cells = 6.0 * blocks if lead else 4.0 * blocks
    # Hour-scale drop of a lithium cell 0.2 to 0.35 V at 1 C, of which about half at once (common practice).
    drop = cells * 0.13 * np.exp(0.3 * rng.standard_normal()) / capacity
    return BankValues(
        lead, cells, capacity, drop, drop * rng.uniform(0.5, 1.5),
        rng.uniform(1.0, 3.0) if lead else rng.uniform(0.2, 1.0),
        rng.uniform(0.0025, 0.0125), 0.015 * rng.standard_normal() if lead else 0.004 * rng.standard_normal(),
        float(np.exp(0.2 * rng.standard_normal())) if lead else 1.0, rng.uniform(0.994, 0.9995),
    )  # fmt: skip


def drawn_switches(system, rng):
    """Charger and load switch of one system, with set points as an installer leaves them.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    rng : numpy.random.Generator

    Returns
    -------
    Switches
    """
    blocks = system.voltage / 12.0
    tail = 0.02 * system.capacity
    return Switches(
        system.absorption + 0.05 * blocks * rng.standard_normal(), system.float_voltage, system.setpoint_per_k,
        rng.uniform(1.0, 3.0), tail, system.current_limit, system.pwm,
        system.efficiency + 0.01 * rng.standard_normal(), system.cut_off,
        system.cut_off + blocks * (1.3 if system.chemistry != "lfp" else 1.4), system.shed, system.resume,
    )  # fmt: skip


@dataclass(frozen=True)
class BankMinutes:
    """Minutes of the bank: current (charging positive) [A], voltage [V], state of charge [-], load served [W]."""

    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray
    served: np.ndarray


def run(bank, switches, power, essential, deferrable, temperature, start):
    """Run the bank through minutes.

    Parameters
    ----------
    bank : BankValues
    switches : Switches
    power : float array [minutes]
        Of the array at its maximum power point [W].
    essential, deferrable : float arrays [minutes]
        [W].
    temperature : float array [minutes]
        Of the bank [degC].
    start : float
        State of charge at the beginning [-].

    Returns
    -------
    BankMinutes
    """
    out = np.zeros((4, power.size))
    _run(bank, switches, lfp_curve(), power, essential, deferrable, temperature, start, out)
    return BankMinutes(*out)


@njit(cache=True)
def _lead_capacity(amps, i10):
    """Capacity at a discharge current over that at the 20 h rate (Copetti: 1.67 / (1 + 0.67 (I/I10)^0.9))."""
    return 1.67 / (1.0 + 0.67 * (max(amps, 0.1 * i10) / i10) ** 0.9) / 1.2287


@njit(cache=True)
def _lead_drop(amps, soc, c10, delta, charging):
    """Overvoltage of a lead-acid cell [V] at a current magnitude [A]."""
    per = amps / c10
    if charging:
        gap = max(1.0 - soc, 0.002)
        return per * (6.0 / (1.0 + amps**0.86) + 0.48 / gap**1.2 + 0.036) * (1.0 - 0.025 * min(delta, 20.0))
    level = max(soc, 0.02)
    return per * (4.0 / (1.0 + amps**1.3) + 0.27 / level**1.5 + 0.02) * (1.0 - 0.007 * delta)


@njit(cache=True)
def _held(bank, base, soc, c10, delta, wanted, most):
    """Current [A] at which a lead-acid bank meets a voltage, at most `most`; by bisection."""
    low, high = 0.0, most
    for _ in range(30):
        middle = 0.5 * (low + high)
        if base + bank.cells * _lead_drop(middle, soc, c10, delta, True) > wanted:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@njit(cache=True)
def _run(bank, switches, curve, power, essential, deferrable, temperature, start, out):
    soc, polar, branch, mode, held_h, floated = start, 0.0, 0.0, BULK, 0.0, 0.0
    on, shed_on = True, True
    dt = 1.0 / 60.0
    c10 = bank.capacity / 1.2287
    i10 = c10 / 10.0
    volts = bank.cells * (2.1 if bank.lead else 3.3)
    smooth = 0.0
    for m in range(power.size):
        delta = temperature[m] - 25.0
        if soc < switches.shed:
            shed_on = False
        elif soc > switches.resume:
            shed_on = True
        load = (essential[m] + (deferrable[m] if shed_on else 0.0)) if on else 0.0
        load_amps = load / volts
        if switches.pwm:
            offer = power[m] / (bank.cells * 17.6 / 6.0 if bank.lead else 17.6 * bank.cells / 4.0)
        else:
            offer = power[m] * switches.efficiency / volts
        offer = min(offer, switches.current_limit)
        wanted = switches.absorption if mode != FLOAT else switches.float_voltage
        wanted += switches.setpoint_per_k * min(max(delta, -25.0), 20.0)
        net = offer - load_amps
        if bank.lead:
            available = _lead_capacity(smooth, i10) * (1.0 + 0.005 * delta)
            seen = 1.0 - (1.0 - soc) / max(available, 0.3)
            seen = min(max(seen, 0.005), 1.0)
            discharged = 2.085 - 0.12 * bank.slope * (1.0 - seen) + bank.shift
            charged = 2.0 + 0.16 - 0.16 * bank.slope * (1.0 - soc) + bank.shift
            base = bank.cells * (discharged + branch * (charged - discharged))
            if net >= 0.0:
                level = base + bank.cells * _lead_drop(net, soc, c10, delta, True)
                if level > wanted:
                    net = _held(bank, base, soc, c10, delta, wanted, net)
                    level = max(wanted, base)
            else:
                level = base - bank.cells * _lead_drop(-net, seen, c10, delta, False)
                if base > wanted and offer > 0.0:
                    net = max(net, -load_amps)
            toward, rate = (1.0, 0.4) if net > 0.002 * bank.capacity else (0.0, bank.tau_h)
            branch += (toward - branch) * dt / rate
            if net > 0.0:
                stored = 1.0 - np.exp(20.73 / (net / i10 + 0.55) * (soc - 1.0))
            else:
                stored = 1.0
            leak = 0.04 / 720.0 * 2.0 ** (delta / 10.0) * dt
        else:
            place = soc * (curve.size - 1)
            at = min(int(place), curve.size - 2)
            cell = curve[at] + (place - at) * (curve[at + 1] - curve[at])
            base = bank.cells * (cell + bank.shift + branch * bank.hysteresis) + polar
            cold = 1.0 + 0.02 * max(-delta, 0.0)
            level = base + net * bank.resistance * cold
            if level > wanted and net > -load_amps:
                net = max((wanted - base) / (bank.resistance * cold), -load_amps)
                net = min(net, offer - load_amps)
                level = base + net * bank.resistance * cold
            branch += (1.0 - branch if net > 0.0 else -1.0 - branch) * min(
                abs(net) * dt / (0.05 * bank.capacity), 1.0
            )
            polar += (net * bank.polarisation * cold - polar) * dt / bank.tau_h
            stored = bank.efficiency if net > 0.0 else 1.0
            leak = 0.02 / 720.0 * dt
            seen = soc
        smooth += (max(-net, 0.0) - smooth) * dt
        soc += (net * stored if net > 0.0 else net) * dt / bank.capacity - leak
        if soc > 1.0:
            soc = 1.0
        if soc < 0.001:
            soc = 0.001
        volts = level
        at_wanted = level >= wanted - 0.01 and net >= 0.0 and power[m] > 1.0
        if mode == BULK and at_wanted:
            mode, held_h = ABSORPTION, 0.0
        elif mode == ABSORPTION:
            held_h += dt if at_wanted else 0.0
            if held_h >= switches.hold_h or (at_wanted and net < switches.tail and held_h > 0.25):
                mode = FLOAT
        elif mode == FLOAT:
            floated = floated + dt if power[m] <= 1.0 else 0.0
            if floated > 3.0:
                mode, floated = BULK, 0.0
        if mode == ABSORPTION and power[m] <= 1.0:
            mode = BULK
        if on and level < switches.cut_off and m > 10:
            on = False
        elif not on and level > switches.reconnect:
            on = True
        out[0, m], out[1, m], out[2, m], out[3, m] = net, level, soc, load
