"""From the table of chemistries to the numbers that the bank step takes.

The step works per ampere-hour of present capacity: currents in 1/h, powers in W/Ah, resistances in
V h. One set of numbers then serves every bank size of a chemistry, and sizing lanes share them.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant

HOURS_A_MONTH = 730.0
NO_LIMIT = 1e9
SLOW_H = 100.0


class CapacityLaw(NamedTuple):
    """Peukert's law of a bank, and where it ends.

    Attributes
    ----------
    exponent : k of I^k t = const [-]
    greatest : the most that is ever delivered, at 100 h or the slowest rate known, over the capacity at 20 h [-]
    """

    exponent: float
    greatest: float


def capacity_law(chemistry, points=None):
    """Peukert's law of a chemistry, or through two points of a data sheet.

    I_1^k t_1 = I_2^k t_2 with I = C / t gives k = ln(t_2 / t_1) / (ln(t_2 / t_1) - ln(C_2 / C_1)). IEC 61427 and
    IEEE 485 size from capacities by rate of a data sheet too (from memory). Where the points end before 100 h, the
    capacity there is no more than the table's: below that current the law runs away.

    Parameters
    ----------
    chemistry : str
    points : tuple of float, optional
        ``(t_1, t_2, C_2 / C_1)``: two discharge times [h] and the second capacity over the first [-].

    Returns
    -------
    CapacityLaw

    Raises
    ------
    ValueError
        If no exponent of at least 1 goes through the points.
    """
    k, factor = (constant("bank", chemistry, name) for name in ("peukert_exponent", "capacity_100h_factor"))
    if points is None:
        return CapacityLaw(k, factor)
    first, second, ratio = points
    apart = np.log(second / first)
    if apart == 0.0 or np.log(ratio) / apart >= 1.0 or np.log(ratio) / apart < 0.0:
        raise ValueError("two points of one discharge curve need a larger capacity at the longer time")
    k, last = float(apart / (apart - np.log(ratio))), max(first, second)

    def over_20h(time):
        return (time / 20.0) ** (1.0 - 1.0 / k)

    by_law = over_20h(SLOW_H)
    return CapacityLaw(k, over_20h(last) if last >= SLOW_H else min(by_law, max(factor, over_20h(last))))


class ChemistryNumbers(NamedTuple):
    """What the bank step needs of a chemistry at a system voltage; every field a float32.

    Open-circuit voltage changes its slope at the knots; `ocv_0` [V] starts `darkspell.core.fast_math.hinges`.
    """

    ocv_0: np.float32
    ocv_knot: tuple
    ocv_slope: tuple
    resistance: np.float32  # V h, i.e. ohm x Ah
    resistance_per_k: np.float32  # 1/K below the reference temperature
    resistance_per_k2: np.float32  # 1/K2
    setpoint: np.float32  # V at the reference temperature
    setpoint_per_k: np.float32  # V/K
    accept_max: np.float32  # 1/h
    taper_h: np.float32  # h, time constant of acceptance at the reference temperature
    taper_per_k: np.float32  # 1/K by which it grows below the reference temperature
    taper_octaves: np.float32  # -1 / ln 2, h
    cold_zero: np.float32  # degC, no charge below
    cold_slope: np.float32  # 1/K up to full charge current
    hot_limit: np.float32  # degC, no charge above
    capacity_per_k: np.float32  # 1/K of deliverable capacity below the reference temperature
    capacity_per_k_below_0: np.float32  # 1/K more below 0 C
    peukert_share: np.float32  # capacity at the 20 h rate over that at the 100 h rate
    peukert_rate: np.float32  # the 20 h current, 1/h of the 100 h capacity
    per_peukert_rate: np.float32  # h
    peukert_power: np.float32  # exponent less one
    self_discharge: np.float32  # 1/h at the reference temperature
    efficiency_low: np.float32  # charge efficiency at low state of charge
    efficiency_knee: np.float32  # state of charge where it begins to fall
    efficiency_fall: np.float32  # per square of state of charge beyond the knee, at no current
    efficiency_fall_rate: np.float32  # more of it per 1/h of charge current
    cut_off: np.float32  # V
    per_cut_off: np.float32  # 1/V
    reconnect: np.float32  # state of charge
    floor: np.float32  # state of charge at the depth limit
    reference: np.float32  # degC of the stated capacity
    clip_low: np.float32  # degC beyond which the set point no longer follows
    clip_high: np.float32
    capacity_floor: np.float32  # share that the deepest cold still lets out
    q10: np.float32  # of self-discharge
    leak_octaves: np.float32  # its binary logarithm per kelvin, 1/K


def chemistry_numbers(
    chemistry, nominal_voltage, cut_off=None, reconnect=None, depth_limit=None, state_of_health=1.0,
    charge_current=None, charge_from=None, charge_full_from=None, charge_until=None, absorption=None, points=None,
):  # fmt: skip
    """Numbers of one chemistry, the study's own limits in place of the table's where given.

    Parameters
    ----------
    chemistry : str
        One of `darkspell.core.constants.CHEMISTRIES`.
    nominal_voltage : float
        12, 24 or 48 V.
    cut_off : float, optional
        Terminal voltage of load disconnection [V].
    reconnect, depth_limit : float, optional
        State of charge that reconnects the loads; depth at which they are cut off [-].
    state_of_health : float
        Capacity present over rated [-]; as it falls to 0.8 the resistance grows as the table says.
    charge_current : float, optional
        Largest charge current, over the present capacity at the 100 h rate [1/h].
    charge_from, charge_full_from : float, optional
        Temperatures below which no charge, and above which the largest current is accepted [degC].
    charge_until : float, optional
        Temperature above which no charge is accepted [degC]; none if not given.
    absorption : float, optional
        Voltage that the chargers hold at the reference temperature [V]. The charging resistance near full stays: the
        time constant of acceptance is that of the table times (V_table - V_full) / (V - V_full).
    points : tuple of float, optional
        As `capacity_law` takes them.

    Returns
    -------
    ChemistryNumbers
    """

    def of(name):
        return constant("bank", chemistry, name)

    cells = of("cells_per_12v") * nominal_voltage / 12.0
    knots, slopes, ocv_0 = _hinges(of("ocv_soc"), np.asarray(of("ocv_v_cell")) * cells)
    knee, low = of("gassing_onset_soc"), of("coulombic_low_soc_pct") / 100.0
    law = capacity_law(chemistry, points)
    factor, taper_h = law.greatest, of("taper_h")
    set_at, full = of("absorption_v_cell") * cells, of("ocv_v_cell")[-1] * cells
    if absorption is not None:
        taper_h *= (set_at - full) / (absorption - full) if set_at > full else 1.0
        set_at = absorption
    most = of("charge_current_max_c") / factor
    by_rate, q10 = of("gassing_by_rate"), constant("bank", "common", "self_discharge_q10")
    fall = efficiency_fall(chemistry, of("coulombic_efficiency_pct") / 100.0)
    cut_off = of("cutoff_v_cell") * cells if cut_off is None else cut_off
    cold = of("cold_charge_limit_c") if charge_from is None else charge_from
    warm_up = (of("cold_charge_full_c") if charge_full_from is None else charge_full_from) - cold
    grown = 1.0 + (of("resistance_growth") - 1.0) * (1.0 - state_of_health) / 0.2
    numbers = dict(
        ocv_0=ocv_0,
        resistance=of("resistance_mohm_ah_cell") * 1e-3 * cells * grown * state_of_health,
        resistance_per_k=of("resistance_cold_per_k"),
        resistance_per_k2=of("resistance_cold_per_k2"),
        setpoint=set_at,
        setpoint_per_k=of("setpoint_v_per_k_cell") * cells,
        accept_max=most if charge_current is None else charge_current,
        taper_h=taper_h,
        taper_per_k=of("taper_cold_per_k"),
        taper_octaves=-1.0 / np.log(2.0),
        cold_zero=cold,
        cold_slope=1.0 / warm_up,
        hot_limit=NO_LIMIT if charge_until is None else charge_until,
        capacity_per_k=of("capacity_loss_per_k"),
        capacity_per_k_below_0=of("capacity_loss_below_0_per_k"),
        peukert_share=1.0 / factor,
        peukert_rate=1.0 / (20.0 * factor),
        per_peukert_rate=20.0 * factor,
        peukert_power=law.exponent - 1.0,
        self_discharge=of("self_discharge_pct_month") / 100.0 / HOURS_A_MONTH,
        efficiency_low=low,
        efficiency_knee=knee,
        efficiency_fall=(1.0 - by_rate) * fall,
        efficiency_fall_rate=by_rate * fall * 10.0,
        cut_off=cut_off,
        per_cut_off=1.0 / cut_off,
        reconnect=of("reconnect_soc_pct") / 100.0 if reconnect is None else reconnect,
        floor=1.0 - (of("depth_limit_pct") / 100.0 if depth_limit is None else depth_limit),
        reference=constant("bank", "common", "reference_temperature"),
        clip_low=constant("bank", "common", "setpoint_clip_low"),
        clip_high=constant("bank", "common", "setpoint_clip_high"),
        capacity_floor=constant("bank", "common", "capacity_floor"),
        q10=q10,
        leak_octaves=np.log2(q10) / 10.0,
    )
    return ChemistryNumbers(
        ocv_knot=knots, ocv_slope=slopes, **{name: np.float32(value) for name, value in numbers.items()}
    )


def reference_capacity(chemistry, capacity, rate, points=None):
    """Capacity at the 100 h rate of a bank labelled at another one.

    Peukert's law with the exponent of the chemistry, capped at the published 100 h figure: below that current the law
    runs away. Kinetics of two wells (Manwell & McGowan) are not modelled.

    Parameters
    ----------
    chemistry : str
    capacity, rate : float
        Of the label [Ah] at its discharge time [h].
    points : tuple of float, optional
        As `capacity_law` takes them.

    Returns
    -------
    float
        [Ah].
    """
    return capacity / peukert_capacity(chemistry, rate, points) * capacity_law(chemistry, points).greatest


def peukert_capacity(chemistry, rate, points=None):
    """Capacity at a discharge time over that at 20 h: t = 20 (C / (20 I))^k, capped at 100 h.

    Parameters
    ----------
    chemistry : str
    rate : float
        Discharge time [h].
    points : tuple of float, optional
        As `capacity_law` takes them.

    Returns
    -------
    float
        [-].
    """
    k, factor = capacity_law(chemistry, points)
    return min((rate / 20.0) ** (1.0 - 1.0 / k), factor)


def _hinges(knots, volts):
    """Piecewise-linear curve as inner knots, slopes' changes and a start; eight segments.

    A segment counts from its knot where the curve is beyond it, else as at the knot: the start is that much less.
    Unused changes are zero, at knots beyond 1: one number of segments is one type, compiled once.
    """
    knots, volts = np.asarray(knots, float), np.asarray(volts, float)
    changes = np.diff(np.diff(volts) / np.diff(knots), prepend=0.0)
    spare = 8 - changes.size
    inner = np.concatenate([knots[1:-1], np.full(spare, 2.0)]).astype(np.float32)
    changes = np.concatenate([changes, np.zeros(spare)]).astype(np.float32)
    return tuple(inner), tuple(changes), volts[0] - float(changes[1:].astype(float) @ inner)


def trimmed(c):
    """The same curve in four segments where it has no more of them: same bits, and sizing lanes take 5 % less.

    Parameters
    ----------
    c : ChemistryNumbers

    Returns
    -------
    ChemistryNumbers
    """
    if len(c.ocv_knot) == 3 or any(c.ocv_slope[4:]):
        return c
    return c._replace(ocv_knot=c.ocv_knot[:3], ocv_slope=c.ocv_slope[:4])


@cache
def efficiency_fall(chemistry, full_cycle):
    """Fall of the charge efficiency beyond its knee that makes a full cycle return an ampere-hour efficiency.

    The cycle is walked in hours as the step walks it: charged from 0 with the 10 h current as far as the bank
    accepts it, the share ``gassing_by_rate`` of the fall growing in proportion to the current. Bisection to the last
    bit: a root finder of scipy.optimize would triple the time in which a study is read.

    Parameters
    ----------
    chemistry : str
    full_cycle : float
        Charge taken out over charge put in [-].

    Returns
    -------
    float
        Per square of the state of charge beyond the knee, at the 10 h current.
    """

    def of(name):
        return constant("bank", chemistry, name)

    knee, low, by_rate = of("gassing_onset_soc"), of("coulombic_low_soc_pct") / 100.0, of("gassing_by_rate")
    current, taper = (
        min(of("charge_current_max_c") / of("capacity_100h_factor"), 0.1),
        1.0 - np.exp(-1.0 / of("taper_h")),
    )

    def excess(fall):
        soc, charged = 0.0, 0.0
        while soc < 0.999:
            charge = min(current, taper * (1.0 - soc))
            share = 1.0 - by_rate + by_rate * 10.0 * charge
            soc += charge * (low - fall * share * max(soc + 0.5 * charge - knee, 0.0) ** 2)
            charged += charge
        return charged - soc / full_cycle

    least, most = 0.0, 0.9 * low / (1.0 - knee) ** 2
    while least < (middle := 0.5 * (least + most)) < most:
        least, most = (middle, most) if excess(middle) < 0.0 else (least, middle)
    return middle
