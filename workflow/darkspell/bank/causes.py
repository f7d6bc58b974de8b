"""Why load was not served: the causes of every hour's shortfall, counted by member and month.

The bank's step tags each hour as it disconnects (`darkspell.bank.optional_features.EMPTY` and the others). What the
tag cannot say is why the bank was low. Three accounts are therefore kept of charge that was on offer and refused:
because the bank was too cold to charge, or too hot, and because of the greatest charge current of bank or
controller. Each is bounded by the charge that is missing, for a bank that fills up could not have held it; and an
hour of shortfall that an account covers is laid to the largest, and draws on it.

Hours in which loads wait for reconnection have the cause that began the loss; how many they are is counted apart.
"""

import numpy as np

from darkspell.bank.optional_features import VOLTAGE
from darkspell.bank.reference_laws import temperature_terms
from darkspell.bank.step_values import PerAhFactors
from darkspell.core.jit import kernel
from darkspell.statistics.registry import CAUSE_KEYS
from darkspell.statistics.reliability import LOSS_FLOOR

CAUSES = tuple(key.removeprefix("unserved_").removesuffix("_h") for key in CAUSE_KEYS)
TOO_COLD, CHARGE_CURRENT, TOO_HOT = 5, 6, 8  # the step's tags are 1 to 4 and 7
WAITING = 1 + CAUSES.index("reconnection")
HALF = 0.5  # of an hour's shortfall that an account has to cover


def shortfall_causes(bank, traces, factors, c, calendar):
    """Count the hours with unserved essential load by cause.

    Parameters
    ----------
    bank : darkspell.bank.bank_results.BankBlock
    traces : darkspell.simulation.input_series.TraceBlock
    factors : darkspell.bank.step_values.PerAhFactors
    c : darkspell.chemistry.numbers.ChemistryNumbers
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    members : dict of float64 arrays [L]
        ``unserved_<cause>_h`` of each of `CAUSES` [h/year]: all hours of loss by the cause that began it, and how
        many of them wait for reconnection.
    months : dict of float64 arrays [L, 12]
        The same by calendar month, January first [h].
    """
    hours = np.zeros((bank.soc.shape[1], 12, len(CAUSES)))
    short = _short(bank)
    if short.size:
        tags, begun = _tags(bank, traces, factors, c, short)
        hour, lane = np.nonzero(tags)
        month, cause = calendar.month_of_hour[hour], begun[hour, lane]
        np.add.at(hours, (short[lane], month, cause - 1), 1.0)
        waits = (tags[hour, lane] == WAITING) & (cause != WAITING)
        np.add.at(hours, (short[lane[waits]], month[waits], WAITING - 1), 1.0)
    months = {name: hours[..., k] for k, name in enumerate(CAUSE_KEYS)}
    return {name: values.sum(axis=1) for name, values in months.items()}, months


def hourly_causes(bank, traces, factors, c):
    """Cause of each hour with unserved essential load; waiting for reconnection is one of them.

    Parameters
    ----------
    bank, traces, factors, c
        As `shortfall_causes` takes them.

    Returns
    -------
    int8 array [8760, L]
        0 where essential load is served, else 1 + the position in `CAUSES`.
    """
    tags, short = np.zeros(bank.soc.shape, np.int8), _short(bank)
    if short.size:
        tags[:, short] = _tags(bank, traces, factors, c, short)[0]
    return tags


def _short(bank):
    """Lanes that run short."""
    return np.flatnonzero((bank.unserved_essential > LOSS_FLOOR).any(axis=0))


def _tags(bank, traces, factors, c, lanes):
    """As `hourly_causes`, of some lanes, and the same with waits under the cause that began the loss."""
    tags = np.zeros((2, bank.soc.shape[0], lanes.size), np.int8)
    _tag(*_series(bank, traces, factors, c, lanes), *tags)
    return tags


