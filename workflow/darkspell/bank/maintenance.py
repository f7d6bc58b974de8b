"""What a bank's year asks of its owner: time below full, equalising charges, frost, the generator.

An equalising charge falls due after some weeks without a full one. It is carried out in the first hours in which the
bank is full and array or chargers have the current for it to spare; until then the acid is taken as stratified. It
takes current that nothing else could have used, so the bank's hours stay as they are.

Not modelled: a generator is not started for it, and counts only while the charge keeps it running. No wear is taken
off for an equalising charge, nor added for stratified acid: wear already grows with the time since a full charge.
Valve-regulated, lithium and nickel banks are never equalised.
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.jit import kernel
from darkspell.statistics.registry import CAUSE_KEYS, CRITICAL_KEYS, GENERATOR_KEYS, statistic


def bank_care(soc, temp, chemistry):
    """Partial charge, equalising charges due, and hours in which the electrolyte would freeze.

    Parameters
    ----------
    soc, temp : float32 arrays [8760, L]
        State of charge [-] and bank temperature [degC].
    chemistry : str

    Returns
    -------
    dict of float64 arrays [L]
        ``partial_charge_pct``: share of the year that is later after a full charge than the chemistry
        tolerates [%]; ``equalisations``: times that an equalising charge fell due; ``freezing_h``: hours
        in which a flooded bank is colder than its acid's freezing point at that charge [h]. Zeros where the
        chemistry knows no such thing.
    """
    wanted, after = (
        24 * constant("bank", chemistry, f"{name}_days") for name in ("full_charge_wanted", "equalise_after")
    )
    frost = tuple(constant("bank", "common", f"freezing_{part}_c") for part in ("full", "slope", "bend"))
    # The fit is stated at full charge: its start at empty follows.
    start = frost[0] - frost[1] - frost[2]
    full = np.float32(constant("bank", chemistry, "full_soc"))
    numbers = tuple(map(np.float32, (start, frost[1], frost[2])))
    partial, due, frozen = _care(soc, temp, full, wanted, after, numbers, chemistry == "flooded")
    return {"partial_charge_pct": 100.0 * partial / soc.shape[0], "equalisations": due, "freezing_h": frozen}


@kernel
def _care(soc, temp, full, wanted, after, frost, wet):
    hours, lanes = soc.shape
    start, slope, bend = frost
    since = np.zeros(lanes, np.int64)
    partial, due, frozen = np.zeros(lanes), np.zeros(lanes), np.zeros(lanes)
    for h in range(hours):
        for lane in range(lanes):
            s = soc[h, lane]
            since[lane] = 0 if s >= full else since[lane] + 1
            partial[lane] += 1.0 if wanted > 0 and since[lane] > wanted else 0.0
            due[lane] += 1.0 if after > 0 and since[lane] > 0 and since[lane] % after == 0 else 0.0
            frozen[lane] += 1.0 if wet and temp[h, lane] < start + s * (slope + s * bend) else 0.0
    return partial, due, frozen


def equalising(bank, chemistry, cells):
    """Equalising charges that array and chargers carry out.

    Parameters
    ----------
    bank : darkspell.bank.bank_results.BankBlock
    chemistry : str
    cells : int
        In series.

    Returns
    -------
    dict of float64 arrays [L]
        ``equalised``: charges carried out; ``equalising_h``: their hours [h]; ``equalising_water_l``: water that they
        split [l]; ``stratified_pct``: share of the year from the day on which one is due until it is done [%]. Zeros
        where the kind of battery must not be equalised.
    """
    hours = constant("bank", chemistry, "equalise_h")
    names = ("equalised", "equalising_h", "equalising_water_l", "stratified_pct")
    lanes = bank.soc.shape[1]
    if not hours:
        return {name: np.zeros(lanes) for name in names}
    capacity = bank.capacity * (np.ones(lanes) if bank.capacity_factor is None else bank.capacity_factor)
    amps = np.asarray(constant("bank", "common", "equalise_current_c") * capacity, np.float32)
    after = 24 * constant("bank", chemistry, "equalise_after_days")
    full = np.float32(constant("bank", chemistry, "full_soc"))
    done, waiting = _equalise(bank.soc, bank.offer, amps, full, int(after), int(hours))
    water = done * hours * amps * cells * constant("bank", "common", "water_g_per_ah") / 1000.0
    return dict(zip(names, (done, done * hours, water, 100.0 * waiting / len(bank.soc)), strict=True))


@kernel
def _equalise(soc, offer, amps, full, after, hours):
    """Equalising charges done, and hours from due to done; a pause of more than a day begins one anew."""
    steps, lanes = soc.shape
    since, held, pause = np.zeros(lanes, np.int64), np.zeros(lanes, np.int64), np.zeros(lanes, np.int64)
    due, done, waiting = np.zeros(lanes, np.int64), np.zeros(lanes), np.zeros(lanes)
    for h in range(steps):
        for lane in range(lanes):
            charged = soc[h, lane] >= full
            since[lane] = 0 if charged else since[lane] + 1
            due[lane] = 1 if since[lane] >= after else due[lane]
            able = due[lane] > 0 and charged and offer[h, lane] >= amps[lane]
            pause[lane] = 0 if able else pause[lane] + 1
            held[lane] = held[lane] + 1 if able else 0 if pause[lane] > 24 else held[lane]
            waiting[lane] += due[lane]
            if held[lane] >= hours:
                due[lane], held[lane] = 0, 0
                done[lane] += 1.0
    return done, waiting


def asked_of_owner(study, members):
    """What a study's summary says of care and generator, where it has a bank or a generator that asks for it.

    Parameters
    ----------
    study : darkspell.study.Study
    members : dict of float arrays [members]
        Columns of members.csv.

    Returns
    -------
    dict
        ``{key: (values [members], unit)}``; hours of shortfall by cause among them, of causes that occur.
    """
    asked = []
    if constant("bank", study.bank.chemistry, "full_charge_wanted_days"):
        asked.append("partial_charge_pct")
    if constant("bank", study.bank.chemistry, "equalise_after_days"):
        asked.append("equalisations")
    if constant("bank", study.bank.chemistry, "equalise_h"):
        asked += ("equalised", "equalising_water_l", "stratified_pct")
    if study.generator is not None:
        asked += GENERATOR_KEYS
    if study.has_critical:
        asked += CRITICAL_KEYS
    asked += [key for key in CAUSE_KEYS if np.any(members[key])]
    return {key: (members[key], statistic(key).mean_unit) for key in asked}


def generator_use(bank, generator, calendar):
    """Hours run, starts and fuel of a generator, by member and by month.

    Parameters
    ----------
    bank : darkspell.bank.bank_results.BankBlock
    generator : darkspell.study.generator.Generator or None
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    members : dict of float64 arrays [L]
        ``generator_h`` [h], ``generator_starts``, ``generator_kwh`` [kWh], ``fuel_l`` [l]; zeros without one.
        The year is a ring: a run over its end starts once.
    months : dict of float64 arrays [L, 12]
        ``generator_h`` and ``fuel_l``, January first.
    """
    lanes = bank.running.shape[1]
    if generator is None:
        names = ("generator_h", "generator_starts", "generator_kwh", "fuel_l")
        members = {name: np.zeros(lanes) for name in names}
        return members, {name: np.zeros((lanes, 12)) for name in ("generator_h", "fuel_l")}
    month = calendar.month_of_hour
    masks = [month == m for m in range(12)]
    hours = np.stack([bank.running[mask].sum(axis=0, dtype=float) for mask in masks], axis=1)
    energy = np.stack([bank.engine_used[mask].sum(axis=0, dtype=float) for mask in masks], axis=1) / 1000.0
    fuel = hours * generator.fuel_idle_l_per_h + energy * generator.fuel_l_per_kwh
    starts = ((bank.running > 0) & (np.roll(bank.running, 1, axis=0) == 0)).sum(axis=0).astype(float)
    members = {"generator_h": hours, "generator_kwh": energy, "fuel_l": fuel}
    members = {name: values.sum(axis=1) for name, values in members.items()} | {"generator_starts": starts}
    return members, {"generator_h": hours, "fuel_l": fuel}
