"""Plain numbers of one system, as a study states them, and what differs from them in one simulated system."""

from dataclasses import dataclass, field

import numpy as np

FAULTS = ("none", "load", "array", "capacity", "offset")
FAULT_SIZE = {"load": 1.3, "array": 0.6, "capacity": 0.7, "offset": 0.3}
ORDINARY_SD = {"load": 0.04, "array": 0.035, "capacity": 0.04}


@dataclass(frozen=True)
class Appliance:
    """One kind of appliance.

    Parameters
    ----------
    watts : float
        Of one piece while it runs [W].
    count : int
    hours : float
        Running time of a piece a day [h].
    window : (float, float)
        Hours of the day between which it runs; (0, 24) for any time.
    months : tuple of int
    chance : float
        Share of days on which it is used [-].
    spread : float
        Relative standard deviation of its daily running time [-].
    deferrable, past_shunt : bool
    """

    watts: float
    count: int = 1
    hours: float = 24.0
    window: tuple = (0.0, 24.0)
    months: tuple = tuple(range(1, 13))
    chance: float = 1.0
    spread: float = 0.25
    deferrable: bool = False
    past_shunt: bool = False


@dataclass(frozen=True)
class Surface:
    """Modules of one direction: rating [W], tilt and azimuth [degree], losses [-]."""

    watts: float
    tilt: float
    azimuth: float
    loss: float = 0.08


@dataclass(frozen=True)
class PlainSystem:
    """What the study states, as plain numbers.

    Parameters
    ----------
    latitude, longitude, altitude, utc_offset : float
        [degree, degree, m, h].
    clearness, temperature : sequences of 12 floats
        Monthly mean clearness index [-] and air temperature [degC].
    surfaces, appliances : tuples
    voltage : float
        Nominal [V].
    chemistry : str
        ``lfp`` or ``lead``.
    capacity : float
        [Ah] at the 20 h rate.
    pwm : bool
    efficiency, current_limit : float
        Of the charge controller [-, A].
    standing : float
        Self-consumption of the equipment [W].
    absorption, float_voltage, cut_off : float
        Voltages [V].
    setpoint_per_k : float
        Change of the charging voltages with temperature [V/K].
    indoor : (float, float) or None
        Range of the bank's temperature indoors [degC].
    shed, resume : float
        State of charge below which deferrable loads are dropped, above which they return [-].
    monitor : dict
        Settings of the coulomb counter: capacity [Ah], efficiency [-], full_voltage [V], tail [A], dwell [min],
        offset_sd [A].
    albedo : float
    """

    latitude: float
    longitude: float
    altitude: float
    utc_offset: float
    clearness: tuple
    temperature: tuple
    surfaces: tuple
    appliances: tuple
    voltage: float
    chemistry: str
    capacity: float
    pwm: bool
    efficiency: float
    current_limit: float
    standing: float
    absorption: float
    float_voltage: float
    cut_off: float
    setpoint_per_k: float
    indoor: tuple | None
    shed: float
    resume: float
    monitor: dict = field(default_factory=dict)
    albedo: float = 0.2


@dataclass(frozen=True)
class Truth:
    """What one simulated system is, against the study's numbers; factors [-], offset [A], fault by name."""

    load: float
    array: float
    capacity: float
    offset: float
    fault: str


def drawn_truth(fault, offset_sd, rng):
    """Truth of one system: ordinary scatter, and one fault.

    Parameters
    ----------
    fault : str
        One of `FAULTS`.
    offset_sd : float
        Zero error of an ordinary monitor, standard deviation [A].
    rng : numpy.random.Generator

    Returns
    -------
    Truth
    """
    factors = {name: float(np.exp(sd * rng.standard_normal())) for name, sd in ORDINARY_SD.items()}
    factors["offset"] = offset_sd * float(rng.standard_normal())
    if fault == "offset":
        factors["offset"] += FAULT_SIZE["offset"] * float(rng.choice([-1.0, 1.0]))
    elif fault != "none":
        factors[fault] *= FAULT_SIZE[fault]
    return Truth(**factors, fault=fault)
