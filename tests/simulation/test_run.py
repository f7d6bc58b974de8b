"""A study's simulation: bits, balance over the year, and the two drivers on one design."""

from pathlib import Path

import numpy as np
import pytest

from darkspell.climate import site_climate
from darkspell.core.batches import LANES
from darkspell.design.grid import run_grid
from darkspell.pipeline.stages import load_studies
from darkspell.simulation.run import simulate, zero_block
from darkspell.simulation.system import build_system
from darkspell.weather.site_sky import sky_of

CONFIG = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module", params=["tarn_hut", "sloop", "ridge_relay", "cruise", "lake_cabin"])
def system(request):
    """Each shipped study on 70 members."""
    entry = load_studies([CONFIG / f"{request.param}.yaml"], 70)[request.param]
    return build_system(entry.study, site_climate(entry.study, entry.path.parent), sky_of(entry.study))


@pytest.fixture(scope="module")
def result(system):
    """Its simulation on two threads."""
    return simulate(system, workers=2)


def test_the_same_bits_on_one_thread(system, result):
    """Threads and batches leave no trace in a result."""
    alone = simulate(system, workers=1)
    for part in ("members", "months", "autonomy"):
        for key, values in getattr(result, part).items():
            np.testing.assert_array_equal(values, getattr(alone, part)[key], err_msg=key)


def test_a_year_of_zeros_has_the_arrays_of_a_year(system):
    """Kernels are compiled on it; they would read past the end of a missing or a smaller array."""
    lanes = np.arange(LANES)
    real, zeros = system.traces(lanes, lanes).for_bank(), zero_block(system).for_bank()
    assert [(one.shape, one.dtype) for one in zeros] == [(one.shape, one.dtype) for one in real]


def test_a_year_of_zeros_has_the_shares_of_an_inverter():
    """An inverter with a cut-off of its own takes four arrays more, and no load leaves a bank as it is."""
    study = load_studies([CONFIG / "tarn_hut.yaml"], 70)["tarn_hut"].study
    study = study.with_changes({"inverter.cutoff_voltage_v": 11.0, "inverter.power_w": 600.0})
    system = build_system(study, site_climate(study, CONFIG), sky_of(study))
    lanes, zeros = np.arange(LANES), zero_block(system)
    real = system.traces(lanes, lanes).for_bank()
    assert [one.shape for one in zeros.for_bank()] == [one.shape for one in real]
    assert np.isfinite(system.bank(zeros).soc).all()


def test_fewer_members_are_the_first_of_many(system, result):
    """A member does not know how many others there are."""
    from dataclasses import replace

    few = simulate(
        replace(system, members=system.members[:5], parameter_draw=system.parameter_draw[:5]),
        autonomy=False,
    )
    for key, values in few.members.items():
        np.testing.assert_array_equal(values, result.members[key][:5], err_msg=key)


def test_the_sizing_driver_gives_the_study_its_own_counts(system, result):
    """The study's design as a point of a grid loses the same hours and nights."""
    study = system.study
    design = np.array([[study.array_wp, study.bank.capacity_ah]])
    counts = run_grid(system, design, workers=2)
    np.testing.assert_array_equal(counts["lolh"][:, 0], result.members["lolh"])
    np.testing.assert_array_equal(counts["short_nights"][:, 0], result.members["short_nights"])
    longest = result.members["longest_full_charge_interval_days"]
    np.testing.assert_allclose(counts["longest_full_charge_interval_days"][:, 0], longest, rtol=1e-6)
    # float32 sums of 8,760 hours against float64 ones
    np.testing.assert_allclose(counts["eue_kwh"][:, 0], result.members["eue_kwh"], rtol=2e-4, atol=1e-5)


def test_the_year_balances(system, result):
    """Array energy used covers what was served, and at most the losses of a bank that is always near full."""
    m = result.members
    served = m["demand_kwh"] - m["eue_kwh"]
    ratio = m["array_kwh"] / served
    c = system.chemistry
    at_full = c.efficiency_low - c.efficiency_fall * (1 - c.efficiency_knee) ** 2
    worst = (c.setpoint / c.ocv_0) / at_full  # all of it charged at the top and drawn at the bottom
    assert np.all((ratio > 1.0) & (ratio < worst))


def test_the_list_of_events_adds_up(system, result):
    """Events by member, their hours and their energy are those of the members' table; dates are their own."""
    from darkspell.report.tables.main import events_table

    table = events_table(result.events, system.calendar)
    by_member = table.groupby("member").agg({"length_h": "sum", "unserved_essential_wh": "sum"})
    by_member = by_member.reindex(range(70), fill_value=0)
    np.testing.assert_array_equal(by_member["length_h"], result.members["lolh"])
    energy = by_member["unserved_essential_wh"] / 1000
    np.testing.assert_allclose(energy, result.members["eue_essential_kwh"], rtol=1e-4, atol=1e-4)
    assert table["start_day"].between(1, 31).all() and table["start_month"].between(1, 12).all()


def test_dark_autonomy_is_shorter(result):
    """Without any sun no start lasts longer than with it."""
    assert np.all(result.autonomy["dark"] <= result.autonomy["with_sun"])


LOOKED_AT = set()


def test_drivers_are_packed(result):
    """The lanes run in vector registers on this machine, whatever options of the bank a study compiles."""
    from darkspell.bank.run_years import run_members
    from darkspell.benchmark.packed import counts, is_packed

    new = [signature for signature in run_members.signatures if signature not in LOOKED_AT]
    LOOKED_AT.update(new)
    assert LOOKED_AT
    for signature in new:
        assert is_packed(*counts(run_members, [signature]))
