"""Loads that are switched off before the rest, in plain NumPy; compiled in `darkspell.bank.part_cutoff`."""

import numpy as np

from darkspell.bank.optional_features import SHED, VOLTAGE
from darkspell.bank.part_cutoff import CriticalShares, PartShares
from darkspell.bank.reference_laws import open_circuit


def shed_loads(loads, shares, state, extras):
    """Loads left once essential ones are shed to spare the critical ones, and those that are dropped.

    Shed below one state of charge until another is passed: a switch with hysteresis.

    Parameters
    ----------
    loads : darkspell.bank.step_values.Loads
    shares : darkspell.bank.part_cutoff.PartShares
    state : darkspell.bank.step_values.State
    extras : darkspell.bank.optional_features.Extras

    Returns
    -------
    loads : darkspell.bank.step_values.Loads
    dropped : (essential, deferrable), float arrays [members]
        [W/Ah].
    part_on : bool array [members]
    """
    low, high = state.soc < extras.essential_shed, state.soc > extras.essential_resume
    on = np.where(low, False, np.where(high, True, state.part_on > 0))
    essential = np.where(on, 0, loads.essential * shares.essential)
    deferrable = np.where(on, 0, loads.deferrable * shares.deferrable)
    left = loads._replace(
        essential=loads.essential - essential,
        deferrable=loads.deferrable - deferrable,
        peak=np.where(on, loads.peak, loads.peak * shares.rest_peak),
    )
    return left, (essential, deferrable), on


def inverter_runs(loads, shares, offer, ocv, terms, off_at):
    """Where an inverter with a cut-off of its own stays on.

    Parameters
    ----------
    loads, shares, offer, ocv, terms, off_at
        As `inverter_loads` takes them.

    Returns
    -------
    bool array [members]
    """
    drawn = np.clip(loads.peak * shares.peak - offer.total, 0, None)
    return ocv - (terms.resistance + loads.cable) * drawn / off_at >= off_at


def inverter_loads(loads, shares, offer, ocv, terms, off_at):
    """Loads left once the inverter has looked at its voltage, and those that it drops.

    It runs while V_oc - (R + R_cable) max(P_peak - P_offered, 0) / V_off >= V_off. While it does, the bank's cut-off
    sees its current over the bank's resistance alone.

    Parameters
    ----------
    loads : darkspell.bank.step_values.Loads
    shares : darkspell.bank.part_cutoff.PartShares
    offer : darkspell.bank.step_values.Offer
    ocv : float array [members]
        [V].
    terms : darkspell.bank.step_values.TemperatureTerms
    off_at : float
        Voltage at which it switches off [V].

    Returns
    -------
    loads : darkspell.bank.step_values.Loads
    dropped : (essential, deferrable), float arrays [members]
        [W/Ah].
    """
    both, runs = terms.resistance + loads.cable, inverter_runs(loads, shares, offer, ocv, terms, off_at)
    direct = loads.peak * shares.rest_peak
    seen = np.where(runs, direct + (loads.peak - direct) * terms.resistance / both, direct)
    essential = np.where(runs, 0, loads.essential * shares.essential)
    deferrable = np.where(runs, 0, loads.deferrable * shares.deferrable)
    left = loads._replace(
        essential=loads.essential - essential, deferrable=loads.deferrable - deferrable, peak=seen
    )
    return left, (essential, deferrable)


def shed_then_inverter(loads, shares, state, offer, terms, extras, c):
    """Loads left where critical loads are spared and an inverter cuts off: the level first, then the inverter.

    Parameters
    ----------
    loads : darkspell.bank.step_values.Loads
    shares : sequence of float arrays [members]
        `darkspell.bank.part_cutoff.PartShares`, then ``CriticalShares``.
    state, offer, terms, extras, c
        As above; arrays [members].

    Returns
    -------
    loads : darkspell.bank.step_values.Loads
    dropped : tuple of float arrays [members]
        Essential, deferrable [W/Ah]; the cause; critical load off, and other essential load still on [W/Ah].
    part_on : bool array [members]
    """
    every, critical = PartShares(*shares[:4]), CriticalShares(*shares[4:])
    ones = np.ones_like(every.essential)
    level = PartShares(1 - critical.critical, ones, critical.peak, ones)
    left, shed, on = shed_loads(loads, level, state, extras)
    kept = loads.essential * critical.critical
    behind = PartShares(
        np.where(on, every.essential, critical.behind_inverter),
        every.deferrable,
        np.where(on, every.rest_peak, critical.rest_peak),
        np.where(on, every.peak, critical.inverter_peak),
    )
    given = left, behind, offer, open_circuit(state.soc, c), terms, extras.inverter_cut_off
    last, off = inverter_loads(*given)
    off_critical = np.where(inverter_runs(*given), 0, kept * critical.behind_inverter)
    other = np.clip(last.essential - (kept - off_critical), 0, None)
    tag = np.where(off[0] > 0, VOLTAGE, SHED)
    return last, (shed[0] + off[0], shed[1] + off[1], tag, off_critical, other), on
