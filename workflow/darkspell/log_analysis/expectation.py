"""What a study expects in the hours of a log: load, array current and the bounds of its bank."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.climate.record.time_checks import sun_by_hour
from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.log_analysis.load_parts import study_parts
from darkspell.log_analysis.log_simulator import SEED_SHIFT, traces_of
from darkspell.log_analysis.quantities import Expected

LANES = 64
ENVELOPE = 0.97  # quantile of drawn years that stands for a clear sky


@dataclass(frozen=True)
class HourlyDays:
    """Drawn days whose hours of irradiance are those of a record; it takes the place of measured years.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    ghi : float32 array [8760]
        Global horizontal irradiance by study hour [W/m2].
    seed : int
    """

    system: object
    ghi: np.ndarray
    seed: int

    def of(self, members):
        """Days of some members; `darkspell.weather.days.Days`.

        Parameters
        ----------
        members : int [lanes]
        """
        from darkspell.simulation.input_series import stochastic_days

        days = stochastic_days(self.system.climate, self.system.calendar, members, members, self.seed)
        hours = np.repeat(self.ghi[:, None], len(members), axis=1)
        return replace(days, ghi=np.ascontiguousarray(hours, np.float32))


def expected_of(system, log_hours, weather, seed):
    """Expectation of one study for one log.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    log_hours : int array [H]
        Study hour of each hour of the log.
    weather : darkspell.log_analysis.weather.KnownWeather
    seed : int

    Returns
    -------
    darkspell.log_analysis.quantities.Expected
    """
    study, seed_own = system.study, seed + SEED_SHIFT
    members = np.arange(LANES)
    drawn = traces_of(system, members, None, seed_own)
    # Snow lies on single days, which no drawn year knows: the array is expected without it.
    bare = replace(system, snow=None)
    climate = array_amps(system, traces_of(bare, members, None, seed_own))
    envelope = _envelope(climate)[log_hours]
    if weather.ghi is not None:
        light = np.nan_to_num(weather.ghi).astype(np.float32)
        days = HourlyDays(system, light, seed_own)
        array = array_amps(system, traces_of(bare, members, None, seed_own, days))[log_hours]
    elif weather.clearness is not None:
        array = array_amps(system, traces_of(bare, members, weather.clearness, seed_own))[log_hours]
    else:
        array = climate[log_hours]
    load = drawn.essential + drawn.deferrable + drawn.always - drawn.past_monitor + study.self_consumption_w
    load = load[log_hours].astype(float)
    rng = np.random.default_rng([seed, 31])
    return Expected(
        load=load,
        array=array,
        envelope=envelope,
        weather_known=weather.known,
        weather_sd=weather.level_sd,
        tilt_gain=tilt_gain(system, log_hours, envelope),
        **study_parts(system, log_hours, rng),
        offset_sd=study.monitors[study.monitor].offset_ma * 1e-3,
        freezing=freezing_chance(system, drawn, log_hours),
        **bank_bounds(system),
    )


def tilt_gain(system, log_hours, envelope):
    """Light of a clear sky on the modules over that on the horizontal [-], 1 to 8; float64 [H], 1 by night.

    Where it is large the sun is low, and a small error of the beam's share is a large one of the array's power.

    Parameters
    ----------
    system : System
    log_hours : int64 [H]
        Hours of the study year that the log covers.
    envelope : float64 [H]
        Current of the array under a clear sky [A].
    """
    study = system.study
    sun = sun_by_hour(study.site)[system.calendar.day_of_year - 1].reshape(-1)[log_hours]
    rated = sum(one.power_wp for one in study.arrays.values()) / study.system.nominal_voltage_v
    level = rated * constant("log_analysis", "flat_share") * sun / 1000.0
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = np.where(envelope > 0.0, envelope / level, 1.0)
    return np.clip(np.nan_to_num(gain, nan=1.0, posinf=8.0), 1.0, 8.0)


def freezing_chance(system, traces, log_hours):
    """Chance of a daily mean below 1 degC on each day of the log [-]; 0 where no snow is expected.

    Parameters
    ----------
    system : System
    traces : Traces
    log_hours : int64 [H]
        Hours of the study year that the log covers, whole days.
    """
    means = traces.temp_air.reshape(365, 24, -1).mean(1)[log_hours[::24] // 24]
    return (means < 1.0).mean(1) * (system.study.climate.snow_days != 0.0)


def array_amps(system, traces):
    """Current of the array at the bank, within the controller's limit [A]; float64 [8760, lanes].

    Parameters
    ----------
    system : System
    traces : Traces
    """
    study = system.study
    nominal, controller = study.system.nominal_voltage_v, study.controller
    if controller.kind == "pwm":
        out = traces.pwm.astype(float)
    else:
        out = traces.mpp * (controller.efficiency_pct / 100.0) / (charging_level(study) * nominal)
    limit = controller.current_limit_a
    return out if limit is None else np.minimum(out, limit)


def charging_level(study):
    """Voltage of a bank while it is charged in bulk, over the nominal one [-].

    Parameters
    ----------
    study : Study
    """
    level = constant("bank", study.bank.chemistry, "ocv_v_cell")
    cells = constant("bank", study.bank.chemistry, "cells_per_12v")
    middle = float(np.interp(0.75, constant("bank", study.bank.chemistry, "ocv_soc"), level))
    top = study.absorption_v / study.cells
    return cells * (0.7 * middle + 0.3 * top) / 12.0


def _envelope(amps):
    """Current under a clear sky by study hour [A], from the brightest of the drawn years; float64 [8760]."""
    top = np.quantile(amps, ENVELOPE, axis=1).reshape(365, 24)
    reach = 7
    padded = np.concatenate([top[-reach:], top, top[:reach]])
    smooth = np.stack([padded[i : i + 365] for i in range(2 * reach + 1)]).max(0)
    return np.where(amps.max(1) > 0.0, smooth.reshape(HOURS), 0.0)


def bank_bounds(system):
    """What the evidence needs of the study's bank; dict of `Expected`'s fields.

    Parameters
    ----------
    system : System
    """
    study, kind = system.study, system.study.bank.chemistry

    def of(name):
        return constant("bank", kind, name)

    cells = study.system.nominal_voltage_v / 12.0 * of("cells_per_12v")
    lithium = of("coulombic_efficiency_pct") > 98.0
    efficiency = of("coulombic_efficiency_pct") / 100.0
    sag = of("ocv_v_cell")[1]
    resting = float(np.interp(0.7, of("ocv_soc"), of("ocv_v_cell"))) * cells
    return dict(
        capacity=system.capacity,
        cut_off=float(system.chemistry.cut_off),
        low_resting=float(np.interp(0.2, of("ocv_soc"), of("ocv_v_cell"))) * cells,
        nominal=float(study.system.nominal_voltage_v),
        absorption=study.absorption_v,
        float_voltage=study.float_v,
        steep=not lithium,
        compensation=0.2 + 25.0 * abs(of("setpoint_v_per_k_cell")) * of("cells_per_12v"),
        knee=sag * cells if lithium else float(system.chemistry.cut_off),
        resting=resting,
        knee_charge=constant("log_analysis", "knee_charge" if lithium else "cut_off_charge"),
        knee_charge_sd=constant("log_analysis", "knee_charge_sd" if lithium else "cut_off_charge_sd"),
        efficiency=efficiency,
        efficiency_sd=constant("log_analysis", "loss_doubt") * (1.0 - efficiency) + 0.002,
        bulk_depth=constant("log_analysis", "bulk_depth_lithium" if lithium else "bulk_depth_other"),
        shed_depth=1.0 - study.deferrable.resume_above_soc_pct / 100.0,
    )
