"""Units of the documents and figures: the only place where metric values become US customary ones.

Tables, CSV and JSON stay metric. Factors: NIST Special Publication 811 (2008), appendix B, exact definitions.
"""

from darkspell.report.document.localization import current
from darkspell.report.figures.number_format import number

FOOT_M = 0.3048
INCH_MM = 25.4
GALLON_L = 3.785411784  # US liquid gallon


def is_us():
    """Whether the document at hand uses US customary units."""
    return current().units == "us"


def temperature_value(celsius):
    """A temperature in the document's unit; numbers or arrays.

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


def temperature(celsius, decimals=0):
    """A temperature with its unit: ``-28 °C``, ``-18 °F``.

    Parameters
    ----------
    celsius : float
    decimals : int

    Returns
    -------
    str
    """
    return f"{number(temperature_value(celsius), decimals)} {temperature_unit()}"


def temperatures(low, high):
    """Two temperatures as a text for each, the unit with the second: ``6``, ``24 °C``.

    Parameters
    ----------
    low, high : float
        [°C].

    Returns
    -------
    tuple of str
    """
    return number(temperature_value(low)), temperature(high)


def height(metres):
    """A height or length: ``1350 m``, ``4429 ft``.

    Parameters
    ----------
    metres : float

    Returns
    -------
    str
    """
    return f"{number(metres / FOOT_M)} ft" if is_us() else f"{metres:g} m"


def air_flow(cubic_metres):
    """A flow of air in an hour: ``12 m³``, ``424 ft³``.

    Parameters
    ----------
    cubic_metres : float
        [m³/h].

    Returns
    -------
    str
    """
    return f"{number(cubic_metres / FOOT_M**3)} ft³" if is_us() else f"{number(cubic_metres)} m³"


def volume_value(litres):
    """A volume of liquid in the document's unit.

    Parameters
    ----------
    litres : float or ndarray

    Returns
    -------
    float or ndarray
        [l] or US gallons.
    """
    return litres / GALLON_L if is_us() else litres
