"""Study keys that were renamed: an old name is refused with the new one, never taken silently."""

# Old key: new key. A path with dots renames that place only; a bare name renames the key in every section.
RENAMED = {
    "study": "document",
    "people": "occupancy",
    "people.adapting": "occupancy.saving",
    "people.leaving": "occupancy.unattended",
    "occupancy.adapting": "occupancy.saving",
    "occupancy.leaving": "occupancy.unattended",
    "load_doubt_pct": "load_uncertainty_pct",
    "engine.worlds": "engine.parameter_draws",
    "engine.precision.most_members": "engine.precision.max_members",
    "bank.age_capacity_pct": "bank.state_of_health_pct",
    "bank.standing_draw_w": "bank.self_consumption_w",
    "bank.heater.set_c": "bank.heater.setpoint_c",
    "bank.heater.lift_k": "bank.heater.temperature_rise_k",
    "generator.hours": "generator.window",
    "inverter.left_on": "inverter.always_on",
    "sizing.as_sold": "sizing.catalogue",
    "sizing.cures": "sizing.remedies",
    "sizing.keep": "sizing.protected_loads",
    "target.also": "target.additional",
    "target.full_again": "target.full_charge",
    "sensitivity.starts": "sensitivity.trajectories",
    "own_draw_w": "self_consumption_w",
    "wired_past_monitor": "bypasses_shunt",
    "least_counted_ma": "dead_band_ma",
    "stops_pct": "opacity_pct",
    "in_string": "modules_per_string",
    "most": "max_count",
    "most_in_parallel": "max_in_parallel",
    "of": "key",
    "turns": "any_heading",
    "tilt_from": "tilt_by_date",
    "cut_out": "disconnect",
    "more_with_guests": "increases_with_guests",
}
# Old value: new value, of the keys named.
RENAMED_VALUES = {
    ("tier", "always"): "uninterruptible",
    ("statistic", "loss_of_load_hours"): "lolh",
    ("statistic", "loss_of_load_days"): "lold",
    ("statistic", "unserved_kwh"): "eue_kwh",
    ("statistic", "unserved_essential_kwh"): "eue_essential_kwh",
}
# Old section of the proposal: new section.
RENAMED_SECTIONS = {
    "proposed": "system",
    "supply": "energy_sources",
    "designs": "catalogue",
    "dull_weeks": "autonomy",
    "after_dark": "outages",
    "leaving": "unattended",
    "adapting": "saving",
    "care": "full_charges",
    "monitor": "monitor_readings",
    "which_monitor": "monitor_comparison",
    "setting": "monitor_settings",
    "cut_outs": "disconnects",
    "changes": "whatifs",
    "cures": "remedies",
    "certainty": "uncertainty",
    "replayed": "measured_years",
    "left_out": "out_of_scope",
}


def new_name(parts):
    """New name of a renamed key.

    Parameters
    ----------
    parts : sequence of str
        The old key, split at its dots.

    Returns
    -------
    str or None
        The new key, dotted where the old one was; None where the key was never renamed.
    """
    dotted = ".".join(map(str, parts))
    if dotted in RENAMED:
        return RENAMED[dotted]
    return RENAMED.get(str(parts[-1])) if len(parts) > 1 and "." not in str(parts[-1]) else None
