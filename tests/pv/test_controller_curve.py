"""Losses of a controller by its load: by hand, and against the inverters of pvlib's table."""

import numpy as np
import pvlib
import pytest

from darkspell.core.constants import table
from darkspell.core.errors import StudyError
from darkspell.pv.controller_curve import (
    controller_curve,
    converted,
    converted_power,
    efficiencies,
    loss_terms,
    rated_input,
    standing_draws,
)
from darkspell.study import study_from
from darkspell.study.arrays import Controller
from study.example import spoilt


def small_inverters():
    """Inverters of pvlib's table below 1 kW and 60 V, tested for the California Energy Commission."""
    every = pvlib.pvsystem.retrieve_sam("CECInverter").T
    return every[(every["Paco"] > 50) & (every["Paco"] <= 1000) & (every["Vdco"].astype(float) < 60)]


def efficiency(inverter, share):
    """By Sandia's model at the middle voltage."""
    watts = share * float(inverter["Pdco"])
    return float(pvlib.inverter.sandia(inverter["Vdco"], watts, inverter)) / watts


def test_the_three_efficiencies_of_a_data_sheet_are_met():
    """95, 97 and 96 % at a tenth, half and all of 400 W."""
    given = Controller(kind="mppt", efficiency_pct=97, efficiency_10_pct=95, efficiency_full_pct=96)
    watts = np.array([40.0, 200.0, 400.0])
    curve = controller_curve(given, 400.0)
    assert converted_power(watts, curve) / watts == pytest.approx([0.95, 0.97, 0.96])
    single = tuple(map(np.float32, curve))
    assert converted(np.float32(40.0), np.float32(0.0), single) == pytest.approx(38.0, rel=1e-5)
    assert converted(np.float32(0.5), np.float32(0.0), single) == 0.0  # less than it draws by itself
    assert curve.drawn == 0.0  # the study knows


def test_a_usual_controller_loses_what_the_table_says():
    """Loss at half 4 %: a tenth 5.4 %, full 4.4 % by the ratios 1.35 and 1.1; one without loss has none."""
    assert efficiencies(Controller(kind="mppt", efficiency_pct=96)) == pytest.approx((0.946, 0.96, 0.956))
    assert loss_terms(*efficiencies(Controller(kind="mppt", efficiency_pct=100))) == (0.0, 0.0, 0.0)


def test_pwm_converts_nothing():
    """Its efficiency is constant."""
    curve = controller_curve(Controller(kind="pwm", efficiency_pct=98), 400.0)
    assert converted_power(np.array([4.0, 400.0]), curve) == pytest.approx([3.92, 392.0])


def test_the_rated_input_is_the_limits_or_the_arrays():
    """30 A at 13.3 V and 95 %: 420 W; without a limit the array's power."""
    assert rated_input(Controller(kind="mppt", efficiency_pct=95, current_limit_a=30), 600.0, 13.3) == 420.0
    assert rated_input(Controller(kind="mppt"), 600.0, 13.3) == 600.0


@pytest.mark.parametrize("share", [0.03, 0.2, 0.75])
def test_the_form_is_sandias_model_of_tested_inverters(share):
    """Three efficiencies of an inverter give it at any other load: at one voltage that model is the same parabola."""
    for _, row in small_inverters().iloc[::60].iterrows():
        standing, linear, square = loss_terms(*(efficiency(row, x) for x in (0.1, 0.5, 1.0)))
        found = 1.0 - standing / share - linear - square * share
        assert found == pytest.approx(efficiency(row, share), rel=1e-6)


def test_the_default_lies_among_the_best_of_them():
    """Loss at a tenth over that at half: the table's value at the best of the inverters, its upper end a quarter."""
    ratio = [
        (1.0 - efficiency(row, 0.1)) / (1.0 - efficiency(row, 0.5)) for _, row in small_inverters().iterrows()
    ]
    entry = table("pv")["controller"]["loss_tenth"]
    assert np.mean(np.array(ratio) < entry["value"]) < 0.05
    assert np.quantile(ratio, 0.25) == pytest.approx(entry["range"][1], abs=0.05)


def test_what_is_not_known_is_drawn_within_its_range():
    """The middle draw is the table's; ends by hand: (0.15 + 0.08) / 0.43 - 1 and (0.5 + 0.08) / 0.43 - 1."""
    drawn = standing_draws(np.arange(4000), 3)
    assert np.median(drawn) == pytest.approx(0.0, abs=0.02)
    assert drawn.min() == pytest.approx(-0.465, abs=0.001) and drawn.max() == pytest.approx(0.349, abs=0.001)
    assert np.array_equal(standing_draws(np.array([7, 7, 3]), 3), drawn[[7, 7, 3]])


@pytest.mark.parametrize("drawn", [-0.4, 0.0, 0.3])
def test_a_draw_moves_dim_light_and_leaves_half_power(drawn):
    """At half of the rated power nothing changes; at a fiftieth the standing loss does."""
    curve = controller_curve(Controller(kind="mppt", efficiency_pct=96), 500.0)
    single = tuple(map(np.float32, curve))
    assert converted(np.float32(250.0), np.float32(drawn), single) == pytest.approx(240.0, rel=1e-5)
    dim = converted(np.float32(10.0), np.float32(drawn), single)
    assert dim == pytest.approx(
        converted_power(np.array([10.0]), curve)[0] - drawn * curve.drawn * 480.0, rel=1e-4
    )


def test_efficiencies_that_no_converter_has_are_refused():
    """Better at a tenth than a constant loss allows."""
    with pytest.raises(StudyError, match="efficiency_10_pct"):
        study_from(spoilt({"controller.efficiency_pct": 94, "controller.efficiency_10_pct": 99}))
