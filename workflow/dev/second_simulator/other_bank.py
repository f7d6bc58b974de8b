"""Another family of banks and chargers by minute, never used to set a constant of log reading.

Lithium iron phosphate: a table of the open-circuit voltage (knots recalled from data sheets in general, no single
source), an overvoltage by charge transfer (inverse hyperbolic sine of the current), a slow state of polarisation.
Lead-acid: an electromotive force that is linear in the charge held, Shepherd's terms of resistance (J. Electrochem.
Soc. 112 (1965) 657; recalled), a slow state of acid concentration, gassing by Tafel's law (values as in Schiffer et
al., J. Power Sources 168 (2007) 66-78; recalled). A charger that ends absorption by time or by current, and starts
again when the voltage has sagged.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from dev.second_simulator.bank import ABSORPTION, BULK, FLOAT, BankMinutes

CHARGE = np.array([0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.35, 0.5, 0.62, 0.68, 0.8, 0.9, 0.96, 0.99, 1.0])
REST = np.array(
    [2.55, 2.88, 3.04, 3.17, 3.228, 3.258, 3.276, 3.284, 3.292, 3.318, 3.326, 3.33, 3.335, 3.36, 3.44]
)
OVER = 1.05  # charge beyond full raises the voltage steeply, and the charger stops


class OtherBank(NamedTuple):
    """What one bank of this family is.

    Attributes
    ----------
    lead : bool
    cells : float
        In series.
    capacity : float
        [Ah].
    resistance : float
        Of the bank [Ohm].
    transfer, exchange : float
        Overvoltage of charge transfer [V a cell], and its current [A] (lithium).
    slow : float
        Voltage of the slow state at a current of one capacity an hour [V a cell].
    slow_h : float
        Its time constant [h].
    full, empty : float
        Electromotive force of a lead-acid cell at rest [V].
    acceptance : float
        Shepherd's term under charge [V a cell at one capacity an hour].
    gas : float
        Gassing current at 2.23 V a cell and 20 degC over the capacity [1/h].
    shift : float
        Constant error of the lithium curve [V a cell].
    efficiency : float
        Ampere-hours stored over those charged (lithium) [-].
    leak : float
        Self-discharge [1/month].
    """

    lead: bool
    cells: float
    capacity: float
    resistance: float
    transfer: float
    exchange: float
    slow: float
    slow_h: float
    full: float
    empty: float
    acceptance: float
    gas: float
    shift: float
    efficiency: float
    leak: float


class OtherCharger(NamedTuple):
    """Set points of charger and load switch [V, h, A, -]."""

    absorption: float
    float_voltage: float
    setpoint_per_k: float
    hold_h: float
    tail: float
    sag: float
    current_limit: float
    pwm_voltage: float
    efficiency: float
    cut_off: float
    reconnect: float
    shed: float
    resume: float


def drawn_other_bank(system, factor, rng):
    """One bank, as real ones differ; `OtherBank`. Parameters as `dev.second_simulator.bank.drawn_bank`."""
    capacity, lead = system.capacity * factor, system.chemistry != "lfp"
    cells = system.voltage / 12.0 * (6.0 if lead else 4.0)
    wide = np.exp(0.35 * rng.standard_normal(4))
    return OtherBank(
        lead, cells, capacity, cells * (0.09 if lead else 0.06) * wide[0] / capacity,
        0.02 * wide[1], 0.08 * capacity, (0.9 if lead else 0.05) * wide[2], rng.uniform(1.5, 6.0),
        rng.uniform(2.11, 2.19), rng.uniform(1.93, 2.0), 0.12 * wide[3], 2e-4 * rng.uniform(0.2, 1.5),
        0.005 * rng.standard_normal(), rng.uniform(0.99, 0.999), rng.uniform(0.02, 0.06),
    )  # fmt: skip


def drawn_other_charger(system, rng):
    """Charger and load switch of one system; `OtherCharger`. Parameters as `drawn_other_bank`."""
    blocks, lead = system.voltage / 12.0, system.chemistry != "lfp"
    timed = rng.random() < 0.5
    return OtherCharger(
        system.absorption + blocks * rng.uniform(-0.15, 0.15),
        system.float_voltage + blocks * rng.uniform(-0.1, 0.1), system.setpoint_per_k,
        rng.uniform(0.5, 4.0), 0.0 if timed else rng.uniform(0.01, 0.04) * system.capacity,
        blocks * rng.uniform(0.3, 0.8), system.current_limit,
        blocks * rng.uniform(16.8, 18.0) if system.pwm else 0.0, system.efficiency + rng.uniform(-0.025, 0.015),
        system.cut_off, system.cut_off + blocks * (1.2 if lead else 1.4), system.shed, system.resume,
    )  # fmt: skip


def run_other(bank, charger, power, essential, deferrable, temperature, start, curve=REST):
    """Run the bank through minutes; parameters as `dev.second_simulator.bank.run`, and a lithium curve [V]."""
    out = np.zeros((4, power.size))
    _minutes(bank, charger, CHARGE, curve, power, essential, deferrable, temperature, start, out)
    return BankMinutes(*out)


@njit(cache=True)
def _level(bank, emf, slow, amps, soc, cold):
    """Terminal voltage [V] at a current, charging positive [A]."""
    if bank.lead:
        if amps > 0.0:
            cell = emf + slow + bank.acceptance * amps / bank.capacity * 0.12 / max(1.04 - soc, 0.02) * cold
        else:
            cell = emf + slow + 0.05 * amps / bank.capacity / max(soc, 0.05) * cold
    else:
        cell = emf + slow + bank.transfer * np.arcsinh(amps / (2.0 * bank.exchange)) * cold
    return bank.cells * cell + bank.resistance * cold * amps


@njit(cache=True)
def _minutes(bank, charger, knots, rest, power, essential, deferrable, temperature, start, out):
    dt = 1.0 / 60.0
    soc, slow, mode, held, dark_h = start, 0.0, BULK, 0.0, 0.0
    on, shed_on = True, True
    volts = bank.cells * (2.1 if bank.lead else 3.3)
    for m in range(power.size):
        heat = temperature[m]
        cold = np.exp(0.02 * min(max(25.0 - heat, 0.0), 50.0))
        if soc < charger.shed:
            shed_on = False
        elif soc > charger.resume:
            shed_on = True
        load = (essential[m] + (deferrable[m] if shed_on else 0.0)) if on else 0.0
        drawn = load / volts
        offer = (
            power[m] / charger.pwm_voltage
            if charger.pwm_voltage > 0.0
            else power[m] * charger.efficiency / volts
        )
        offer = min(offer, charger.current_limit)
        wanted = charger.float_voltage if mode == FLOAT else charger.absorption
        wanted += charger.setpoint_per_k * min(max(heat - 25.0, -25.0), 20.0)
        if bank.lead:
            emf = bank.empty + (bank.full - bank.empty) * min(soc, 1.0) + 8.0 * max(soc - 1.0, 0.0)
            emf -= 3.0 * max(0.08 - soc, 0.0)
        else:
            emf = np.interp(soc, knots, rest) + bank.shift + 30.0 * max(soc - 1.0, 0.0)
        net = offer - drawn
        level = _level(bank, emf, slow, net, soc, cold)
        if level > wanted and offer > 0.0:
            low, high = -drawn, net
            for _ in range(25):
                middle = 0.5 * (low + high)
                if _level(bank, emf, slow, middle, soc, cold) > wanted:
                    high = middle
                else:
                    low = middle
            net = 0.5 * (low + high)
            level = _level(bank, emf, slow, net, soc, cold)
        slow += (bank.slow * net / bank.capacity - slow) * dt / bank.slow_h
        if bank.lead:
            gas = bank.gas * bank.capacity * np.exp(11.0 * (level / bank.cells - 2.23) + 0.06 * (heat - 20.0))
            stored = net - min(gas, max(net, 0.0))
        else:
            stored = net * bank.efficiency if net > 0.0 else net
        soc = min(max(soc + stored * dt / bank.capacity - bank.leak / 720.0 * dt, 0.001), OVER)
        volts = level
        at_wanted = level >= wanted - 0.02 and power[m] > 1.0
        if mode == BULK and at_wanted:
            mode, held = ABSORPTION, 0.0
        elif mode == ABSORPTION:
            held += dt if at_wanted else 0.0
            if held >= charger.hold_h or (at_wanted and held > 0.1 and net < charger.tail):
                mode = FLOAT
            elif power[m] <= 1.0:
                mode = BULK
        elif mode == FLOAT:
            dark_h = dark_h + dt if power[m] <= 1.0 else 0.0
            if level < charger.float_voltage - charger.sag or dark_h > 4.0:
                mode, dark_h = BULK, 0.0
        if on and level < charger.cut_off and m > 10:
            on = False
        elif not on and level > charger.reconnect:
            on = True
        out[0, m], out[1, m], out[2, m], out[3, m] = net, level, min(soc, 1.0), load
