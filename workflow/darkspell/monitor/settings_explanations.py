"""Why a counter is set as it is: the words of the setting sheet."""

from darkspell.core.messages import N_

# Our own order: what the bank is, how it is known to be full, when to act.
GROUPS = {
    N_("what the bank is"): (
        ("capacity_set_ah", "Ah"),
        ("rate_exponent_set", "-"),
        ("ah_efficiency_set_pct", "%"),
    ),
    N_("how full is decided"): (
        ("full_voltage_v", "V"),
        ("full_current_pct", "%"),
        ("full_dwell_min", "min"),
    ),
    N_("when to warn"): (("warn_below_soc_pct", "%"),),
}
LABELS = {
    "capacity_set_ah": N_("capacity"),
    "rate_exponent_set": N_("exponent for fast discharge"),
    "ah_efficiency_set_pct": N_("charge efficiency"),
    "full_voltage_v": N_("full: voltage above"),
    "full_current_pct": N_("full: current below (share of the capacity set)"),
    "full_dwell_min": N_("full: both for"),
    "warn_below_soc_pct": N_("warn below"),
}


def reasons(study, fitted, usual, other=None, cost=None):
    """A sentence or two for each setting.

    Parameters
    ----------
    study : darkspell.study.Study
    fitted, usual : darkspell.study.monitors.Shunt
        As the study's years have it, and as label and chemistry alone would.
    other : float, optional
        The capacity that might be set as well [Ah]: the label's, or the present one at the slow rate.
    cost : pair of (float, float), optional
        Error exceeded 5 % of the time [points] and missed warnings [h/year] with the capacity chosen, and with that.

    Returns
    -------
    dict by key
    """

    def years(name):
        unit = dict(pair for group in GROUPS.values() for pair in group)[name]
        was, now = getattr(usual, name), getattr(fitted, name)
        return (
            ""
            if was == now
            else f" On the years of this study it serves better than the usual {was:g} {unit}."
        )

    bank = study.bank
    setpoint = study.absorption_v
    amps = fitted.full_current_pct / 100.0 * fitted.capacity_set_ah
    aged = f", {bank.state_of_health_pct:g} % of it left" if bank.state_of_health_pct < 100 else ""
    return {
        "capacity_set_ah": _capacity(fitted, bank, aged, other, cost)
        + " Lower it as the bank ages; a common mistake is to keep the capacity of the new bank.",
        "rate_exponent_set": "Exponent 1: no correction is needed at these currents.",
        "ah_efficiency_set_pct": (
            "Share of the charge that the bank stores between two full charges. Losses near full need no setting: "
            "the next full charge sets the count to 100 %." + years("ah_efficiency_set_pct")
        ),
        "full_voltage_v": (
            f"A little below the charger's {setpoint:.2f} V, so that every full charge is seen."
            + years("full_voltage_v")
        ),
        "full_current_pct": (
            f"Below {amps:.1f} A at that voltage the bank counts as full ({fitted.full_current_pct:g} % of "
            f"{fitted.capacity_set_ah:g} Ah). A higher limit calls it full too soon; a lower one may never call it "
            "full." + years("full_current_pct")
        ),
        "full_dwell_min": "Longer than a gap in the clouds lasts." + years("full_dwell_min"),
        "warn_below_soc_pct": (
            f"{_whose(study)} In normal use the charge should stay above {100 - bank.planning_depth_pct:g} %."
        ),
    }


def _whose(study):
    """Where the warning level comes from."""
    given = (study._given.get("monitors") or {}).get(study.monitor) or {}
    return "As the study sets it." if "warn_below_soc_pct" in given else "Our default."


def _capacity(fitted, bank, aged, other, cost):
    """Why the label's capacity, or the present one, and what the other of them would cost."""
    label = f"{bank.capacity_ah:g} Ah at {bank.rate_h:g} h"
    chosen = (
        f"That of the label ({label}{aged})."
        if fitted.capacity_set_ah == bank.capacity_ah
        else f"What the bank holds today at the slow rate of this system (label: {label}{aged})."
    )
    if other is None:
        return chosen
    (error, comfort), (others_error, others_comfort) = cost
    named = (
        f"the {other:g} Ah of the label"
        if other == bank.capacity_ah
        else f"the {other:g} Ah that it holds at this slow rate"
    )
    return (
        f"{chosen} The error, exceeded 5 % of the time, is {error:.1f} points, and warnings are missed for "
        f"{_hours(comfort)} a year; with {named} they would be "
        f"{others_error:.1f} points and {_hours(others_comfort)}."
    )


def _hours(value):
    text = f"{value:.1f}" if value < 10 else f"{value:.0f}"
    return "under 0.1 h" if 0 < value < 0.05 else "no hours" if value == 0 else f"{text} h"
