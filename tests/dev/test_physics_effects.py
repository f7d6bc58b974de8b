"""What slower charging in the cold does to a study, year by year on the same draws."""

from pathlib import Path

import numpy as np
import pytest

from darkspell import api
from darkspell.simulation.run import simulate
from dev.physics_effects import COLUMNS, constants, parts_switched_off, result

RIDGE = Path(__file__).parents[2] / "config" / "ridge_relay.yaml"
YEARS = 64
FAST = {"flooded__taper_cold_per_k": 0.0}


@pytest.fixture(scope="module")
def study():
    return api.read_study(RIDGE)


def test_slower_charging_in_the_cold_costs_full_charges(study):
    """Fewer in the three worst months, and longer waits. Loss of load is decided by a few years and hardly moves."""
    slow, fast = (dict(zip(COLUMNS, result(study, YEARS, **values), strict=True)) for values in ({}, FAST))
    assert slow["dull months"] < 0.9 * fast["dull months"]
    assert slow["full days"] < 0.97 * fast["full days"]
    assert slow["longest gap"] > 1.05 * fast["longest gap"]


def test_the_bank_is_emptied_deeper_nearly_every_year(study):
    """Nine years of ten; in the rest the loads that can be shed differ.

    A fuller bank connects them sooner, and they empty it again. Of 100 years two lost load with either charging; in
    one of them the faster one lost 45 hours, the slower 10, since its camera was off. In 1,000 years the slower
    loses more, 0.495 hours against 0.487 a year.
    """
    depth = []
    for values in ({}, FAST):
        with constants(**values):
            members = simulate(api._system(study, YEARS), autonomy=False, workers=1).members
        depth.append(members["max_depth_true_pct"])
    assert np.mean(depth[0] > depth[1]) > 0.85 and np.mean(depth[0] - depth[1]) > 0.2


def test_every_part_of_a_study_is_switched_off_by_name(study):
    """The ridge's PWM controller and monthly climate leave two parts out; names are unlike."""
    names = [name for name, _, _ in parts_switched_off(study)]
    assert (
        len(set(names)) == len(names)
        and "no slower charge in the cold" in names
        and "wind of 1 m/s" not in names
    )
