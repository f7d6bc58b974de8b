"""Losses of a tracking charge controller by its load.

Of the rated power the loss is k0 + k1 x + k2 x^2 at the share x of it: what the running converter draws by itself,
its voltage drops and its resistances. At one voltage that is the model of King et al., Performance Model for
Grid-Connected Photovoltaic Inverters, SAND2007-5036 (`pvlib.inverter.sandia`). Three efficiencies of a data sheet
give the terms: at a tenth, at half and at the whole of the rated power.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.constants import constant, table
from darkspell.core.jit import fma, shared_inlined
from darkspell.core.keyed_random import normals_of_members, stream_key

STREAM = "controller/draw"
NORMAL_95 = 1.96
ZERO = np.float32(0.0)


class ControllerCurve(NamedTuple):
    """Output over input of a controller, relative to a constant efficiency; every field a float.

    Attributes
    ----------
    slope, bend, standing : output = slope P - bend P^2 - standing of the input P [-, 1/W, W]
    drawn : what a controller loses more by itself, for each unit of the factor drawn on it [-]
    rated : input at which `drawn` is counted twice [W]
    """

    slope: float
    bend: float
    standing: float
    drawn: float
    rated: float


def efficiencies(controller):
    """Efficiencies of a controller at a tenth, at half and at the whole of its rated power [-].

    Those that the study does not state have the table's ratio to the loss at half power.

    Parameters
    ----------
    controller : darkspell.study.arrays.Controller or OwnController

    Returns
    -------
    tenth, half, full : float
    """
    lost = 1.0 - controller.efficiency_pct / 100.0
    given = controller.efficiency_10_pct, controller.efficiency_full_pct
    usual = (1.0 - lost * constant("pv", "controller", f"loss_{at}") for at in ("tenth", "full"))
    tenth, full = (
        other if value is None else value / 100.0 for value, other in zip(given, usual, strict=True)
    )
    return tenth, 1.0 - lost, full


def loss_terms(tenth, half, full):
    """k0, k1 and k2 from the efficiencies at a tenth, half and all of the rated power [-].

    Parameters
    ----------
    tenth, half, full : float
        [-].

    Returns
    -------
    tuple of float
    """
    at_tenth, at_half, at_full = 1.0 - tenth, 1.0 - half, 1.0 - full
    standing = ((at_tenth - at_half) + 0.8 * (at_full - at_half)) / 7.2
    square = 2.0 * (at_full - at_half + standing)
    return standing, at_full - standing - square, square


def controller_curve(controller, rated, relative_to=1.0):
    """Curve of a controller.

    Parameters
    ----------
    controller : darkspell.study.arrays.Controller or OwnController
    rated : float
        Its rated input [W].
    relative_to : float
        Efficiency that is applied elsewhere [-].

    Returns
    -------
    ControllerCurve
        A straight line for a PWM controller, which converts nothing.
    """
    if controller.kind == "pwm" or rated <= 0.0:
        return ControllerCurve(controller.efficiency_pct / 100.0 / relative_to, 0.0, 0.0, 0.0, 0.0)
    standing, linear, square = loss_terms(*efficiencies(controller))
    drawn = 0.0 if controller.efficiency_10_pct is not None else standing
    return ControllerCurve(
        (1.0 - linear) / relative_to, square / rated / relative_to, standing * rated / relative_to,
        drawn / relative_to, rated,
    )  # fmt: skip


def rated_input(controller, array_watts, voltage):
    """Rated input of a controller: its current limit at a bank voltage, or the power of its arrays [W].

    Parameters
    ----------
    controller : darkspell.study.arrays.Controller or OwnController
    array_watts : float
        [W].
    voltage : float
        Of the bank while it is charged [V].

    Returns
    -------
    float
        [W]
    """
    if controller.current_limit_a is None:
        return array_watts
    return controller.current_limit_a * voltage / (controller.efficiency_pct / 100.0)


@shared_inlined
def converted(power, drawn, curve):
    """Output of a controller [W]; zero where it would lose more than it is given.

    Parameters
    ----------
    power, drawn : float32
        Input [W], and what is drawn on its standing loss, 0 as the table has it [-].
    curve : tuple of five float32
        `ControllerCurve`.

    Returns
    -------
    float32
        [W]
    """
    slope, bend, standing, more, rated = curve
    out = fma(-bend * power, power, fma(slope, power, -standing))
    out = fma(drawn * more, power + power - rated, out)
    return out if out > ZERO else ZERO


def converted_power(watts, curve):
    """As `converted`, for arrays, with the table's standing loss.

    Parameters
    ----------
    watts : float array
        [W].
    curve : ControllerCurve

    Returns
    -------
    float array
        Output [W], shape of `watts`.
    """
    return np.maximum((curve.slope - curve.bend * watts) * watts - curve.standing, 0.0)


def standing_draws(parameter_draw, seed):
    """What is not known of a controller's standing loss: a factor less 1, over the range of the loss at a tenth.

    Efficiency at half power stays. A controller whose efficiency at a tenth the study states is known.

    Parameters
    ----------
    parameter_draw : int array [lanes]
    seed : int

    Returns
    -------
    float32 array [lanes]
        [-]; the ends of the range, which no draw passes, are 1.96 standard deviations away.
    """
    draws, at = np.unique(np.asarray(parameter_draw, np.int64), return_inverse=True)
    z = np.clip(normals_of_members(stream_key(seed, STREAM), draws, 1)[:, 0], -NORMAL_95, NORMAL_95)
    entry = table("pv")["controller"]["loss_tenth"]
    low, high = entry["range"]
    usual, full = entry["value"], constant("pv", "controller", "loss_full")
    tenth = np.interp(z, (-NORMAL_95, 0.0, NORMAL_95), (low, usual, high))
    factor = (tenth - 1.0 + 0.8 * (full - 1.0)) / (usual - 1.0 + 0.8 * (full - 1.0))
    return (factor - 1.0)[at].astype(np.float32)
