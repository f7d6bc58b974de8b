"""What instruments at a simulated bank show, and how real banks of a kind differ from their table."""

import numpy as np

from darkspell.bank.cell_laws import open_circuit
from darkspell.core.constants import constant


def logged(system, rows, past, capacity, offset, rng):
    """Current and voltage that are logged, and the charge held.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    rows : three float32 arrays [copies, hours, lanes]
        Current per unit of capacity scale, voltage and charge of the bank.
    past : float32 array [copies, hours, lanes]
        Load that the shunt does not see [W].
    capacity, offset : float arrays [copies, lanes]
        Factor on the bank's capacity [-], and current that the monitor shows but does not flow [A].
    rng : numpy.random.Generator

    Returns
    -------
    current, voltage, soc : float32 arrays [copies x lanes, hours]
        [A], [V] and [-].
    """
    current, voltage, soc = rows
    shape = capacity.shape
    current = current * capacity[:, None].astype(np.float32)
    out = current + past / voltage
    gain = 1.0 + constant("log_analysis", "gain_sd") * rng.standard_normal(shape)
    stored = 1.0 - constant("log_analysis", "efficiency_sd") * rng.standard_normal(shape)
    out *= np.where(out > 0, (gain * stored)[:, None], gain[:, None])
    blocks = system.study.system.nominal_voltage_v / 12.0
    volts = constant("log_analysis", "voltmeter_sd_per_12v") * blocks * rng.standard_normal(shape)
    spread = bank_spread(system.study.bank.chemistry)
    draws = (
        spread["offset"] * blocks * rng.standard_normal(shape),
        np.exp(spread["slope"] * rng.standard_normal(shape)) - 1.0,
        np.exp(spread["resistance"] * rng.standard_normal(shape)) - 1.0,
        spread["charge"] * blocks * rng.standard_normal(shape),
    )
    shown = voltage + bank_voltage_change(system, current, soc, [part[:, None] for part in draws])
    out, shown = out + offset[:, None], shown + volts[:, None]
    return tuple(
        np.ascontiguousarray(np.moveaxis(part, 1, 2), np.float32).reshape(shape[0] * shape[1], -1)
        for part in (out, shown, soc)
    )


def bank_spread(kind):
    """What real banks of a kind differ by; dict of floats.

    ``offset`` and ``charge``: constant error of the open-circuit curve and of the charging voltage of a 12 V bank,
    standard deviation [V]; ``slope`` and ``resistance``: standard deviation of the logarithm of the curve's fall
    from full and of the resistance [-].

    Parameters
    ----------
    kind : str
        Chemistry.
    """
    lithium = constant("bank", kind, "coulombic_efficiency_pct") > 98.0
    names = ("curve_offset_sd", "curve_slope_sd")
    offset, slope = (
        constant("log_analysis", f"{name}_{'lithium' if lithium else 'other'}") for name in names
    )
    return dict(
        offset=offset, slope=slope, charge=constant("log_analysis", "charge_voltage_sd"),
        resistance=constant("log_analysis", "resistance_sd"),
    )  # fmt: skip


def bank_voltage_change(system, current, soc, draws):
    """What another curve, resistance and charging voltage change of the terminal voltage [V].

    Parameters
    ----------
    system : darkspell.simulation.system.System
    current : float32 array
        Of the bank [A].
    soc : float32 array
        [-], same shape.
    draws : tuple of float arrays
        Curve's offset [V], excess of its fall from full [-], excess of the resistance [-], change of the charging
        voltage [V]; each to broadcast with `current`.
    """
    offset, slope, resistance, charge = draws
    c = system.chemistry
    knots = np.linspace(0.0, 1.0, 41)
    volts = np.array([open_circuit(np.float32(knot), c) for knot in knots])
    fall = np.interp(soc, knots, volts - volts[-1])
    discharged = offset + slope * fall + resistance * float(c.resistance) / system.capacity * current
    return np.where(current < 0, discharged, charge).astype(np.float32)
