"""What a log says of load, array, capacity and current offset, by arithmetic that can be followed on paper.

Each quantity has its own evidence, and is estimated only where the log's columns carry that evidence:

offset
    From one full bank to the next as much charge must go in as comes out, but for the bank's losses. What is
    left over, divided by the time, is the current shown when none flows.
load
    Hours without sun, and with little: what leaves the bank is the load, once the offset is taken off.
array
    Hours of the morning before the charger holds its voltage: charge and load together are what the array gives.
capacity
    Charge removed since the bank was full, where its voltage has fallen off the end of the discharge curve.

The uncertainty of each is drawn: sampling of the log, losses, daily course of the loads, weather record, and what
is not known of the models behind the expectation (`constants/log_analysis.toml`).
"""

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.array_evidence import array_draws
from darkspell.log_analysis.capacity_evidence import capacity_draws
from darkspell.log_analysis.full_charge import depth_of, full_hours, round_trip
from darkspell.log_analysis.load_evidence import day_courses, load_courses
from darkspell.log_analysis.load_nights import night_use
from darkspell.log_analysis.offset_evidence import offset_draws
from darkspell.log_analysis.quantities import DRAWS, Evidence
from darkspell.log_analysis.unserved_loads import shed_factor, unserved_factor


def evidence(hours, expected, rng, light=True):
    """Draw what the log says of each cause; `Evidence`.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    expected : darkspell.log_analysis.quantities.Expected
    rng : numpy.random.Generator
    light : bool
        Whether the hours of the light may be used: not where the times of log and weather disagree.
    """
    draws, reasons = {}, {}
    full = full_hours(hours, expected)
    offset = offset_draws(hours, expected, full, draws, reasons, rng)
    depth = depth_of(hours, expected, full, float(np.median(offset)))
    courses, nights = load_courses(hours, expected, depth, offset, reasons, rng)
    array = None
    if light:
        array = array_draws(hours, expected, depth, offset, courses, draws, reasons, rng)
    else:
        reasons["array"] = "the times of the log and of the weather disagree"
    if "load" not in reasons:
        if light:
            courses = day_courses(hours, expected, depth, offset, courses, nights, array, rng)
        if array is not None:  # once more, with what the day has shown of the loads
            array_draws(hours, expected, depth, offset, courses, draws, reasons, rng)
        factor = shed_factor(hours, expected, depth, rng)
        factor = factor * unserved_factor(hours, expected, depth, offset, rng)
        load = courses.mean(1) / expected.planned * factor
        if hours.coarse:  # a short run a day is met by rows an hour apart too often or too seldom
            load += expected.parts.block_wh / (24.0 * expected.planned) * rng.standard_normal(DRAWS)
        if not (expected.weather_known or hours.measured_load):
            load = load * np.exp(constant("log_analysis", "night_only_sd") * rng.standard_normal(DRAWS))
        draws["load"] = np.maximum(load, 0.02)
    capacity_draws(hours, expected, depth, offset, full, draws, reasons, rng)
    deepest = float(np.nanmax(depth)) if np.isfinite(depth).any() else np.nan
    night = night_use(hours, expected, depth, offset, rng)
    return Evidence(draws, reasons, full, deepest, round_trip(hours, full, offset), night=night)
