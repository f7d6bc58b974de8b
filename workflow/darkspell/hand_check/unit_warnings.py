"""Values that are allowed but look like a slip: kW for W, Wh for Ah, 0.3 for 30 %, an array that faces away."""

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.hand_check.warning import Finding

SHARES = (
    "soc_pct",
    "depth_pct",
    "depth_limit_pct",
    "duty_pct",
    "chance_of_use_pct",
    "probability_pct",
    "uncertainty_pct",
    "loss_pct",
)
TARGET_HOURS = {"lolp": 8760.0, "lolh": 1.0}  # hours a year in one of each statistic


def slip_findings(study, check):
    """Warnings on values that are likelier slips of typing than meant.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck
        The study worked by hand; its days of reserve are read.

    Yields
    ------
    darkspell.hand_check.warning.Finding
    """
    yield from _turned_away(study)
    yield from _targets(study.target)
    yield from _resistances(study)
    least_wp, least_w, least_days = (constant("hand_check", f"slip_{what}") for what in ("wp", "w", "days"))
    for name, array in study.arrays.items():
        if array.power_wp < least_wp:
            yield _thousand(f"arrays.{name}.power_wp", array.power_wp, "Wp", "kWp")
    for name, load in study.loads.items():
        if load.watts < least_w:
            yield _thousand(f"loads.{name}.watts", load.watts, "W", "kW")
    if float(check.reserve_plan[check.month]) < least_days:
        text = _("The bank carries the loads for less than three hours.")
        cure = _("Give ampere-hours at the bank's voltage: kWh times 1000 over V.")
        yield Finding("bank.capacity_ah", study.bank.capacity_ah, "Ah", text, cure)
    longest = float(check.reserve_plan.min())
    if longest > constant("hand_check", "slip_long_reserve"):
        wh = study.bank.capacity_ah
        text = _(
            "The bank carries the loads for {longest:.0f} days without sun in its worst month: it "
            "looks like Wh."
        ).format(longest=longest)
        cure = _("Give {wh:.0f} if {wh_2:g} Wh is meant.").format(
            wh=wh / study.system.nominal_voltage_v, wh_2=wh
        )
        yield Finding("bank.capacity_ah", wh, "Ah", text, cure)
    for key, value in _shares(study.model_dump(exclude_unset=True), ""):
        text = _("It looks like a share of 1, and per cent are asked for.")
        yield Finding(
            key, value, "%", text, _("Give {value:g} if {value:g} % is meant.").format(value=100.0 * value)
        )


def _turned_away(study):
    """Arrays whose slope faces away from the equator, where the sun is."""
    latitude = study.site.latitude_deg
    if abs(latitude) < constant("hand_check", "away_latitude") or study.itinerary:
        return
    toward = 180.0 if latitude > 0 else 0.0
    for name, array in study.arrays.items():
        off = abs((array.azimuth_deg - toward + 180.0) % 360.0 - 180.0)
        steep = array.tilt_deg >= constant("hand_check", "away_tilt")
        if off > constant("hand_check", "away_azimuth") and steep and not array.any_heading:
            text = (
                _("At {latitude:g} degrees north it faces away from the sun.")
                if latitude > 0
                else _("At {latitude:g} degrees south it faces away from the sun.")
            ).format(latitude=abs(latitude))
            cure = (
                _("180 faces south: directions count clockwise from north.")
                if latitude > 0
                else _("0 faces north: directions count clockwise from north.")
            )
            yield Finding(f"arrays.{name}.azimuth_deg", array.azimuth_deg, "deg", text, cure)


def _targets(target):
    """A target that hardly any design misses."""
    hours = TARGET_HOURS.get(target.statistic, 0.0) * target.at_most
    if hours > constant("hand_check", "slip_hours"):
        text = _("It allows {hours:.0f} hours a year without power, one in {hours_2:.2g}.").format(
            hours=hours, hours_2=8760.0 / hours
        )
        yield Finding("target.at_most", target.at_most, "", text, _("Lower it, unless that is meant."))
    if target.statistic == "short_nights" and target.at_most > constant("hand_check", "slip_nights"):
        text = _("It allows {at_most:g} nights a year without power.").format(at_most=target.at_most)
        yield Finding(
            "target.at_most", target.at_most, "nights/year", text, _("Lower it, unless that is meant.")
        )


def _resistances(study):
    """Milliohms and milliamperes that look like ohms and amperes."""
    mohm = study.system.cable_resistance_mohm
    if 0.0 < mohm < constant("hand_check", "slip_mohm"):
        yield _thousand("system.cable_resistance_mohm", mohm, "mohm", "ohm")
    for name, monitor in study.monitors.items():
        offset = getattr(monitor, "offset_ma", None) if "offset_ma" in monitor.model_fields_set else None
        if offset and 0.0 < abs(offset) < constant("hand_check", "slip_ma"):
            yield _thousand(f"monitors.{name}.offset_ma", offset, "mA", "A")


def _thousand(key, value, unit, larger):
    text = _("It looks like {larger}, and {unit} are asked for.").format(larger=larger, unit=unit)
    return Finding(
        key,
        value,
        unit,
        text,
        _("Give {value:g} if {value_2:g} {larger} is meant.").format(
            value=1000.0 * value, value_2=value, larger=larger
        ),
    )


def _shares(rows, path):
    """Keys below a mapping, and their values, that are shares and lie between 0 and 1."""
    for name, value in rows.items():
        if isinstance(value, dict):
            yield from _shares(value, f"{path}{name}.")
        elif name.endswith(SHARES) and isinstance(value, int | float) and 0 < value < 1:
            yield f"{path}{name}", value
