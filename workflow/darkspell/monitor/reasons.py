"""Why a counter is set as it is: the words of the setting sheet."""

from darkspell.constants import constant

# Our own order: what the bank is, how it is known to be full, when to act.
GROUPS = {
    "what the bank is": (
        ("capacity_set_ah", "Ah"),
        ("rate_exponent_set", "-"),
        ("ah_efficiency_set_pct", "%"),
    ),
    "how full is decided": (("full_voltage_v", "V"), ("full_current_pct", "%"), ("full_dwell_min", "min")),
    "when to warn": (("warn_below_soc_pct", "%"),),
}
LABELS = {
    "capacity_set_ah": "capacity",
    "rate_exponent_set": "exponent for fast discharge",
    "ah_efficiency_set_pct": "charge efficiency",
    "full_voltage_v": "full: voltage above",
    "full_current_pct": "full: current below (share of the capacity set)",
    "full_dwell_min": "full: both for",
    "warn_below_soc_pct": "warn below",
}


def reasons(study, fitted, usual):
    """A sentence or two for each setting; dict by key.

    Parameters
    ----------
    study : darkspell.study.Study
    fitted, usual : darkspell.study.monitors.Shunt
        As the study's years have it, and as the chemistry alone would.
    """

    def years(name):
        unit = dict(pair for group in GROUPS.values() for pair in group)[name]
        was, now = getattr(usual, name), getattr(fitted, name)
        if was == now:
            return (
                " On the years of this study no other value that was tried reads clearly nearer to the truth."
            )
        return f" On the years of this study it reads nearer to the truth than the usual {was:g} {unit}."

    bank = study.bank
    setpoint = constant("bank", bank.chemistry, "absorption_v_cell") * study.cells
    amps = fitted.full_current_pct / 100.0 * fitted.capacity_set_ah
    aged = f", {bank.age_capacity_pct:g} % of it left" if bank.age_capacity_pct < 100 else ""
    return {
        "capacity_set_ah": (
            f"What the bank holds today at the slow rate of this system ({bank.capacity_ah:g} Ah on its label "
            f"at {bank.rate_h:g} h{aged}). Lower it as the bank ages: the wrong value is that of a bank that has "
            "lost since it was set."
        ),
        "rate_exponent_set": (
            "Fast discharge withholds charge but does not destroy it: what is counted is what flowed."
        ),
        "ah_efficiency_set_pct": (
            "What charging stores between two full charges. The losses near full need no setting: the reset "
            "takes them away." + years("ah_efficiency_set_pct")
        ),
        "full_voltage_v": (
            f"Under the charger's {setpoint:.2f} V, so that every full charge is seen and nothing short of it."
            + years("full_voltage_v")
        ),
        "full_current_pct": (
            f"{amps:.1f} A: what still flows into a full bank. Higher calls it full too soon; lower may never "
            "call it full." + years("full_current_pct")
        ),
        "full_dwell_min": "Longer than a gap in the clouds lasts." + years("full_dwell_min"),
        "warn_below_soc_pct": (
            f"Chosen in the study. The planning depth of {bank.planning_depth_pct:g} % leaves "
            f"{100 - bank.planning_depth_pct:g} %."
        ),
    }
