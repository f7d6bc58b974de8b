"""The bank's hour once more, in plain NumPy over members: a yardstick for speed and a second opinion.

Follows `darkspell.bank.step` in meaning, written with masks and whole arrays as one would at first.
"""

import numpy as np


def temperature_terms(temp, c):
    """As `darkspell.bank.step.temperature_terms`, over arrays."""
    below = np.clip(c.reference - temp, 0, None)
    clipped = np.clip(temp, c.clip_low, c.clip_high)
    return (
        c.setpoint + c.setpoint_per_k * (clipped - c.reference),
        c.resistance * (1 + c.resistance_per_k * below + c.resistance_per_k2 * below**2),
        c.accept_max * np.clip((temp - c.cold_zero) * c.cold_slope, 0, 1),
        np.maximum(
            1 - c.capacity_per_k * below - c.capacity_per_k_below_0 * np.clip(-temp, 0, None),
            c.capacity_floor,
        ),
        c.self_discharge * c.q10 ** ((temp - c.reference) / 10),
    )


def step(state, sun, loads, temp, controls, c):
    """One hour of many members; arguments and returns as `darkspell.bank.step.step`, `temp` for its terms."""
    soc, on, free, running, absorbed = state
    mpp, source, aux, engine = sun
    essential, deferrable, always, heat, peak, standing, cable = loads
    extras = controls.extras
    setpoint, resistance, accept_max, letting, leak = temperature_terms(temp, c)
    starts = np.array((0.0, *c.ocv_knot))
    ocv = c.ocv_0 + np.maximum(soc[:, None], starts) @ np.array(c.ocv_slope)
    accept = np.clip(np.minimum(accept_max, c.accept_taper * (1 - soc)), 0, None)
    if extras is not None:
        rested = absorbed >= extras.absorption
        accept = np.where(rested, accept * extras.float_share, accept)
        setpoint = np.where(rested, setpoint - extras.float_drop, setpoint)
        start = (soc <= extras.start) | (on == 0)
        running = np.where(start, True, (running > 0) & (soc < extras.stop))
        engine = np.where(running, engine, 0)
    limited = np.minimum(accept_max / np.maximum(c.accept_taper * (1 - soc), 1e-9), 1)
    limited = np.where(accept_max > 0, limited, 1)
    held = ocv + limited * np.maximum(setpoint - ocv, 0)
    acceptance = np.maximum(accept, 1e-9)
    asked = essential + deferrable

    bus = ocv + (held - ocv) * np.clip((source + (aux + engine - asked - always) / ocv) / acceptance, 0, 1)
    array = np.minimum(mpp, source * bus)
    offered = array + aux + engine
    kept = np.clip(always - offered, 0, None)
    rest = np.clip(offered - always, 0, None)

    rate = np.maximum(np.clip(asked - rest, 0, None) / ocv / c.peukert_rate, 0.05)
    lets_out = letting * np.minimum(c.peukert_share * rate**-c.peukert_power, 1)
    floor = np.maximum(c.floor, 1 - lets_out)
    sag = ocv - (resistance + cable) * np.clip(peak - offered, 0, None) / c.cut_off
    back = soc >= c.reconnect
    if extras is not None:
        lifted = ocv + (held - ocv) * np.clip(offered / ocv / acceptance, 0, 1)
        back |= lifted >= extras.reconnect_voltage
    on = ((on > 0) | back) & (sag >= c.cut_off) & (soc >= floor)
    free = np.where(soc < controls.shed, False, np.where(soc > controls.resume, True, free > 0))

    served_e = np.where(on, essential, 0)
    served_d = np.where(on & free, deferrable, 0)
    spare = np.clip(rest - served_e - served_d - accept * held, 0, None)
    extra_e = np.minimum(spare, essential - served_e)
    extra_d = np.minimum(spare - extra_e, deferrable - served_d)
    served_e, served_d = served_e + extra_e, served_d + extra_d
    net = rest - served_e - served_d

    into, out = net > 0, net < 0
    slope = np.where(into, (held - ocv) / acceptance, resistance)
    root = ocv**2 + 4 * slope * net
    amps = 2 * np.abs(net) / (ocv + np.sqrt(np.clip(root, 0, None)))
    full = into & (net >= accept * held)
    charge = np.where(into, np.minimum(amps, accept), 0)
    left_over = np.where(full, net - accept * held, 0)
    engine_used = engine - np.minimum(left_over, engine)
    left_over = np.clip(left_over - engine, 0, None)
    aux_used = aux - np.minimum(left_over, aux)
    spilled = np.clip(left_over - aux, 0, None)
    rise = np.where(full, 1, np.minimum(charge / acceptance, 1))

    available = np.clip(soc - floor, 0, None)
    wanted = np.where(out, amps, 0)
    ran_out = (wanted > available) | (root < 0)
    discharge = np.minimum(wanted, available)
    sagging = ocv - resistance * discharge
    short = np.where(ran_out, np.clip(-net - discharge * sagging, 0, None), 0)
    short_d = np.minimum(short, served_d)

    middle = np.clip(soc + 0.5 * charge - c.efficiency_knee, 0, None)
    efficiency = c.efficiency_low - (c.efficiency_fall + c.efficiency_fall_rate * charge) * middle**2
    if extras is not None:
        absorbed = np.where(into, absorbed + (full & (accept < accept_max)), 0)
    idle = np.minimum((standing + kept) / ocv, soc - discharge)
    dark = np.clip(np.minimum(kept - heat, standing + kept - idle * ocv), 0, None)
    left = soc + efficiency * charge - discharge - idle
    return (
        (np.clip(left - leak * left, 0, 1), on & ~ran_out, free, running, absorbed),
        charge - discharge - idle,
        np.where(into, ocv + (held - ocv) * rise, sagging),
        np.clip(net, 0, None) / held,
        accept,
        np.clip(essential - served_e, 0, None) + short - short_d + dark,
        np.clip(deferrable - served_d, 0, None) + short_d,
        spilled,
        array - spilled,
        aux_used,
        engine_used,
    )


def run_members(traces, scales, controls, c, hours):
    """State of charge of all members over the first `hours`, from full; float32 [hours, members]."""
    mpp, pwm, temp, essential, deferrable, peak, aux, always, heat = traces
    a_mpp, a_pwm, limit, per_ah, standing, cable = scales
    soc = np.ones(mpp.shape[1], np.float32)
    yes, no = np.ones(soc.size, bool), np.zeros(soc.size, bool)
    state, out = (soc, yes, yes, no, np.zeros(soc.size)), np.empty((hours, soc.size), np.float32)
    for h in range(hours):
        sun = mpp[h] * a_mpp, pwm[h] * a_pwm + limit, aux[h] * per_ah, np.zeros(soc.size)
        loads = (row[h] * per_ah for row in (essential, deferrable, always, heat, peak))
        state, *_ = step(state, sun, (*loads, standing, cable), temp[h], controls, c)
        out[h] = state[0]
    return out
