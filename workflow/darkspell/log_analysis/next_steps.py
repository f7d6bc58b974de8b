"""What to do next, one numbered step for each finding, and what to log next time."""

from darkspell.log_analysis import log_facts
from darkspell.log_analysis.hourly_means import LEAST_DAYS
from darkspell.log_analysis.log_facts import listed
from darkspell.log_analysis.report_text import ranked

STEPS = {
    (
        "load",
        True,
    ): "Ask the owner which appliances were added or run longer. Put them into the study, or stop using them.",
    (
        "load",
        False,
    ): "Ask the owner which appliances of the study are not used. Nothing is wrong with a smaller load.",
    (
        "array",
        True,
    ): "Check the array's power and losses in the study; the array gives more than the study counts on.",
    (
        "array",
        False,
    ): "Look at the modules: dirt, snow, a new shadow, a string that is off, a fuse, a connector.",
    ("capacity", True): "Check the capacity in the study; the bank holds more than the study counts on.",
    (
        "capacity",
        False,
    ): "Charge the bank fully and measure what a discharge to the usual depth gives; check single cells.",
    (
        "offset",
        True,
    ): "With every load and charger off, set the zero of the shunt. If it was set: look for a charger wired past it.",
    (
        "offset",
        False,
    ): "With every load and charger off, set the zero of the shunt. If it was set: look for a load wired past it.",
}
CLOCK = (
    'Set log.time_zone: by name, such as "Europe/Vienna", where the log follows summer time, otherwise as UTC+1 or '
    "the like. If the log is right, correct the times of log.weather_series. Then compare again."
)
LONG_GAP_DAYS = 14  # days without a full charge, common practice for lead-acid, no source
CHARGE_SOON = "Charge the bank soon, from another source: {why}."
LEAD_IS_DAMAGED = "lead-acid that stays this low is damaged more each day"
NO_RESERVE = "it has no reserve left"
NOT_CHARGED = (
    "Find out why it hardly charged: look at panel (shade, snow, dirt), fuse and connectors, charge controller, "
    "and the bank itself, which may no longer take a charge."
)
BAND_STEPS = {
    False: "More days than usual lie below the design's band. Look at the modules (dirt, shade, snow), ask the owner "
    "which loads run, and log net current and weather, which tell the two apart.",
    True: "More days than usual lie above the design's band: less is used, or more is charged, than the study counts "
    "on. Nothing needs to be done.",
}


def steps(comparison):
    """Numbered next steps, one for each finding; list of str."""
    if comparison.inferred and comparison.reversed:
        return [f"Set log.charging: {comparison.reversed} in the study, and compare again."]
    plain = _plain_steps(comparison.seen)
    if not comparison.inferred:
        return plain + _band_step(comparison) or [part for part in [log_next(comparison)] if part]
    if comparison.misfit:
        return [*plain, "Check columns, units, sign of the current and the study, and compare again."]
    clock = [CLOCK] if comparison.evidence.clock else []
    causes = [STEPS[one.name, one.above] for one in ranked(comparison.verdicts)]
    band = _band_step(comparison) if not causes else []
    return plain + clock + (causes or band) or [part for part in [log_next(comparison)] if part]


def _band_step(comparison):
    """What to do about more days outside the design's band than usual; list of one str, or of none."""
    if (
        not log_facts.has_days(comparison)
        or not log_facts.outside_design(comparison)
        or comparison.seen.run_down
    ):
        return []
    return [BAND_STEPS[log_facts.lean(comparison.bands) == "above"]]


def _plain_steps(seen):
    """Steps that follow from what needs no inference; list of str."""
    out = []
    if seen.run_down:
        out.append(CHARGE_SOON.format(why=LEAD_IS_DAMAGED if seen.run_down.lead else NO_RESERVE))
        out.append(NOT_CHARGED)
    elif seen.hours_below > 0.0:
        out.append(
            "The bank ran empty: use less in dull weeks or charge from another source, and see the study's sizes."
        )
    if seen.longest_gap and seen.longest_gap[0] > LONG_GAP_DAYS and not seen.run_down:
        out.append(
            "Charge the bank fully, from another source if the sun does not: without it a bank loses capacity."
        )
    if seen.gaps.by_night:
        out.append(
            "Find out why logging stops by night: a logger on the load output goes off with the loads."
        )
    return out


def log_next(comparison):
    """What to log next time; str, empty where nothing is missing."""
    log, wanted = comparison.hours, []
    if log.short:
        wanted.append(f"at least {LEAST_DAYS} days")
    if not log.measured_current:
        wanted.append("the net current of the bank")
    if not log.log.has_voltage:
        wanted.append("its voltage")
    if comparison.seen.step_s > 300.0:
        wanted.append("a row every 1 to 5 minutes")
    if not comparison.weather.known:
        wanted.append("hourly irradiation of the dates (log.weather_file)")
    return f"For the next log: {listed(wanted)}." if wanted else ""
