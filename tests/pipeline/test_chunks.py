"""Years cut into parts: nothing is lost, doubled, or changed by a bit."""

from dataclasses import fields, replace
from math import ceil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as some

from darkspell.climate import site_climate
from darkspell.core.batches import LANES
from darkspell.core.errors import StudyError
from darkspell.design.grid import designs_of, run_grid
from darkspell.design.grid_costs import grid_table
from darkspell.pipeline.chunks import parts_of, slices, some_designs, some_members
from darkspell.pipeline.stored_parts import load_part, save_part
from darkspell.simulation.run import merged, simulate
from darkspell.simulation.system import build_system
from darkspell.study import load_study
from darkspell.weather.site_sky import sky_of


@given(some.integers(1, 2000), some.integers(1, 60))
def test_slices_cover_everything_once(units, parts):
    covered = [n for one in slices(units, parts) for n in range(one.start, one.stop)]
    assert covered == list(range(units))


def test_how_many_parts():
    assert parts_of(10.0, 16) == 1
    assert parts_of(1e6, 16) == 16
    assert parts_of(10.0, 16, "3") == 3
    for wrong in ("0", "many", "1.5", -1):
        with pytest.raises(StudyError, match="parts: .* give a whole number"):
            parts_of(10.0, 16, wrong)


@pytest.fixture(scope="module")
def hut():
    study = load_study(Path(__file__).parents[2] / "config" / "tarn_hut.yaml")
    whole = build_system(study, site_climate(study), sky_of(study))
    few = np.arange(2 * LANES + 9)
    return replace(whole, members=few, parameter_draw=few % 50)


def test_parts_put_together_are_the_whole(hut, tmp_path):
    """Every array of the simulation, bit for bit, through the files."""
    whole, count = simulate(hut), ceil(hut.members.size / LANES)
    for part in range(1, count + 1):
        save_part(tmp_path / f"{part}.npz", simulate(some_members(hut, part, count), workers=1))
    again = merged(load_part(tmp_path / f"{part}.npz") for part in range(1, count + 1))
    for field in fields(whole):
        same(getattr(whole, field.name), getattr(again, field.name), field.name)


def test_designs_in_blocks_give_the_rows_of_the_whole_grid(hut):
    """Counts and intervals of a design do not know of the other designs."""
    few = replace(hut, members=hut.members[:20], parameter_draw=hut.parameter_draw[:20])
    designs = designs_of(hut.study)
    assert [len(some_designs(designs, part, 2)) for part in (1, 2)] == [64, 36]

    def table(some):
        return grid_table(some, run_grid(few, some), few.parameter_draw, 300.0, 1, few.study.target)

    again = pd.concat([table(some_designs(designs, part, 2)) for part in (1, 2)], ignore_index=True)
    pd.testing.assert_frame_equal(again, table(designs), check_exact=True)


def same(one, other, name):
    if isinstance(one, dict):
        assert list(one) == list(other), name
        for key in one:
            same(one[key], other[key], f"{name}/{key}")
    else:
        np.testing.assert_array_equal(getattr(one, "counts", one), getattr(other, "counts", other), name)
