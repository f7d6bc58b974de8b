"""What an inverter takes from the bank for the power that it gives."""

from typing import NamedTuple


class InverterCurve(NamedTuple):
    """Power in over power out as a parabola: what idles, what goes with the power, and with its square.

    ``in = idle + slope * out + bend * out**2``. The form is the usual one for self-consumption, voltage
    drop and resistance (Schmidt & Sauer 1996, from memory; pvlib.inverter.adr has it at one voltage).

    Attributes
    ----------
    idle : float
        [W].
    slope : float
        [-].
    bend : float
        [1/W].
    always_on : bool
        Whether it idles day and night, or only while something runs.
    """

    idle: float
    slope: float
    bend: float
    always_on: bool

    def power_in(self, power, idling=True):
        """Power taken from the bank for the power given.

        Parameters
        ----------
        power : float or float array
            AC power [W].
        idling : bool
            Whether the idle draw is counted here.

        Returns
        -------
        float or float array
            [W].
        """
        return (self.idle if idling else 0.0) + power * (self.slope + self.bend * power)


def inverter_curve(inverter):
    """The curve through an inverter's idle draw and its efficiencies at half and full power.

    Parameters
    ----------
    inverter : darkspell.study.loads.Inverter

    Returns
    -------
    InverterCurve
    """
    idle = inverter.no_load_w / inverter.power_w
    half = 0.5 / (inverter.efficiency_pct / 100.0) - idle
    full = 1.0 / (inverter.efficiency_full_pct / 100.0) - idle
    bend = 2.0 * (full - 2.0 * half)
    return InverterCurve(inverter.no_load_w, full - bend, bend / inverter.power_w, inverter.always_on)
