"""Sections of a proposal in their order, as a study's keys name them."""

SECTIONS = (
    "system", "bill_of_materials", "energy_sources", "snow", "size", "catalogue", "autonomy", "outages",
    "unattended", "saving", "full_charges", "ageing", "monitor_readings", "monitor_comparison",
    "monitor_settings", "disconnects", "whatifs", "remedies", "sensitivity", "uncertainty", "measured_years",
    "out_of_scope", "cautions", "terms", "appendix",
)  # fmt: skip
