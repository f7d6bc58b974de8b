"""Values that are allowed but look like another unit: kW for W, kWh for Ah, 0.3 for 30 %."""

from darkspell.core.constants import constant
from darkspell.hand_check.warning import Finding

SHARES = (
    "soc_pct",
    "depth_pct",
    "depth_limit_pct",
    "duty_pct",
    "chance_of_use_pct",
    "probability_pct",
    "doubt_pct",
)


def slip_findings(study, check):
    """Warnings on values a hundred or a thousand times too small."""
    least_wp, least_w, least_days = (constant("hand_check", f"slip_{what}") for what in ("wp", "w", "days"))
    for name, array in study.arrays.items():
        if array.power_wp < least_wp:
            yield _thousand(f"arrays.{name}.power_wp", array.power_wp, "Wp", "kWp")
    for name, load in study.loads.items():
        if load.watts < least_w:
            yield _thousand(f"loads.{name}.watts", load.watts, "W", "kW")
    if float(check.reserve_plan[check.month]) < least_days:
        text = "The bank carries the loads for less than three hours."
        cure = "Give ampere-hours at the bank's voltage: kWh times 1000 over V."
        yield Finding("bank.capacity_ah", study.bank.capacity_ah, "Ah", text, cure)
    for key, value in _shares(study.model_dump(exclude_unset=True), ""):
        text = "It looks like a share of 1, and per cent are asked for."
        yield Finding(key, value, "%", text, f"Give {100.0 * value:g} if {100.0 * value:g} % is meant.")


def _thousand(key, value, unit, larger):
    text = f"It looks like {larger}, and {unit} are asked for."
    return Finding(key, value, unit, text, f"Give {1000.0 * value:g} if {value:g} {larger} is meant.")


def _shares(rows, path):
    """Keys below a mapping, and their values, that are shares and lie between 0 and 1."""
    for name, value in rows.items():
        if isinstance(value, dict):
            yield from _shares(value, f"{path}{name}.")
        elif name.endswith(SHARES) and isinstance(value, int | float) and 0 < value < 1:
            yield f"{path}{name}", value
