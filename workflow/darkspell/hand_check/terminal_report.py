"""The hand calculation as a page for the terminal and as plain data for machines."""

from textwrap import fill

import numpy as np

from darkspell.core.calendar import MONTH_LENGTHS, MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.hand_check.calculation import STANDING
from darkspell.hand_check.safety import highest_charging_voltage, ventilation
from darkspell.hand_check.warnings import CAUTIONS

WIDTH = 100
LABEL = 28
MARKS = {"deferrable": " *", "critical": " !"}
BOLD, PLAIN = "\033[1m", "\033[0m"


def page(study, check, found, source, colour=False, years=None):
    """The page.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.HandCheck
    found : list of Finding
    source : str
        Where the climate comes from.
    years : darkspell.hand_check.load_draw_check.Drawn, optional
        Years drawn from the budget, to be held against it.
    colour : bool
        True on a terminal; nothing is said by colour alone.

    Returns
    -------
    str
    """
    heading = (lambda text: f"{BOLD}{text}{PLAIN}") if colour else (lambda text: text)
    parts = [
        heading(_wrap(answer(study, check))),
        _wrap(
            "Worked by hand from monthly means. How often dull weather runs the bank down, means cannot say: "
            "darkspell run does. Climate: " + source + "."
        ),
        heading("Energy asked for [Wh/day]") + "\n" + _budget(study, check, years),
        heading("Sun, charge and reserve") + "\n" + _charge(check) + _snow(study, check),
        heading("The bank by hand") + "\n" + _bank(study, check),
        heading(_count(found)) + "".join("\n" + _warning(one) for one in found),
        heading("Cautions") + "\n" + "\n".join(_wrap(caution, "  ") for caution in CAUTIONS),
    ]
    return "\n\n".join(parts) + "\n"


def answer(study, check):
    """The result in two sentences.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Returns
    -------
    str
    """
    ratio = float(check.ratio[check.month])
    takes = f"the array gives {ratio:.2f} times what the loads take"
    low, high = float(check.reserve_plan[check.month]), float(check.reserve_limit[check.month])
    plan, limit = study.bank.planning_depth_pct, study.bank.depth_limit_pct
    depths = f"{plan:.0f} % depth ({high:.1f} to the limit of {limit:.0f} %)"
    return (
        f"{study.site.name}: in {check.month_name}, the month with the least sun for its loads, {takes}. "
        f"A full bank carries them {low:.1f} days without sun to {depths}."
    )


def data(study, check, found, source, years=None):
    """The same as plain dictionaries and lists; months in the order of the study year.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck
    found : list of darkspell.hand_check.warning.Finding
    source : str
        Where the climate comes from.
    years : darkspell.hand_check.load_draw_check.Drawn, optional

    Returns
    -------
    dict
    """

    def listed(values):
        return [round(float(v), 3) if np.isfinite(v) else None for v in np.asarray(values)[check.month_order]]

    return {
        "study": study.name,
        "climate": source,
        "months": [MONTH_NAMES[m] for m in check.month_order],
        "load_wh_day": {name: listed(energy) for name, energy in check.load_wh.items()},
        "plane_sun_kwh_m2_day": {name: listed(sun) for name, sun in check.plane_sun.items()},
        "array_ah_day": listed(check.array_ah),
        "load_ah_day": listed(check.load_ah),
        "charger_ah_day": {name: listed(amount) for name, amount in check.charger_ah.items()},
        "array_to_load_ratio": listed(check.ratio),
        "reserve_days_to_planning_depth": listed(check.reserve_plan),
        "reserve_days_to_depth_limit": listed(check.reserve_limit),
        "refill_days_from_depth_limit": listed(check.refill),
        "temp_bank_c": listed(check.temp_bank),
        "snow_left_out": leaves_snow_out(study, check),
        "design_month": check.month_name,
        "peak_sun_hours_design_month": round(float(check.sun_hours[check.month]), 3),
        "advisory_storage_days": {
            "95 %": round(check.storage_days[0], 2),
            "99 %": round(check.storage_days[1], 2),
        },
        "bank_by_hand_ah": {"95 %": round(check.bank_ah[0], 1), "99 %": round(check.bank_ah[1], 1)},
        "charging_voltage_max_v": round(highest_charging_voltage(study, check), 2),
        "ventilation_m3_h": round(ventilation(study), 3),
        "drawn": None if years is None else {name: float(value) for name, value in vars(years).items()},
        "warnings": [one.__dict__ for one in found],
        "cautions": list(CAUTIONS),
    }


def _budget(study, check, years):
    rows = [_months(check)]
    for name, energy in check.load_wh.items():
        load = study.loads.get(name)
        mark = MARKS.get(load.tier, "") if load is not None else ""
        rows.append(_row(_short(name, LABEL - 3) + mark, energy, check, ".0f"))
    rows.append(_row("all", sum(check.load_wh.values()), check, ".0f"))
    tiers = {load.tier for load in study.loads.values()}
    rows += [f" {mark} {tier}" for tier, mark in MARKS.items() if tier in tiers]
    if STANDING in check.load_wh:
        rows.append(f"  {STANDING}: monitor, controller and protection, day and night (self_consumption_w)")
    return "\n".join([*rows, _wrap(_year(study, check, years), "  ")])


