"""Values that no system of this kind can show are set aside, and counted."""

import numpy as np

from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

NOMINAL = (12.0, 24.0, 48.0)  # V

WORDS = {
    "soc": "state of charge outside 0 to 105 %",
    "current": "current beyond {high:g} A",
    "charge_current": "charge current beyond {high:g} A",
    "load_current": "load current beyond {high:g} A",
    "voltage": "voltage outside {low:g} to {high:g} V",
    "temperature": "temperature outside {low:g} to {high:g} degC",
    "power": "power beyond {high:g} W",
}


def bounds(kind, nominal, capacity):
    """Least and greatest plausible value of a kind, in the units of the room.

    Parameters
    ----------
    kind : str
        One of the keys of `WORDS`.
    nominal, capacity : float
        Nominal voltage and capacity of the bank [V, Ah].
    """
    if kind == "voltage":
        low, high = constant("log_analysis", "plausible_voltage")
        return low * nominal, high * nominal
    most = constant("log_analysis", "plausible_rate") * capacity
    if kind.endswith("current"):
        return -most, most
    if kind == "power":
        return -most * nominal, most * nominal
    if kind == "soc":
        return -1e-9, 1.05
    return tuple(constant("log_analysis", "plausible_temperature"))


def plausible(values, nominal, capacity):
    """Values within their bounds, the rest NaN.

    Parameters
    ----------
    values : dict of float arrays
        By kind.
    nominal, capacity : float
        [V, Ah].

    Returns
    -------
    values : dict of float arrays
    notes : list of str
        What was set aside, counted.
    """
    out, notes = {}, []
    for kind, part in values.items():
        low, high = bounds(kind, nominal, capacity)
        with np.errstate(invalid="ignore"):
            bad = (part < low) | (part > high)
        out[kind] = np.where(bad, np.nan, part)
        if bad.any():
            count, worst = int(bad.sum()), part[bad][np.argmax(np.abs(part[bad] - 0.5 * (low + high)))]
            words = WORDS[kind].format(low=low, high=high)
            notes.append(
                f"{count} value{'' if count == 1 else 's'} set aside: {words} (such as {worst:.4g})."
            )
    return out, notes


def fits_nominal(name, volts, nominal, unit):
    """Refuse a log whose voltages belong to a bank of another nominal voltage, or to another unit.

    Parameters
    ----------
    name : str
        Of the file.
    volts : float array
        As read in the unit of the study [V].
    nominal : float
        Of the study's bank [V].
    unit : str
        ``log.voltage_unit`` of the study, V or mV.

    Raises
    ------
    StudyError
        With the usual voltage of the log, what it fits instead, and the key to check.
    """
    known = np.abs(volts[np.isfinite(volts)])
    known = known[known > constant("log_analysis", "zero_voltage") * known.max(initial=0.0)]
    if not known.size:
        return
    usual = float(np.median(known))
    if _like(usual, nominal):
        return
    factor = 1e3 if unit == "mV" else 1e-3
    shown = f"{usual * 1e3 if unit == 'mV' else usual:.4g} {unit}"
    if any(_like(usual * factor, one) for one in NOMINAL):
        other = "V" if unit == "mV" else "mV"
        raise StudyError(
            f"{name}: its voltages, about {shown}, fit no bank of {nominal:g} V; in {other} they do: set "
            f"log.voltage_unit: {other}"
        )
    fitting = [one for one in NOMINAL if _like(usual, one)]
    if fitting:
        raise StudyError(
            f"{name}: its voltages, about {shown}, do not fit the {nominal:g} V bank of the study, but one of "
            f"{fitting[0]:g} V; check system.nominal_voltage_v and log.voltage_column"
        )
    raise StudyError(
        f"{name}: its voltages, about {shown}, do not fit the {nominal:g} V bank of the study; check "
        f"log.voltage_column and log.voltage_unit{'; a single cell is not compared' if usual < 6.0 else ''}"
    )


def _like(usual, nominal):
    """Whether a usual voltage may be that of a bank, run down or charging."""
    low, high = constant("log_analysis", "nominal_range")
    return low * nominal <= usual <= high * nominal
