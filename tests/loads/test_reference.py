"""The compiled loads against the same draws written out in NumPy, with everything on."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from darkspell.loads import reference
from darkspell.loads.budget import Appliance
from darkspell.loads.hourly_loads import load_block
from darkspell.loads.temperature_dependence import Warmth

MEMBERS, SEED = np.arange(3), 11
RNG = np.random.default_rng(4)
EVERYTHING = [
    Appliance(
        "lamp", 12.0, 3.0, count=2, window_start_h=17.0, window_end_h=23.5, spread=0.4, months=(1, 2, 11)
    ),
    Appliance("pump", 80.0, 0.4, tier="deferrable", peak_watts=300.0, chance_of_use=0.3, past_monitor=True),
    Appliance("radio", 20.0, 5.0, window_start_h=20.0, window_end_h=4.0, spread=0.6, peak_watts=25.0),
    Appliance(
        "fridge",
        45.0,
        8.0,
        tier="uninterruptible",
        warmth=Warmth(35.0, 0.0, 5.0, 30.0, True),
        peak_watts=200.0,
    ),
    Appliance("router", 6.0, 24.0, spread=0.0, past_monitor=True),
    Appliance("cycler", 30.0, 8.0, spread=0.3),
    Appliance(
        "logged year", 0.0, 0.0, series=RNG.uniform(0, 50, (365, 24)).astype(np.float32), peak_watts=90.0
    ),
    Appliance(
        "logged week", 0.0, 0.0, series=RNG.uniform(0, 20, (7, 24)).astype(np.float32), tier="deferrable"
    ),
]


@pytest.mark.parametrize("month", [1, 7])
def test_two_ways_of_drawing_the_loads_agree(month):
    """Float32 against float64: 2e-4 W on hundreds of watts, but where a run ends within a second of the hour."""
    temp = RNG.uniform(-15, 40, (8760, MEMBERS.size)).astype(np.float32)
    ours = load_block(EVERYTHING, Calendar(month), MEMBERS, MEMBERS * 0, SEED, 0.0, temp_air=temp)
    theirs = reference.hourly_loads(EVERYTHING, Calendar(month), MEMBERS, SEED, temp.astype(float))
    for mine, other in zip(ours, theirs, strict=True):
        apart = ~np.isclose(mine, other, rtol=1e-5, atol=2e-3)
        assert apart.mean() < 1e-4
        assert mine.sum(dtype=float) == pytest.approx(other.sum(), rel=1e-5)
