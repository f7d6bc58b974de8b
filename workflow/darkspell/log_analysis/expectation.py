"""What a study expects in the hours of a log: load, array current and the bounds of its bank."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.climate.record.time_checks import sun_by_hour
from darkspell.core.calendar import HOURS
from darkspell.core.constants import constant
from darkspell.loads.hourly_loads import is_even
from darkspell.log_analysis.log_simulator import SEED_SHIFT, traces_of
from darkspell.log_analysis.quantities import DRAWS, Expected

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
        """Days of some members; `darkspell.simulation.input_series.Days`.

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
        **daily_course(system, log_hours, rng),
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


def daily_course(system, log_hours, rng):
    """Steady loads by the hour, and daily courses of the whole load as they may be; dict for `Expected`.

    A load that runs through its whole window is steady. The others are planned evenly over their windows, but
    people use most of them in the evening, some in the morning: between an even spread and a pronounced evening
    (daily courses of households: Widen & Wackelgard, Applied Energy 87 (2010) 1880-1892) every course is drawn.
    Appliances that the study does not know, or that are not there, run at any hours.

    Parameters
    ----------
    system : System
    log_hours : int64 [H]
        Hours of the study year that the log covers.
    rng : numpy.random.Generator
    """
    hour, days = log_hours % 24, np.unique(log_hours // 24)
    steady = np.full(log_hours.size, system.study.self_consumption_w)
    moving, shed = [], 0.0
    for one in system.appliances:
        use = one.use_by_date()[system.calendar.day_of_year - 1]
        energy = one.daily_energy * one.chance_of_use
        if one.series is not None:
            energy, use = float(one.series.sum(axis=1).mean()), np.ones(365)
        shed += energy * use[days].mean() * (one.tier == "deferrable")
        if one.series is not None or is_even(one):
            steady = steady + (energy * _window(one))[hour] * use[log_hours // 24]
        elif energy > 0.0:
            moving.append(energy * use[days].mean() * _window(one))
    fixed = np.array([steady[hour == h].mean() for h in range(24)])
    courses = np.exp(constant("log_analysis", "steady_prior_sd") * rng.standard_normal((DRAWS, 1))) * fixed
    habits, spread = _habits(rng), constant("log_analysis", "movable_sd")
    common = np.exp(0.7 * spread * rng.standard_normal((DRAWS, 1)))
    for course in moving:
        drawn = (
            course
            * habits
            * np.exp(constant("log_analysis", "course_logit_sd") * rng.standard_normal((DRAWS, 24)))
        )
        own = common * np.exp(0.7 * spread * rng.standard_normal((DRAWS, 1)))
        courses = courses + own * drawn * (course.sum() / drawn.sum(1, keepdims=True))
    planned = float(fixed.mean() + np.sum(moving) / 24.0)
    return dict(
        steady=steady, courses=courses + planned * _unknown(rng), planned=planned,
        deferrable_share=float(shed / 24.0 / planned),
    )  # fmt: skip


def _habits(rng):
    """Activity over the hours of a day, with an evening and a morning of any strength [-]; float64 [draws, 24]."""
    middle = np.arange(24) + 0.5
    strength, evening = rng.uniform(0.0, 4.0, (DRAWS, 1)), rng.normal(19.5, 1.2, (DRAWS, 1))
    away = (middle - evening + 12.0) % 24.0 - 12.0
    morning = rng.uniform(0.0, 2.5, (DRAWS, 1)) * np.exp(-0.5 * ((middle - 8.0) / 1.8) ** 2)
    return 1.0 + strength * np.exp(-0.5 * (away / 2.2) ** 2) + morning


def _unknown(rng):
    """Load that the study does not know, over the planned mean [-]; float64 [draws, 24], mean about zero."""
    begin, length = rng.integers(0, 24, (DRAWS, 1)), rng.choice([2, 4, 8, 12, 24], (DRAWS, 1))
    on = (np.arange(24) - begin) % 24 < length
    share = constant("log_analysis", "unknown_load_sd") * rng.standard_normal((DRAWS, 1))
    return share * on * 24.0 / length


def _window(appliance):
    """Share of each hour of the day in an appliance's window; float64 [24], sum 1."""
    edges = np.arange(25.0)
    out = np.zeros(24)
    for shift in (-24.0, 0.0, 24.0):
        start = appliance.window_start_h + shift
        stop = start + appliance.window_length
        out += np.maximum(np.minimum(edges[1:], stop) - np.maximum(edges[:-1], start), 0.0)
    return out / out.sum()
