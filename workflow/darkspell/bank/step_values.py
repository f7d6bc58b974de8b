"""What goes into an hour of the bank, what its parts hand on, and what comes out.

All values are per ampere-hour of present capacity: states of charge [-], currents [1/h], powers [W/Ah], resistances
[V h]. Fields are float32 in compiled code; the reference in plain NumPy fills them with arrays.
"""

from typing import NamedTuple

import numpy as np

from darkspell.bank.optional_features import Extras

ZERO, ONE = np.float32(0.0), np.float32(1.0)


class Controls(NamedTuple):
    """Thresholds by which the system is switched; every field a float32.

    Attributes
    ----------
    shed, resume : state of charge below which deferrable loads are shed, and above which they resume [-]
    extras : `darkspell.bank.optional_features.Extras`, or None
    """

    shed: np.float32
    resume: np.float32
    extras: Extras | None = None


class State(NamedTuple):
    """What the bank carries from hour to hour; every field a float32.

    Attributes
    ----------
    soc : state of charge [-]
    connected, deferrable_on : 1 while the loads, among them the deferrable ones, may draw from the bank, else 0
    generator_on : 1 while the generator is asked for, in its hours or not, else 0
    absorbed : hours at the charging voltage since the chargers last rested [h]
    part_on : 1 while the part of the loads that is switched off before the rest is on, else 0, see
        `darkspell.bank.part_cutoff`
    """

    soc: np.float32
    connected: np.float32
    deferrable_on: np.float32
    generator_on: np.float32
    absorbed: np.float32
    part_on: np.float32


class Sources(NamedTuple):
    """What can charge in an hour; every field a float32.

    Attributes
    ----------
    mpp : array power at its maximum, after the controller [W/Ah]
    max_current : the greatest current from it [1/h]: the array's own at bank voltage (PWM), or the MPPT charge
        controller's limit
    chargers : power of all other chargers at the bank's terminals [W/Ah]
    generator : power of the generator if it runs [W/Ah]
    """

    mpp: np.float32
    max_current: np.float32
    chargers: np.float32
    generator: np.float32


class Loads(NamedTuple):
    """What draws in an hour; every field a float32.

    Attributes
    ----------
    essential, deferrable : mean load of either tier [W/Ah]
    uninterruptible : mean load that is never disconnected [W/Ah]
    heater : the part of it that serves the bank's heater [W/Ah]
    peak : greatest load within the hour, all included [W/Ah]
    self_consumption : draw of the system itself, never disconnected [W/Ah]
    cable : resistance between bank and loads [V h]
    """

    essential: np.float32
    deferrable: np.float32
    uninterruptible: np.float32
    heater: np.float32
    peak: np.float32
    self_consumption: np.float32
    cable: np.float32


class TemperatureTerms(NamedTuple):
    """What the bank's temperature changes in an hour, the same for every design; every field a float32.

    Attributes
    ----------
    setpoint : charging voltage that the chargers hold [V]
    resistance : of the bank in discharge [V h]
    accept_max : greatest charge current [1/h]
    deliverable_fraction : of the capacity, at the reference rate [-]
    self_discharge : [1/h]
    taper_h : time constant with which the accepted current falls at the set point [h]
    taper : accepted current for each unit of missing charge, mean over an hour [1/h]
    gassing : factor on the charge lost to gas near full [-]: of the bank itself, not of its temperature
    """

    setpoint: np.float32
    resistance: np.float32
    accept_max: np.float32
    deliverable_fraction: np.float32
    self_discharge: np.float32
    taper_h: np.float32
    taper: np.float32
    gassing: np.float32


class CellState(NamedTuple):
    """What the state of charge alone settles; every field a float32.

    Attributes
    ----------
    ocv, per_ocv : open-circuit voltage [V] and its inverse [1/V]
    charging_voltage : terminal voltage at which the bank is charged with all that it accepts [V]: the chargers' set
        point where the missing charge limits the current, or a lock-out accepts none at all; less where the bank's
        greatest current does
    accept : that current, mean over the hour [1/h]
    slope_in : rise of the voltage with the charge current [V h]
    """

    ocv: np.float32
    per_ocv: np.float32
    charging_voltage: np.float32
    accept: np.float32
    slope_in: np.float32


class Offer(NamedTuple):
    """What the sources offer in an hour; every field a float32.

    Attributes
    ----------
    array, generator : power of the array and of the generator [W/Ah]
    generator_on : 1 while the generator is asked for, else 0
    total : all power on offer [W/Ah]
    spare : what uninterruptible loads leave of it [W/Ah]
    from_bank : what uninterruptible loads draw from the bank [W/Ah]
    """

    array: np.float32
    generator: np.float32
    generator_on: np.float32
    total: np.float32
    spare: np.float32
    from_bank: np.float32


class Dispatch(NamedTuple):
    """Which loads are connected, and what the bank has to accept or give for them; every field a float32.

    Attributes
    ----------
    connected, deferrable_on : 1 if the loads, and the deferrable ones among them, are connected
    floor : state of charge below which nothing is delivered at this current and temperature [-]
    net : power into the bank [W/Ah]
    unserved_essential, unserved_deferrable : load left unserved by disconnection [W/Ah]
    cause : why loads are not connected, `darkspell.bank.optional_features.SERVED` if they are
    """

    connected: np.float32
    deferrable_on: np.float32
    floor: np.float32
    net: np.float32
    unserved_essential: np.float32
    unserved_deferrable: np.float32
    cause: np.float32


class Exchange(NamedTuple):
    """What flows in the hour and the state at its end; every field a float32.

    Attributes
    ----------
    soc, connected, absorbed : as in `State`, at the end of the hour
    current : mean terminal current, charging positive [1/h]
    voltage : mean terminal voltage [V]
    offer : current that the chargers could push in after the loads [1/h]
    left_over : power that neither loads nor bank take [W/Ah]
    unserved_essential, unserved_deferrable : energy of the hour [Wh/Ah]
    cause : why essential load is not served, if any is not
    """

    soc: np.float32
    connected: np.float32
    absorbed: np.float32
    current: np.float32
    voltage: np.float32
    offer: np.float32
    left_over: np.float32
    unserved_essential: np.float32
    unserved_deferrable: np.float32
    cause: np.float32


class PerAhFactors(NamedTuple):
    """What turns a study's input series into those of one design, per ampere-hour; every field a float32.

    Attributes
    ----------
    mpp : of the array's power [1/Ah]: the design's share of the study's array and the controller's efficiency
    pwm : of the array's current at bank voltage [1/Ah]; 0 with an MPPT charge controller
    limit : greatest current of an MPPT charge controller [1/h]; 0 with PWM
    load : of loads and chargers [1/Ah]
    self_consumption : the system's own draw [W/Ah]
    cable : resistance between bank and loads [V h]
    """

    mpp: np.float32
    pwm: np.float32
    limit: np.float32
    load: np.float32
    self_consumption: np.float32
    cable: np.float32


FULL_STATE = State(ONE, ONE, ONE, ZERO, ZERO, ONE)
