"""What a careful engineer would point at in arrays, chargers and appliances."""

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.hand_check import electrical
from darkspell.hand_check.warning import Finding
from darkspell.loads.inverter import inverter_curve


def plant_findings(study, check):
    """Warnings on inverter, alternators, strings in heat, and loads that nobody switches.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck
    """
    looks = (
        _snow,
        _snow_rate,
        _inverter,
        _alternators,
        _charge_current,
        _hot_strings,
        _guests,
        _absences,
        _watched,
    )
    for look in looks:
        yield from look(study, check)


def _snow(study, check):
    """Flat arrays where it freezes; the hand calculation itself leaves snow out."""
    flat = constant("weather", "snow", "slopes")[0]
    coldest = float(check.temp_air.min())
    if coldest >= 0.0 or study.climate.snow_days == 0.0:
        return
    for name, array in study.arrays.items():
        tilt = min(degrees for *_, degrees in array.tilts)
        if tilt <= flat and array.snow != "swept":
            text = _(
                "Snow stays on so flat an array until sun and thaw clear it; the coldest month averages "
                "{coldest:.0f} degC."
            ).format(coldest=coldest)
            cure = _(
                "A slope of 60 degrees or more through the winter, or sweeping (snow: swept); the hand "
                "calculation leaves snow out."
            )
            yield Finding(f"arrays.{name}.tilt_deg", tilt, "deg", text, cure)


def _snow_rate(study, check):
    """Snowfall that is estimated, not known."""
    known = study.climate.snow_days is not None or study.climate.wet_days is not None
    swept = all(array.snow == "swept" for array in study.arrays.values())
    if known or swept or check.snow_days < constant("hand_check", "snow_days_least"):
        return
    text = _(
        "How often it snows is estimated from the site's mean temperature and precipitation: about "
        "{snow_days:.0f} days a year. Single sites have half or twice as many, and the energy lost to snow changes "
        "in proportion."
    ).format(snow_days=check.snow_days)
    cure = _("Give climate.snow_days from a climate table, or climate.wet_days by month.")
    yield Finding("climate.snow_days", round(check.snow_days), "days/year", text, cure)


def _inverter(study, check):
    rows = [load for load in study.loads.values() if load.supply == "ac"]
    if not rows:
        return
    power, surge = study.inverter.power_w, study.inverter.surge_w or study.inverter.power_w
    running = electrical.greatest_power([(*_when(row), row.watts * row.count, 0.0) for row in rows])
    starting = electrical.greatest_power(
        [(*_when(row), row.watts * row.count, row.peak_watts - row.watts) for row in rows]
    )
    if running > power:
        text = _(
            "If all its loads that may run together do, they take {running:.0f} W; it gives {power:g} W."
        ).format(running=running, power=power)
        cure = _("A larger inverter, or windows that keep the large loads apart; else it switches off.")
        yield Finding("inverter.power_w", power, "W", text, cure)
    if starting > surge:
        text = _(
            "When the largest of its motors starts, it must give {starting:.0f} W; it gives {surge:g} W."
        ).format(starting=starting, surge=surge)
        cure = _("An inverter with more surge power, or a motor with a soft start.")
        yield Finding("inverter.surge_w", surge, "W", text, cure)
    idle = inverter_curve(study.inverter).idle * 24.0
    total = sum(float(energy.mean()) for energy in check.load_wh.values())
    if study.inverter.always_on and idle > constant("hand_check", "idle_share_pct") / 100.0 * total:
        text = _(
            "Left on without a load it draws {idle:.0f} Wh a day, {idle_2:.0f} % of all energy used."
        ).format(idle=idle, idle_2=100 * idle / total)
        cure = _("Switch it off while no ac load runs (inverter.always_on: false), or move loads to dc.")
        yield Finding("inverter.no_load_w", study.inverter.no_load_w, "W", text, cure)


def _when(row):
    return (*row.window_hours, row.months)


def _alternators(study, _check):
    share = constant("hand_check", "alternator_share_pct")
    for name, row in study.chargers.items():
        if row.kind == "alternator" and row.charger_a > share / 100.0 * row.label_a:
            text = _(
                "More than {share:g} % of the alternator's label ({label_a:g} A): hot and at low speed "
                "it cannot give that for hours, and burns out."
            ).format(share=share, label_a=row.label_a)
            cure = _("At most {share:.0f} A, or an alternator made for it.").format(
                share=share / 100.0 * row.label_a
            )
            yield Finding(f"chargers.{name}.charger_a", row.charger_a, "A", text, cure)


def _charge_current(study, _check):
    bank = study.bank
    highest = bank.largest_charge_a
    whose = (
        _("the bank's chemistry wants")
        if bank.charge_current_max_a is None
        else _("the bank's data sheet allows")
    )
    for name, row in study.chargers.items():
        if row.kind != "turbine" and row.charger_a > highest:
            text = _("Its current is more than {whose}: {highest:.0f} A at most.").format(
                whose=whose, highest=highest
            )
            cure = _("A charger or a setting of {highest:.0f} A, or a larger bank.").format(highest=highest)
            yield Finding(f"chargers.{name}.charger_a", row.charger_a, "A", text, cure)


def _hot_strings(study, check):
    """A tracking controller steps the voltage down only: a hot string must stay above the bank."""
    if study.controller.kind != "mppt":
        return
    hot, headroom = constant("hand_check", "hot_cell_c"), constant("hand_check", "tracking_headroom_v")
    charging = study.absorption_v
    for name, array in study.arrays.items():
        volts = electrical.hot_string_voltage(array, hot)
        if volts is None:
            continue
        if volts < charging + headroom:
            text = _(
                "With cells at {hot:g} degC the string works at {volts:.1f} V, too near the "
                "{charging:.1f} V of a bank being charged: a tracking controller can then give little or "
                "nothing."
            ).format(hot=hot, volts=volts, charging=charging)
            yield Finding(
                f"arrays.{name}.modules_in_series",
                array.modules_in_series,
                _("in series"),
                text,
                _("One more module in series, as far as the controller's input voltage allows."),
            )


def _guests(study, _check):
    for name, load in study.loads.items():
        if (load.when == "guests" or load.increases_with_guests) and not study.occupancy.guests:
            key = "when" if load.when == "guests" else "increases_with_guests"
            text = _("This load depends on guests, and the study has none.")
            yield Finding(
                f"loads.{name}.{key}",
                _("guests"),
                "",
                text,
                _("Give their dates under occupancy.guests."),
            )


def _absences(study, _check):
    people = study.occupancy
    if (people.absences or people.at_home != "all_days") and all(
        load.when in ("any", "guests") for load in study.loads.values()
    ):
        key, value = (
            ("absences", ", ".join(people.absences)) if people.absences else ("at_home", people.at_home)
        )
        text = _("No load depends on it: all run whether or not people are there.")
        yield Finding(f"occupancy.{key}", value, "", text, _("Mark what stops then with when: home."))


def _watched(study, _check):
    if study.occupancy.unattended and not any(load.when in ("any", "away") for load in study.loads.values()):
        text = _("Every load runs only while people are there: nothing runs when the place is left.")
        cure = _("Mark what stays on (fridge, alarms, bilge pump) with when: any.")
        yield Finding("occupancy.unattended", _("no load stays on"), "", text, cure)
