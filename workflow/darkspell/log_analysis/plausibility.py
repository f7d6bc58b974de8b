"""Values that no system of this kind can show are set aside, and counted."""

import numpy as np

from darkspell.core.constants import constant

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
