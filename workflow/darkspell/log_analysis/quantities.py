"""What the evidence takes and gives: expectation of the study, hours of the log, draws of each cause."""

from dataclasses import dataclass, field

import numpy as np

from darkspell.log_analysis.load_parts import LoadParts

CAUSES = ("load", "array", "capacity", "offset")
DRAWS = 2000


@dataclass(frozen=True)
class Expected:
    """What the study expects in the log's hours.

    Parameters
    ----------
    load : float array [H, lanes]
        Load that the shunt sees [W].
    array : float array [H, lanes]
        Current of the array at the bank, before the charger limits it [A].
    envelope : float array [H]
        The same under a clear sky [A]; 0 while the sun is down.
    weather_known : bool
        Whether `array` is under the weather of the log's own dates.
    weather_sd : float
        Relative uncertainty of the weather record's level [-]; 0 where the weather is not known.
    tilt_gain : float array [H]
        Light of a clear sky on the modules over that on the horizontal [-]; large where the sun is low.
    steady : float array [H]
        Part of the load that runs through its whole window [W]: its hours are known.
    parts : darkspell.log_analysis.load_parts.LoadParts
        Of the load, as it may be before the log is read.
    planned : float
        Mean load over day and night that the study plans [W].
    capacity : float
        [Ah].
    nominal : float
        Nominal voltage [V].
    absorption : float
        Charging voltage [V].
    float_voltage : float
        What the charger falls back to once the bank is full [V].
    steep : bool
        Whether the voltage under charge rises well with the charge held (lead-acid), or hardly (lithium).
    compensation : float
        Greatest change of the charging voltage of a 12 V bank with the season [V].
    knee : float
        Terminal voltage at which the discharge ends: of a lithium cell that of the bend of its curve, of other kinds
        that of the load's disconnection [V].
    knee_charge, knee_charge_sd : float
        State of charge at that voltage, and its uncertainty [-].
    efficiency, efficiency_sd : float
        Ampere-hour efficiency of the bank from full to full, and its uncertainty [-].
    bulk_depth : float
        Depth of discharge beyond which the charger does not limit the charge current yet [-].
    shed_depth : float
        Depth beyond which the study sheds deferrable loads [-].
    cut_off : float
        Voltage at which the loads are disconnected [V].
    low_resting : float
        Voltage at rest below which the bank is nearly empty [V].
    deferrable_share : float
        Share of the planned energy that is shed when the bank is low [-].
    offset_sd : float
        Ordinary offset of the monitor, standard deviation [A].
    freezing : float array [days]
        Chance of a daily mean below 1 degC [-]: snow may cover the array.
    resting : float
        Voltage of the bank at rest, for a log without a voltage [V].
    """

    load: np.ndarray
    array: np.ndarray
    envelope: np.ndarray
    weather_known: bool
    weather_sd: float
    tilt_gain: np.ndarray
    steady: np.ndarray
    parts: LoadParts
    planned: float
    capacity: float
    nominal: float
    absorption: float
    float_voltage: float
    steep: bool
    compensation: float
    knee: float
    knee_charge: float
    knee_charge_sd: float
    efficiency: float
    efficiency_sd: float
    bulk_depth: float
    shed_depth: float
    cut_off: float
    low_resting: float
    deferrable_share: float
    offset_sd: float
    freezing: np.ndarray
    resting: float


@dataclass(frozen=True)
class Hours:
    """A log by the hour, as the evidence takes it.

    Parameters
    ----------
    current, voltage : float arrays [H]
        [A, V]; NaN where not known. Current from the reading's steps where the log has only a reading.
    soc : float array [H]
        Reading [-]; NaN where not known.
    current_sd : float
        Sampling error of one hour's current [A].
    measured_current : bool
        Whether `current` was measured, not derived from the reading.
    coarse : bool
        Whether rows are half an hour or more apart.
    load_current, charge_current : float arrays [H] or None
        What the loads take and what the array gives, where both are measured apart [A].
    clipped : bool
        Whether the logger cuts the current off at its limit: hours at the limit are NaN.
    resolution : float
        Step in which the current is written [A].
    assumed_voltage : bool
        Whether the current comes from a power and the bank's usual voltages.
    charge_error : float
        What the sensor of the charge current shows by night [A], where charge and load are measured apart.
    zero_sd : float
        Ordinary error of such a sensor at zero, standard deviation [A].
    kind : str or None
        Whether rows are known to be "means" or "samples".
    moment_known : bool
        Whether the moment by which rows of means are named is known.
    hourly_means : bool
        Whether rows are known to be means of half an hour to an hour by a known moment.
    minute : float
        Usual moment of the rows after the beginning of their hour [min].
    momentary : bool
        Whether the hours are read as momentary values.
    """

    current: np.ndarray
    voltage: np.ndarray
    soc: np.ndarray
    current_sd: float
    measured_current: bool
    coarse: bool = False
    load_current: np.ndarray | None = None
    charge_current: np.ndarray | None = None
    clipped: bool = False
    resolution: float = 0.0
    assumed_voltage: bool = False
    charge_error: float = 0.0
    zero_sd: float = 0.0
    kind: str | None = None
    moment_known: bool = False
    hourly_means: bool = False
    minute: float = 0.0
    momentary: bool = False

    @property
    def measured_load(self):
        """Whether loads and array have a current of their own."""
        return self.load_current is not None


@dataclass(frozen=True)
class Evidence:
    """Draws of each cause and why one cannot be told.

    Parameters
    ----------
    draws : dict of float arrays [draws]
        By `CAUSES`: factors on the study's values [-], offset [A]; only causes that can be told.
    reasons : dict of str
        Why a cause cannot be told from this log.
    full : int array
        Hours in which the bank was full.
    deepest : float
        Greatest charge removed since the bank was full [Ah]; NaN where not known.
    round_trip : (float, float, float) or None
        Charge out over charge in, from full to full, and its 95 % interval [-].
    clock : list of (int, int, int)
        Parts of the log, by first and last day, whose hours are late against the weather's [h].
    night : darkspell.log_analysis.load_nights.NightUse or None
        Use of the loads in the hours without sun; None where the log does not show it.
    """

    draws: dict
    reasons: dict
    full: np.ndarray
    deepest: float
    round_trip: tuple | None
    clock: list = field(default_factory=list)
    night: object | None = None
