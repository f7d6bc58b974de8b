"""Parts of the bank's hour that most systems lack; compiled out where a study does without them.

Each function exists twice: for `Extras`, and for none, where it leaves the plain step as it is. Which of
the two is compiled follows from the type of the argument, so the drivers stay one source.
"""

from typing import NamedTuple

import numpy as np
from numba import types
from numba.extending import overload

from darkspell.core.constants import constant
from darkspell.core.jit import INLINED

NEVER = 1e9
# Why essential load is not served, as the step tags it; `darkspell.bank.causes` adds what kept it from charging.
SERVED, EMPTY, DEPTH_LIMIT, VOLTAGE, RECONNECTION = (np.float32(x) for x in range(5))
SHED = np.float32(7.0)  # after those of `darkspell.bank.causes`
ZERO, ONE = np.float32(0.0), np.float32(1.0)


class Extras(NamedTuple):
    """Generator, absorption time, reconnection voltage, and what switches off a part; every field a float32.

    Attributes
    ----------
    power : power of the generator's charger at the bank's terminals [W], 0 without a generator
    start, stop : state of charge at which it starts, and at which it stops [-]
    begin, end : hours of the day between which it may run [h]
    absorption : hours at the set point after which the chargers fall back to float [h]
    float_share : acceptance at the float voltage over that at the set point [-]
    float_drop : set point less float voltage [V]
    reconnect_voltage : terminal voltage that reconnects the loads [V]
    inverter_cut_off : voltage at which the inverter switches off [V]; 0 where it never does
    essential_shed, essential_resume : state of charge below which essential loads are shed to spare critical ones,
        and above which they come back [-]; -1 without critical loads. These three are None where a study has neither,
        see `darkspell.bank.part_cutoff`
    both : 1 where a study has an inverter with a cut-off of its own and critical loads, else None
    """

    power: np.float32
    start: np.float32
    stop: np.float32
    begin: np.float32
    end: np.float32
    absorption: np.float32
    float_share: np.float32
    float_drop: np.float32
    reconnect_voltage: np.float32
    inverter_cut_off: np.float32 | None = None
    essential_shed: np.float32 | None = None
    essential_resume: np.float32 | None = None
    both: np.float32 | None = None


def generator_power(extras, hour_of_day):
    """Power that a running generator may give in this hour.

    Parameters
    ----------
    extras : Extras or None
    hour_of_day : int
        0-23, local standard time.

    Returns
    -------
    float32
        [W]; 0 outside its hours and without a generator.
    """
    raise NotImplementedError("compiled code only")


def generator_state(extras, soc, on, running):
    """Whether the generator is asked for: started by the charge or by disconnected loads, until the charge stops it.

    Parameters
    ----------
    extras : Extras or None
    soc, on, running : float32
        State of charge [-]; 1 while loads are connected, and while the generator was asked for, else 0.

    Returns
    -------
    float32
        1 or 0.
    """
    raise NotImplementedError("compiled code only")


def reconnected(extras, on, soc, level, voltage):
    """Whether loads may be connected: they were, or charge or voltage have come back.

    Parameters
    ----------
    extras : Extras or None
    on, soc, level, voltage : float32
        1 while loads are connected; state of charge and its reconnection level [-]; terminal voltage [V].

    Returns
    -------
    bool
    """
    raise NotImplementedError("compiled code only")


def float_terms(extras, absorbed):
    """What falling back to the float voltage after the absorption time changes.

    Parameters
    ----------
    extras : Extras or None
    absorbed : float32
        Hours at the set point [h].

    Returns
    -------
    share, drop : float32
        Factor on the acceptance [-] and fall of the set point [V].
    """
    raise NotImplementedError("compiled code only")


def absorbed_hours(extras, absorbed, full_offer, charging):
    """Hours at the set point since the chargers last rested.

    Parameters
    ----------
    extras : Extras or None
    absorbed : float32
        Until this hour [h].
    full_offer, charging : bool
        Whether more than the acceptance is on offer, and whether anything charges.

    Returns
    -------
    float32
        [h].
    """
    raise NotImplementedError("compiled code only")


