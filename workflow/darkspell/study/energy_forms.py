"""Loads stated by energy or by current: what that makes of their power and hours."""

from math import isclose, isfinite

from darkspell.study.base import Faults

DAYS_OF_LABEL = 365
FORMS = ("wh_per_day", "kwh_per_year")


def day_energy(wh_per_day, kwh_per_year):
    """Energy of one appliance on a day of use.

    Parameters
    ----------
    wh_per_day, kwh_per_year : float or None
        [Wh], [kWh in a year of daily use].

    Returns
    -------
    float or None
        [Wh]; None without either.
    """
    return 1000.0 * kwh_per_year / DAYS_OF_LABEL if wh_per_day is None and kwh_per_year else wh_per_day


def filled_from_energy(given, hours_by_duty):
    """A load as typed, with the power or the hours that its energy leaves open.

    Parameters
    ----------
    given : object
        As read from the file, not validated.
    hours_by_duty : callable
        From the mapping to the hours of its duty_pct, or None [h].

    Returns
    -------
    object
        A new mapping; `given` itself where there is nothing to fill.
    """
    if not isinstance(given, dict):
        return given
    energy = day_energy(*(_number(given, name) for name in FORMS))
    watts, hours = _number(given, "watts"), _number(given, "hours_per_day")
    if energy is None or (watts is None) == (hours is None and "duty_pct" not in given):
        return given
    if watts is not None and "hours_per_day" not in given:
        return given | {"hours_per_day": energy / watts}
    hours = hours or _hours_of_duty(given, hours_by_duty)
    return given | {"watts": energy / hours} if hours and given.get("watts") is None else given


def check_energy(load):
    """Refuse an energy that does not go with power and hours, and two energies.

    Parameters
    ----------
    load : darkspell.study.loads.Load

    Raises
    ------
    Faults
    """
    named = [name for name in FORMS if getattr(load, name) is not None]
    if len(named) == 2:
        raise Faults((named[1], f"is given together with {named[0]}; keep one of the two"))
    if not named or isclose(day_energy(load.wh_per_day, load.kwh_per_year), load.watts * load.hours_per_day):
        return
    day = load.watts * load.hours_per_day
    text = f"does not go with watts x hours_per_day ({load.watts:g} W x {load.hours_per_day:g} h = {day:g} Wh a day)"
    raise Faults((named[0], f"{text}; keep two of the three"))


def with_amps(loads, voltage):
    """Loads as typed, with the power of those that state a current.

    Parameters
    ----------
    loads : object
        Mapping from name to load, not validated.
    voltage : float
        Nominal [V].

    Returns
    -------
    object
        A new mapping; `loads` itself if it is none.

    Raises
    ------
    Faults
        If a load states a power that is not its current's.
    """
    if not isinstance(loads, dict):
        return loads
    return {name: _with_amps(name, load, voltage) for name, load in loads.items()}


def _with_amps(name, load, voltage):
    amps = _number(load, "amps") if isinstance(load, dict) else None
    if amps is None:
        return load
    watts = _number(load, "watts")
    if watts is not None and not isclose(watts, amps * voltage):
        text = f"is given together with watts ({watts:g} W); keep one of the two"
        raise Faults((f"{name}.amps", text))
    return {"watts": amps * voltage} | load


def _hours_of_duty(given, hours_by_duty):
    try:
        return hours_by_duty({"window": ["00:00", "24:00"]} | given)
    except (AttributeError, TypeError, ValueError):  # a window or share that is refused elsewhere
        return None


def _number(given, name):
    """A positive finite number, or None."""
    value = given.get(name)
    return value if type(value) in (int, float) and isfinite(value) and value > 0 else None