def _series(bank, traces, factors, c, lanes):
    """What `_tag` reads of the lanes that run short: tag, unserved charge, state of charge, charge refused."""
    factors = PerAhFactors(*factors)
    soc, nominal = bank.soc[:, lanes], np.float32(bank.capacity)
    capacity = nominal * bank.capacity_factor[lanes]
    before = np.roll(soc, 1, axis=0)
    terms = temperature_terms(traces.temp_bank[:, lanes], c)
    limit, taper = terms.accept_max.astype(np.float32), terms.taper.astype(np.float32)
    offer = bank.offer[:, lanes] / capacity
    missing = np.where(limit > 0.0, taper, np.float32(1.0)) * (np.float32(1.0) - before)
    warm = np.minimum(offer, np.minimum(missing, c.accept_max))
    cold = np.maximum(warm - limit, np.float32(0.0))
    too_hot = traces.temp_bank[:, lanes] > c.hot_limit
    hot, cold = np.where(too_hot, cold, np.float32(0.0)), np.where(too_hot, np.float32(0.0), cold)
    current = np.maximum(np.minimum(offer, missing) - np.maximum(warm, limit), np.float32(0.0))
    if (
        factors.pwm == 0.0
    ):  # what the controller's limit keeps from the array; PWM joins it to the bank's voltage
        held = (
            traces.mpp[:, lanes] * (factors.mpp * nominal)
            - bank.array_used[:, lanes]
            - bank.spilled[:, lanes]
        )
        current += np.maximum(held, np.float32(0.0)) / (bank.voltage[:, lanes] * capacity)
    lost = bank.unserved_essential[:, lanes]
    short = np.where(lost > LOSS_FLOOR, lost / (bank.voltage[:, lanes] * capacity), np.float32(0.0))
    return (
        bank.cause[:, lanes].astype(np.int8),
        short.astype(np.float32),
        soc,
        np.stack([cold, hot, current]).astype(np.float32),
    )


@kernel
def _tag(tag, short, soc, refused, tags, begun):
    """Walk two years and tag the hours of the second: accounts run over the year's end.

    Parameters
    ----------
    tag : int8 array [8760, L]
        Tags of `darkspell.bank.step`.
    short : float32 array [8760, L]
        Unserved charge, over the capacity; 0 where all is served [-].
    soc : float32 array [8760, L]
        State of charge at the end of each hour [-].
    refused : float32 array [3, 8760, L]
        Charge refused in the hour for cold, for heat, and for a greatest current, over the capacity [-].
    tags, begun : int8 arrays [8760, L], written
        0, or 1 + the position in `CAUSES`; in `begun` an hour of waiting has the cause that began the loss.
    """
    year, lanes = short.shape
    for lane in range(lanes):
        cold, hot, current, first = 0.0, 0.0, 0.0, WAITING
        for count in range(2 * year):
            h = count % year
            room = 1.0 - soc[h, lane]
            cold = min(cold + refused[0, h, lane], room)
            hot = min(hot + refused[1, h, lane], room)
            current = min(current + refused[2, h, lane], room)
            lost, disconnected = short[h, lane], int(tag[h, lane])
            if lost <= 0.0:
                first = disconnected if 0 < disconnected != WAITING else first
                continue
            cause = max(disconnected, 1)
            most = max(cold, hot, current)
            if cause != VOLTAGE and most >= HALF * lost:
                if cold == most:
                    cause, cold = TOO_COLD, max(cold - lost, 0.0)
                elif hot == most:
                    cause, hot = TOO_HOT, max(hot - lost, 0.0)
                else:
                    cause, current = CHARGE_CURRENT, max(current - lost, 0.0)
            first = first if cause == WAITING else cause
            if count >= year:
                tags[h, lane], begun[h, lane] = cause, first


def main_cause(members):
    """The cause of most hours of shortfall; waits belong to the cause that began the loss.

    Parameters
    ----------
    members : dict of float arrays [members]
        Columns of members.csv, `CAUSE_KEYS` among them.

    Returns
    -------
    cause : str or None
        One of `CAUSES`; None where nothing runs short.
    share : float
        Of all hours of shortfall [-].
    """
    total = {cause: float(np.sum(members[name])) for cause, name in zip(CAUSES, CAUSE_KEYS, strict=True)}
    waits = total.pop("reconnection")
    if not any(total.values()):
        return ("reconnection", 1.0) if waits else (None, 0.0)
    first = max(total, key=total.get)
    return first, total[first] / sum(total.values())


def main_cause_headline(members):
    """The main cause as a headline of summary.json; none where nothing runs short.

    Parameters
    ----------
    members : dict of float arrays [members]
        As `main_cause` takes them.

    Returns
    -------
    dict
        ``{"main_cause": {"value": share of the hours, "cause": one of `CAUSES`, ...}}``, fields as other headlines.
    """
    cause, share = main_cause(members)
    if cause is None:
        return {}
    none = dict.fromkeys(
        ("mean", "place_low", "place_high", "simulation_low", "simulation_high", "year_low", "year_high")
    )
    method = f"share of the hours of shortfall that the main cause has: {cause}"
    n = len(next(iter(members.values())))
    return {
        "main_cause": {
            "value": round(share, 6),
            "unit": "-",
            **none,
            "method": method,
            "n": n,
            "cause": cause,
        }
    }