def extras_of(study):
    """What a study asks for beyond the plain step; `Extras`, or None.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    Extras or None
    """
    bank, generator, inverter_off = study.bank, study.generator, study.inverter_cutoff_v
    plain = {bank.absorption_h, bank.reconnect_voltage_v, inverter_off} == {None}
    if generator is None and plain and not study.has_critical:
        return None
    set_, rest = study.absorption_v, study.float_v
    full = constant("bank", bank.chemistry, "ocv_v_cell")[-1] * study.cells
    values = dict(
        power=0.0, start=-1.0, stop=0.0, begin=0.0, end=24.0,
        absorption=NEVER if bank.absorption_h is None else bank.absorption_h,
        float_share=max(rest - full, 0.0) / max(set_ - full, 1e-9),  # some are set to their rested voltage
        float_drop=set_ - rest,
        reconnect_voltage=NEVER if bank.reconnect_voltage_v is None else bank.reconnect_voltage_v,
    )  # fmt: skip
    if generator is not None:
        begin, end = generator.window_hours
        values |= dict(
            power=generator.charge_w, start=generator.start_soc_pct / 100.0, stop=generator.stop_soc_pct / 100.0,
            begin=begin, end=end,
        )  # fmt: skip
    if inverter_off is not None or study.has_critical:
        levels = study.critical
        shed, resume = levels.shed_essential_below_soc_pct, levels.resume_essential_above_soc_pct
        values |= dict(inverter_cut_off=inverter_off or 0.0, essential_shed=-1.0, essential_resume=-1.0)
        if study.has_critical:
            values |= dict(essential_shed=shed / 100.0, essential_resume=resume / 100.0)
            values |= dict(both=1.0) if inverter_off is not None else {}
    return Extras(**{name: np.float32(value) for name, value in values.items()})


def _absent(extras):
    return isinstance(extras, types.NoneType)


@overload(generator_power, jit_options=INLINED)
def _generator_power(extras, hour_of_day):
    if _absent(extras):
        return lambda extras, hour_of_day: ZERO

    def power(extras, hour_of_day):
        now = np.float32(hour_of_day)
        inside = (now >= extras.begin) & (now < extras.end)
        outside = (now >= extras.begin) | (now < extras.end)
        allowed = inside if extras.begin < extras.end else outside
        return extras.power if allowed else ZERO

    return power


@overload(generator_state, jit_options=INLINED)
def _generator_state(extras, soc, on, running):
    if _absent(extras):
        return lambda extras, soc, on, running: running

    def state(extras, soc, on, running):
        wanted = (soc <= extras.start) | (on == ZERO)
        return max(running * np.float32(soc < extras.stop), np.float32(wanted))

    return state


@overload(reconnected, jit_options=INLINED)
def _reconnected(extras, on, soc, level, voltage):
    if _absent(extras):
        return lambda extras, on, soc, level, voltage: (on > ZERO) | (soc >= level)
    return lambda extras, on, soc, level, voltage: (
        (on > ZERO) | (soc >= level) | (voltage >= extras.reconnect_voltage)
    )


@overload(float_terms, jit_options=INLINED)
def _float_terms(extras, absorbed):
    if _absent(extras):
        return lambda extras, absorbed: (ONE, ZERO)

    def terms(extras, absorbed):
        done = absorbed >= extras.absorption
        return (extras.float_share if done else ONE), (extras.float_drop if done else ZERO)

    return terms


@overload(absorbed_hours, jit_options=INLINED)
def _absorbed_hours(extras, absorbed, full_offer, charging):
    if _absent(extras):
        return lambda extras, absorbed, full_offer, charging: absorbed

    def hours(extras, absorbed, full_offer, charging):
        more = absorbed + ONE if full_offer else absorbed
        return more if charging else ZERO

    return hours
