"""Settings that a monitor has where its study leaves them out."""

from darkspell.chemistry.numbers import chemistry_numbers, reference_capacity
from darkspell.core.constants import constant


def with_settings(monitor, bank, nominal_voltage, absorption=None):
    """A monitor whose every setting has a value.

    Parameters
    ----------
    monitor : darkspell.study.monitors.Shunt, Gauge or Pack
    bank : darkspell.study.bank.Bank
    nominal_voltage : float
        [V]
    absorption : float, optional
        As `usual_settings` takes it.
    """
    if monitor.kind == "gauge":
        return monitor
    usual = usual_settings(monitor, bank, nominal_voltage, absorption)
    missing = {name: value for name, value in usual.items() if getattr(monitor, name) is None}
    return monitor.model_copy(update=missing)


def usual_settings(monitor, bank, nominal_voltage, absorption=None):
    """Default values of what a study may leave out for a monitor.

    Parameters
    ----------
    monitor : object
        Section of the study.
    bank : darkspell.study.bank.Bank
    nominal_voltage : float
        Of the system [V].
    absorption : float, optional
        Charging voltage that the study states [V]: the criterion of a full charge stays as far below it as below the
        chemistry's.

    Returns
    -------
    dict
        By key.
    """

    def of(name):
        return constant("bank", bank.chemistry, name)

    cells = of("cells_per_12v") * nominal_voltage / 12.0
    lower = 0.0 if absorption is None else max(of("absorption_v_cell") * cells - absorption, 0.0)
    usual = {
        "ah_efficiency_set_pct": counting_efficiency_pct(bank),
        "full_voltage_v": round(of("full_voltage_v_cell") * cells - lower, 3),
    }
    if monitor.kind == "pack":
        return usual
    present = (
        reference_capacity(bank.chemistry, bank.capacity_ah, bank.rate_h, bank.capacity_points)
        * bank.state_of_health_pct
        / 100.0
    )
    capacity = {"label": bank.capacity_ah, "fitted": round(present, 1)}
    usual |= {
        "capacity_set_ah": capacity.get(monitor.set_up, constant("monitor", "neglected_capacity")),
        "full_current_pct": float(of("full_current_pct")),
        "rate_exponent_set": 1.0,
        "gain_error_pct": round(class_gain_sd(monitor.class_pct), 3),
        "offset_ma": rated_offset_ma(monitor.rating_a),
        "offset_ma_per_k": rated_offset_ma(monitor.rating_a, per_kelvin=True),
    }
    if monitor.set_up == "neglected":
        for name in ("ah_efficiency_set_pct", "full_current_pct", "rate_exponent_set"):
            usual[name] = constant("monitor", f"neglected_{name.removesuffix('_pct').removesuffix('_set')}")
        usual["full_voltage_v"] = round(
            constant("monitor", "neglected_full_v_12v") * nominal_voltage / 12.0, 3
        )
    return usual


def counting_efficiency_pct(bank):
    """Best efficiency setting of a counter before anything is known of the year, rounded to half a per cent.

    A count errs between two full charges, and then the bank is charged in the range below full, where
    almost all current is stored; the losses near full fall away with the reset that follows them. So not
    the value of a whole cycle, which near-full losses pull down, but the mean over charging from the
    planning depth up to `counting_top_soc`: the reciprocal of the mean of the reciprocal.

    Parameters
    ----------
    bank : darkspell.study.bank.Bank

    Returns
    -------
    float
        Efficiency [%].
    """
    import numpy as np

    c = chemistry_numbers(bank.chemistry, 12.0)
    top, current = constant("monitor", "counting_top_soc"), constant("monitor", "counting_current_c")
    soc = np.linspace(1.0 - constant("bank", bank.chemistry, "planning_depth_pct") / 100.0, top, 401)
    excess = np.maximum(soc - c.efficiency_knee, 0.0)
    efficiency = c.efficiency_low - excess**2 * (c.efficiency_fall + c.efficiency_fall_rate * current)
    return round(200.0 / float(np.mean(1.0 / efficiency))) / 2.0


def class_gain_sd(class_pct):
    """Standard deviation of the scale [%] of an instrument of an accuracy class: even within its limits.

    JCGM 100:2008, 4.3.7: half-width over the root of three.

    Parameters
    ----------
    class_pct : float
        Accuracy class [%].

    Returns
    -------
    float
        [%]
    """
    return class_pct / 3.0**0.5


def rated_offset_ma(rating, per_kelvin=False):
    """Offset of an amplifier at a shunt, or its change with temperature.

    Parameters
    ----------
    rating : float
        Rated current of the shunt [A].
    per_kelvin : bool
        Give the change instead.

    Returns
    -------
    float
        [mA], or [mA/K].
    """
    microvolts = constant("monitor", "amplifier_offset_per_k_uv" if per_kelvin else "amplifier_offset_uv")
    return rating * microvolts / constant("monitor", "shunt_drop_mv")
