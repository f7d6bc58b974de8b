"""What only some systems have: read from a study, left out where it is not, and a heater in the cold."""

import numpy as np
import pytest

from darkspell.bank.cell_laws import temperature_terms
from darkspell.bank.heater import warmed
from darkspell.bank.optional_features import NEVER, extras_of
from darkspell.bank.run_years import OUTPUTS, PER_AH, run_members
from darkspell.bank.step import step
from darkspell.bank.step_values import Controls
from darkspell.chemistry.bank_draws import known_bank
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.batches import LANES
from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.study import study_from
from darkspell.study.bank import Heater
from study.example import spoilt

F = np.float32


def test_nothing_asked_for_leaves_the_plain_step():
    """No generator, no absorption time, no reconnection by voltage."""
    assert extras_of(study_from(spoilt({}))) is None


def test_a_generator_alone_never_floats_and_never_reconnects_by_voltage():
    """Levels as fractions, hours of the day, power of the charger."""
    given = {"charge_w": 600, "start_soc_pct": 35, "stop_soc_pct": 80, "window": ["09:30", "21:00"]}
    found = extras_of(study_from(spoilt({"generator": given})))
    assert (found.power, found.start, found.stop) == (600.0, F(0.35), F(0.8))
    assert (found.begin, found.end) == (9.5, 21.0)
    assert found.absorption == found.reconnect_voltage == F(NEVER)


def test_float_and_reconnection_without_a_generator():
    """The fall to float is the table's, times the cells; the generator's power is nought."""
    study = study_from(
        spoilt({"bank.chemistry": "agm", "bank.absorption_h": 3, "bank.reconnect_voltage_v": 12.8})
    )
    found = extras_of(study)
    set_, rest, full = (
        constant("bank", "agm", name) for name in ("absorption_v_cell", "float_v_cell", "ocv_v_cell")
    )
    assert found.power == 0.0 and found.absorption == 3.0 and found.reconnect_voltage == F(12.8)
    assert found.float_drop == pytest.approx((set_ - rest) * 6)
    assert found.float_share == pytest.approx((rest - full[-1]) / (set_ - full[-1]))


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_chemistry_takes_a_generator(chemistry):
    """In the float stage each accepts a share of what it does at its set point; none where it floats below full."""
    changes = {"bank.chemistry": chemistry, "system.nominal_voltage_v": 24, "generator": {"charge_w": 600}}
    found = extras_of(study_from(spoilt(changes)))
    below = constant("bank", chemistry, "float_v_cell") <= constant("bank", chemistry, "ocv_v_cell")[-1]
    assert found.float_drop > 0 and (found.float_share == 0.0 if below else 0.0 < found.float_share < 1.0)


def test_a_heater_holds_its_temperature_as_far_as_its_power_reaches():
    """Set to 5 degC with a lift of 20 K: idle above, in proportion down to -15 degC, at its limit below."""
    temp = np.float32([[10.0, 5.0, -5.0, -15.0, -25.0]])
    warm, heat = warmed(Heater(power_w=30, setpoint_c=5, temperature_rise_k=20), temp)
    assert warm[0].tolist() == [10.0, 5.0, 5.0, 5.0, -5.0]
    assert heat[0].tolist() == [0.0, 0.0, 15.0, 30.0, 30.0]
    same, none = warmed(None, temp)
    assert same is temp and none is None


