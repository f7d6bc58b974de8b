"""Units of the documents and figures: the only module where metric values become US customary ones.

Tables, CSV and JSON stay metric. Factors: NIST Special Publication 811 (2008), appendix B, exact definitions.
"""

from darkspell.core.messages import N_, _
from darkspell.report.document.language import current
from darkspell.report.figures.number_format import number

FOOT_M = 0.3048
UNIT_WORDS = {
    "year": N_("year"), "day": N_("day"), "nights": N_("nights"), "days": N_("days"), "events": N_("events"),
    "cycles": N_("cycles"), "charges": N_("charges"), "starts": N_("starts"), "times": N_("times"),
    "hours": N_("hours"),
}  # fmt: skip
GALLON_L = 3.785411784  # US liquid gallon


def is_us():
    """Whether the document at hand uses US customary units."""
    return current().units == "us"


def temperature_value(celsius):
    """A temperature in the document's unit.

    Parameters
    ----------
    celsius : float or ndarray
        [°C].

    Returns
    -------
    float or ndarray
        [°C] or [°F].
    """
    return celsius * 1.8 + 32.0 if is_us() else celsius


def temperature_unit():
    """``°C`` or ``°F``."""
    return "°F" if is_us() else "°C"


def temperature(celsius):
    """A temperature with its unit: ``-28 °C``, ``-18 °F``.

    Parameters
    ----------
    celsius : float

    Returns
    -------
    str
    """
    return f"{number(temperature_value(celsius))} {temperature_unit()}"


def temperatures(low, high):
    """Two temperatures: ``6 to 24 °C``.

    Parameters
    ----------
    low, high : float
        [°C].

    Returns
    -------
    str
    """
    first, last = (number(temperature_value(value)) for value in (low, high))
    text = _("{low} to {high}").format(low=first, high=last)
    return f"{text} {temperature_unit()}"


def height(metres):
    """A height: ``1350 m``, ``4429 ft``.

    Parameters
    ----------
    metres : float

    Returns
    -------
    str
    """
    return f"{number(metres / FOOT_M)} ft" if is_us() else f"{metres:g} m"


def unit_words(unit):
    """A unit of summary.json in the document's language: ``nights/year``.

    Parameters
    ----------
    unit : str
    """
    return "/".join(_(UNIT_WORDS[part]) if part in UNIT_WORDS else part for part in unit.split("/"))


def key_value(value, unit):
    """Value and unit of a study's key as the document writes them: °F for °C, ft for m.

    Parameters
    ----------
    value : float
    unit : str
        Of the key.

    Returns
    -------
    tuple of (float, str)
    """
    if is_us() and unit == "°C":
        return round(temperature_value(value), 1), temperature_unit()
    if is_us() and unit == "m":
        return round(value / FOOT_M), "ft"
    return value, unit


def air_flow_value(cubic_metres):
    """A flow of air in the document's unit.

    Parameters
    ----------
    cubic_metres : float
        [m³/h].

    Returns
    -------
    float
        [m³/h] or [ft³/h].
    """
    return cubic_metres / FOOT_M**3 if is_us() else cubic_metres


def air_unit():
    """``m³`` or ``ft³``."""
    return "ft³" if is_us() else "m³"


def volume_value(litres):
    """A volume of fuel in the document's unit.

    Parameters
    ----------
    litres : float or ndarray

    Returns
    -------
    float or ndarray
        [l] or US gallons.
    """
    return litres / GALLON_L if is_us() else litres


def price_of_volume(per_litre):
    """A price of a litre as that of the document's unit of volume.

    Parameters
    ----------
    per_litre : float

    Returns
    -------
    float
    """
    return per_litre * GALLON_L if is_us() else per_litre
