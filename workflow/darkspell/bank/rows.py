"""Where the drivers of the bank keep their numbers: offsets into one local array of rows of 64 lanes.

A lane is a member of one design, or a design over one member. Rows of an hour lie in one small local array: the
compiler can then prove that nothing overlaps and packs the lanes into vector registers. Both drivers share the first
rows of `MEMBER`, up to `short_critical`; `DESIGN` follows them in the array of the sizing driver.
"""

from typing import NamedTuple

from darkspell.core.batches import LANES


class MemberRows(NamedTuple):
    """Offset of each row of the driver over members; float32 [LANES] from there.

    Attributes
    ----------
    soc, connected, deferrable_on, generator_on, absorbed, part_on : `darkspell.bank.step_values.State`
    ocv, per_ocv, charging_voltage, accept, slope_in : `darkspell.bank.step_values.CellState`
    offered, spare, from_bank, array, generator : `darkspell.bank.step_values.Offer`
    running : 1 while the generator gives power, else 0
    floor, net, missed_essential, missed_deferrable, cause : `darkspell.bank.step_values.Dispatch`
    left_over, short_essential, short_deferrable, current, voltage, offer : `darkspell.bank.step_values.Exchange`
    left_essential, left_deferrable, left_peak, dropped_essential, dropped_deferrable, dropped_cause,
    dropped_critical, left_other : `darkspell.bank.part_cutoff.part_loads`
    short_critical : critical load of the hour that is not served
    mpp, pwm, temp, essential, deferrable, peak, chargers, uninterruptible, heater : the hour's input series
    essential_share, deferrable_share, rest_peak_share, peak_share :
        `darkspell.bank.part_cutoff.PartShares`
    critical_share, critical_ac_share, kept_peak_share, kept_rest_peak_share, kept_inverter_peak_share :
        `darkspell.bank.part_cutoff.CriticalShares`
    capacity, of_resistance, of_leak, of_gassing, of_cold : `darkspell.chemistry.bank_draws.BankDraw`
    per_capacity : inverse of the first
    setpoint, resistance, accept_max, deliverable_fraction, self_discharge, taper_h, taper, gassing :
        `darkspell.bank.step_values.TemperatureTerms`
    spilled, used, chargers_used, generator_used : `darkspell.bank.step.curtail`
    unit, scaled : what an output is multiplied by, and the product
    """

    soc: int
    connected: int
    deferrable_on: int
    generator_on: int
    absorbed: int
    part_on: int
    ocv: int
    per_ocv: int
    charging_voltage: int
    accept: int
    slope_in: int
    offered: int
    spare: int
    from_bank: int
    array: int
    generator: int
    running: int
    floor: int
    net: int
    missed_essential: int
    missed_deferrable: int
    cause: int
    left_over: int
    short_essential: int
    short_deferrable: int
    left_essential: int
    left_deferrable: int
    left_peak: int
    dropped_essential: int
    dropped_deferrable: int
    dropped_cause: int
    dropped_critical: int
    left_other: int
    short_critical: int
    mpp: int
    pwm: int
    temp: int
    essential: int
    deferrable: int
    peak: int
    chargers: int
    uninterruptible: int
    heater: int
    essential_share: int
    deferrable_share: int
    rest_peak_share: int
    peak_share: int
    critical_share: int
    critical_ac_share: int
    kept_peak_share: int
    kept_rest_peak_share: int
    kept_inverter_peak_share: int
    capacity: int
    of_resistance: int
    of_leak: int
    of_gassing: int
    of_cold: int
    per_capacity: int
    setpoint: int
    resistance: int
    accept_max: int
    deliverable_fraction: int
    self_discharge: int
    taper_h: int
    taper: int
    gassing: int
    current: int
    voltage: int
    offer: int
    spilled: int
    used: int
    chargers_used: int
    generator_used: int
    unit: int
    scaled: int


class DesignRows(NamedTuple):
    """Offset of each row that only the driver over designs has; float32 [LANES] from there.

    Attributes
    ----------
    mpp, pwm, limit, load, self_consumption, cable : `darkspell.bank.step_values.PerAhFactors` of each design
    safe_soc : state of charge from which nothing can run short [-]
    night, first_night : whether the night so far, and the year's first morning, ran short
    since_full : hours since the bank was full [h]
    lost, nights, unserved_essential, unserved, generator_h, generator_energy, longest : totals of the year, as
        `darkspell.bank.run_designs.TOTALS`
    """

    mpp: int
    pwm: int
    limit: int
    load: int
    self_consumption: int
    cable: int
    safe_soc: int
    night: int
    first_night: int
    since_full: int
    lost: int
    nights: int
    unserved_essential: int
    unserved: int
    generator_h: int
    generator_energy: int
    longest: int


MEMBER = MemberRows(*(LANES * row for row in range(len(MemberRows._fields))))
SHARED_ROWS = MEMBER.mpp // LANES
MEMBER_ROWS = len(MEMBER)
DESIGN = DesignRows(*(LANES * (SHARED_ROWS + row) for row in range(len(DesignRows._fields))))
DESIGN_ROWS = SHARED_ROWS + len(DESIGN)
STATE_ROWS = MEMBER.ocv // LANES