@pytest.fixture(scope="module")
def winter():
    """A year of -12 degC nights and days, half of the days with sun; lithium in the open, a lamp at night."""
    hour = np.arange(8760) % 24
    sun = np.where((hour > 8) & (hour < 16) & (np.arange(8760) // 240 % 2 == 0), 150.0, 0.0)
    lamp = np.where((hour > 17) & (hour < 23), 15.0, 0.0)
    return (np.repeat(row[:, None], LANES, axis=1).astype(F) for row in (sun, np.full(8760, -12.0), lamp))


def run(sun, temp, lamp, heater):
    """Outputs of one lane by name, bank of 100 Ah."""
    warm, heat = warmed(heater, temp)
    none = np.zeros_like(sun)
    heat = none if heat is None else heat
    traces = (sun, none, warm, lamp, none, lamp + heat, none, heat, heat, known_bank(LANES))
    c = chemistry_numbers("lfp", 12.0)
    out = np.empty((len(OUTPUTS), 8760, LANES), F)
    scales = tuple(map(F, (0.01, 0.0, 0.6, 0.01, 0.0, 0.5)))
    run_members(traces, scales, Controls(F(0.0), F(0.0)), c, PER_AH, out)
    return dict(zip(OUTPUTS, out[:, :, 0], strict=True)), float(c.floor)


def test_a_heater_opens_a_frozen_bank_to_charge_and_drains_an_empty_one(winter):
    """Below freezing lithium takes no charge: with the pad it does, and in the dark the pad goes on below cut-off."""
    sun, temp, lamp = winter
    cold, floor = run(sun, temp, lamp, None)
    # Emptied in the warm-up down to what the cold withholds, and never charged again.
    assert cold["current"].max() <= 0.0 and np.all(np.diff(cold["soc"]) <= 0.0) and cold["soc"].max() < 0.3
    warm, floor = run(sun, temp, lamp, Heater(power_w=25, setpoint_c=5, temperature_rise_k=20))
    assert warm["current"].max() > 0.05 and warm["soc"].max() > 0.9
    assert warm["soc"].min() == 0.0 < floor  # the lamp is cut off at the floor, the pad is not
    below = warm["soc"] < 0.9 * floor
    assert warm["unserved_essential"][below & (lamp[:, 0] > 0)].min() > 0.0
    assert warm["current"][below & (warm["soc"] > 0.001) & (sun[:, 0] == 0)].max() < 0.0


@pytest.mark.parametrize(
    ("temp", "soc", "counted", "holds"),
    # Lithium, 0.5 C at most, derated to 0.15 C at 3 degC: that limits the current, not the voltage, and the time at
    # the set point does not begin; warm and nearly full it does. Locked out at -5 degC the chargers stand at theirs.
    [(3.0, 0.5, 0.0, False), (25.0, 0.3, 0.0, False), (25.0, 0.9, 1.0, True), (-5.0, 0.5, 0.0, True)],
)
def test_only_time_at_the_set_point_is_absorption(temp, soc, counted, holds):
    """An hour with more on offer than the bank takes."""
    study = study_from(spoilt({"bank.chemistry": "lfp", "bank.absorption_h": 2}))
    c, controls = chemistry_numbers("lfp", 12.0), Controls(F(0.0), F(0.0), extras_of(study))
    terms, zero = tuple(map(F, temperature_terms(F(temp), c))), F(0.0)
    state, current, voltage, *_ = step(
        (F(soc), F(1), F(1), zero, zero, F(1)), (F(50.0), F(1e6), zero, zero), (zero,) * 7, terms, controls, c
    )
    assert state[4] == counted and (voltage == pytest.approx(14.2, abs=1e-4)) == holds
    assert current == pytest.approx(
        min(float(terms[2]), (1 - np.exp(-1 / float(c.taper_h))) * (1 - soc)), rel=1e-5
    )


def at_set_point(study, soc, temp=25.0, absorbed=0.0):
    """Voltage and current of an hour with more on offer than the bank takes, per Ah."""
    law = {
        "absorption": study.controller.absorption_voltage_v,
        "charge_until": study.bank.charge_temperature_max_c,
    }
    c, controls = (
        chemistry_numbers(study.bank.chemistry, 12.0, **law),
        Controls(F(0.0), F(0.0), extras_of(study)),
    )
    terms, zero = tuple(map(F, temperature_terms(F(temp), c))), F(0.0)
    state, current, voltage, *_ = step(
        (F(soc), F(1), F(1), zero, F(absorbed), F(1)), (F(50.0), F(1e6), zero, zero), (zero,) * 7, terms, controls, c
    )  # fmt: skip
    return float(voltage), float(current)


def test_the_chargers_hold_the_voltages_of_the_controller():
    """14.1 V, then after two hours 13.4 V; the current near full falls as the voltage above rest does (I = dV / R).

    A full AGM bank rests at 12.81 V: with 14.4 V, 1.59 V drive the charge, with 14.1 V 1.29 V, with 13.4 V 0.59 V.
    """
    usual = study_from(spoilt({"bank.chemistry": "agm", "bank.absorption_h": 2}))
    voltages = {"controller.absorption_voltage_v": 14.1, "controller.float_voltage_v": 13.4}
    low = study_from(spoilt({"bank.chemistry": "agm", "bank.absorption_h": 2} | voltages))
    full = constant("bank", "agm", "ocv_v_cell")[-1] * 6
    volts, most = at_set_point(usual, 0.998)
    assert volts == pytest.approx(14.4, abs=1e-3)
    held, amps = at_set_point(low, 0.998)
    assert held == pytest.approx(14.1, abs=1e-3)
    # as rates at the set point; the hour's means differ by how far the charge moves within it
    rate = [-np.log1p(-current / 0.002) for current in (most, amps)]
    assert rate[1] / rate[0] == pytest.approx((14.1 - full) / (14.4 - full), rel=0.01)
    rest, trickle = at_set_point(low, 0.998, absorbed=2.0)
    assert rest == pytest.approx(13.4, abs=1e-3)
    assert trickle / amps == pytest.approx((13.4 - full) / (14.1 - full), rel=0.01)


@pytest.mark.parametrize(("temp", "charges"), [(44.9, True), (45.1, False)])
def test_no_charge_above_the_temperature_of_the_data_sheet(temp, charges):
    """Lithium iron phosphate is commonly charged up to 45 degC (makers' sheets; from memory)."""
    changes = {"bank.chemistry": "lfp", "bank.charge_temperature_max_c": 45, "bank.absorption_h": 2}
    assert (at_set_point(study_from(spoilt(changes)), 0.5, temp)[1] > 0.0) == charges