def _year(study, check, years):
    """The year's energy, how far a drawn year strays from it, and how far those drawn did."""
    total = sum(float(energy @ MONTH_LENGTHS) for energy in check.load_wh.values()) / 1000.0
    spread, members = check.load_spread_wh / 1000.0, study.engine.members
    text = (
        f"Over the year {total:.1f} kWh. From day to day alone a drawn year strays from that by "
        f"{spread:.2g} kWh (one standard deviation), the mean of {members} by {spread / members**0.5:.1g} kWh; "
        f"the uncertainty of the whole adds {study.load_uncertainty_pct:g} %."
    )
    if any(load.by_temperature for load in study.loads.values()):
        text += " What follows the temperature strays with the weather besides."
    if years:
        text += (
            f" Drawn without that uncertainty and the standing draw: {years.years} years, mean {years.mean:.2f} kWh "
            f"with a standard error of {years.error:.2g}, {abs(years.off):.1f} of these from the budget's "
            f"{years.budget:.2f} kWh."
        )
    return text


def _charge(check):
    rows = [_months(check)]
    for name, sun in check.plane_sun.items():
        rows.append(_row(f"sun on {_short(name, LABEL - 18)}, kWh/m2/d", sun, check, ".1f"))
    return "\n".join(
        [
            *rows,
            _row("array, Ah/d", check.array_ah, check, ".0f"),
            *(
                _row(f"{_short(name, LABEL - 6)}, Ah/d", amount, check, ".0f")
                for name, amount in check.charger_ah.items()
            ),
            _row("loads, Ah/d", check.load_ah, check, ".0f"),
            _row("array to load", check.ratio, check, ".2f"),
            _row("bank, degC", check.temp_bank, check, ".0f"),
            _row("days of reserve", check.reserve_plan, check, ".1f"),
            _row("days to refill", check.refill, check, ".0f"),
        ]
    )


def leaves_snow_out(study, check):
    """Whether snow may cover arrays here, which the sums leave out.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Returns
    -------
    bool
    """
    if study.climate.snow_days is not None:
        return study.climate.snow_days > 0.0
    swept = all(array.snow == "swept" for array in study.arrays.values())
    return bool(not swept and check.temp_air.min() < constant("hand_check", "snow_month_c"))


def _snow(study, check):
    if not leaves_snow_out(study, check):
        return ""
    months = [m for m in check.month_order if check.temp_air[m] < constant("hand_check", "snow_month_c")]
    named = f" ({', '.join(MONTH_NAMES[m][:3] for m in months)})" if months else ""
    return "\n" + _wrap(
        f"Snow on the arrays is left out of these sums: in months that may freeze{named} they bring less, and "
        "the days of reserve are wanted more often. darkspell run has it in.",
        "  ",
    )


def _bank(study, check):
    sun = float(check.sun_hours[check.month])
    rows = [
        (
            "in the study",
            f"{study.bank.capacity_ah:g} Ah {study.bank.chemistry}, {study.system.nominal_voltage_v} V",
        ),
        (
            "charged with up to",
            f"{highest_charging_voltage(study, check):.1f} V; what is connected must survive it",
        ),
        ("design month", f"{check.month_name}, {sun:.1f} kWh/m2/day on the arrays"),
    ]
    air = ventilation(study)
    if air:
        rows.insert(2, ("air against hydrogen", f"{_up(air)} m3/h or more on boost charge (IEC 62485-2)"))
    for share, days, size in zip((95, 99), check.storage_days, check.bank_ah, strict=True):
        rows.append((f"for {days:.1f} days of storage", f"{size:.0f} Ah (an old rule of thumb's {share} %)"))
    lines = [f"  {label:<{LABEL}}  {text}" for label, text in rows]
    note = (
        f"Ampere-hours at {check.voltages[0]:.1f} V out and {check.voltages[1]:.1f} V in. Reserve: from "
        "full, no sun, to the planning depth, cold allowed for. To refill: from the depth limit, at "
        f"{100 * check.efficiency:g} % charge efficiency. The rule of thumb (Messenger & Ventre) is quoted "
        "from memory: advice only."
    )
    return "\n".join([*lines, _wrap(note, "  ")])


def _up(volume):
    """An air flow rounded up to tenths: less than what is needed is never printed."""
    return f"{np.ceil(10.0 * volume - 1e-9) / 10.0:.1f}"


def _months(check):
    return " " * (LABEL + 2) + "".join(f"{MONTH_NAMES[m][:3]:>6}" for m in check.month_order)


def _row(label, values, check, form):
    cells = "".join(f"{_cell(values[m], form):>6}" for m in check.month_order)
    return f"  {label:<{LABEL}}{cells}"


def _short(name, length):
    return name if len(name) <= length else name[: length - 2] + ".."


def _cell(value, form):
    if np.isinf(value):
        return "never"
    return "-" if form == ".0f" and value == 0 else f"{value:{form}}"


def _count(found):
    return {0: "No warnings", 1: "1 warning"}.get(len(found), f"{len(found)} warnings")


def _warning(one):
    value = f"{one.value:g}" if isinstance(one.value, int | float) else one.value
    return f"  {one.key}: {value} {one.unit}".rstrip() + "\n" + _wrap(f"{one.text} {one.cure}", "      ")


def _wrap(text, indent=""):
    text = "".join(letter if letter.isprintable() else " " for letter in text)
    return fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent)
