"""The hourly file, read back: time axis, units, the chosen years, and its balance of energy."""

import netCDF4
import numpy as np
import pandas as pd
import pytest
import xarray as xr

import darkspell
from darkspell.bank.causes import CAUSES
from darkspell.report.tables.hourly_dataset import (
    PERCENTS,
    VARIABLES,
    hourly_dataset,
    typical_and_worst,
    write_dataset,
)
from study.example import spoilt

MEMBERS = 24
# A bank too small for its loads, in the cold and with a generator, so that most variables have something to show.
GIVEN = {
    "bank.capacity_ah": 30, "climate.temp_air_c": [-6, -5, 0, 5, 9, 13, 15, 15, 11, 6, 0, -4],
    "generator": {"charge_w": 40, "start_soc_pct": 60, "stop_soc_pct": 70, "window": ["10:00", "11:00"]},
    "loads.pump": {"watts": 30, "hours_per_day": 8, "tier": "essential"},
}  # fmt: skip


@pytest.fixture(scope="module")
def results():
    return darkspell.simulate(spoilt(GIVEN), members=MEMBERS)


@pytest.fixture(scope="module")
def path(results, tmp_path_factory):
    path = tmp_path_factory.mktemp("hourly") / "hourly.nc"
    write_dataset(path, hourly_dataset(results.simulation, results.system))
    return path


@pytest.fixture(scope="module")
def stored(path):
    with xr.open_dataset(path) as dataset:
        return dataset.load()


def test_the_file_has_a_time_axis_and_units_of_the_cf_conventions(path, results):
    """CF conventions 1.11, sections 3.1, 3.5 and 4.4: units that can be read, flags, and a reference time."""
    with netCDF4.Dataset(path) as file:
        time = file["time"]
        start = results.study.site.start_month
        assert time.units.startswith(f"hours since 2001-{start:02d}-01")
        assert time.calendar == "proleptic_gregorian"
        assert time.standard_name == "time" and file.Conventions == "CF-1.11"
        dates = netCDF4.num2date(time[:], time.units, time.calendar)
        assert (dates[0].month, dates[0].hour, len(dates)) == (start, 0, 8760)
        assert (np.diff(time[:]) == 1).all()
        for name in VARIABLES:
            assert file[name].units == VARIABLES[name][0] and file[name].dimensions == ("member", "time")
        cause = file["cause"]
        assert len(cause.flag_meanings.split()) == len(cause.flag_values) == 1 + len(CAUSES)
        assert cause.dtype == cause.flag_values.dtype == np.int8


def test_the_years_are_the_median_and_the_last_of_the_ranking(stored, results):
    """By pandas, from the table of members."""
    ranked = results.members.sort_values(["eue_essential_kwh", "max_depth_true_pct"], kind="stable")[
        "member"
    ].tolist()
    assert stored["member"].values.tolist() == [ranked[(MEMBERS - 1) // 2], ranked[-1]]
    assert stored["role"].values.tolist() == ["typical", "worst"]
    assert results.typical_and_worst == stored["member"].values.tolist()
    nothing = {"eue_essential_kwh": np.zeros(3), "max_depth_true_pct": np.array([30.0, 50.0, 40.0])}
    assert typical_and_worst(nothing) == (2, 1)


def test_the_file_agrees_with_the_tables(stored, results):
    rows = results.members.set_index("member").loc[stored["member"].values]
    for name, column in (("load", "demand_kwh"), ("array", "array_kwh"), ("array_spilled", "spilled_kwh")):
        kwh = stored[name].sum("time").to_numpy() / 1000
        np.testing.assert_allclose(kwh, rows[column], rtol=1e-3)
    assert rows["eue_kwh"].min() > 0.0
    np.testing.assert_allclose(stored["unserved"].sum("time") / 1000, rows["eue_kwh"], rtol=1e-3)
    for code, name in enumerate(CAUSES, 1):
        hours = (stored["cause"] == code).sum("time").to_numpy()
        if name == "reconnection":
            np.testing.assert_array_equal(hours, rows[f"unserved_{name}_h"])
        else:  # the table has waits under the cause that began the loss
            assert (hours <= rows[f"unserved_{name}_h"]).all()
    begun = [rows[f"unserved_{name}_h"] for name in CAUSES if name != "reconnection"]
    np.testing.assert_array_equal((stored["cause"] > 0).sum("time").to_numpy(), sum(begun))


def test_the_energy_in_the_file_balances(stored, results):
    """Conservation of energy: what the sources give less what loads take enters the bank or feeds the devices."""
    assert float(stored["generator"].sum()) > 0.0
    sources = stored["array"] + stored["chargers"] + stored["generator"]
    served = stored["load"] - stored["unserved"]
    into = (sources - served).sum("time").to_numpy()
    bank = (stored["current"] * stored["voltage"]).sum("time").to_numpy()
    own = results.study.self_consumption_w * 8760
    np.testing.assert_allclose(into - bank, own, atol=0.01 * float(served.sum("time").min()))


def test_packing_loses_less_than_half_a_step(stored, results):
    exact = results.hourly(results.typical_and_worst)
    for name, half in (
        ("current", 5e-4),
        ("temp_air", 5e-3),
        ("voltage", 5e-4),
        ("array", 0.05),
        ("sun", 0.05),
    ):
        assert float(abs(stored[name] - exact[name]).max()) <= half * 1.01
        assert not stored[name].isnull().any()
    assert float(stored["temp_air"].min()) < 0.0 and float(stored["current"].min()) < 0.0


def test_percentiles_and_first_years_are_on_the_same_axis(stored, results):
    assert stored["soc_true"].dims == ("time", "percentile")
    assert tuple(stored["percentile"].values) == PERCENTS
    assert (stored["soc_true"].diff("percentile") >= 0.0).all()
    dawn = stored["soc_true"].sel(percentile=50, time=stored["time"].dt.hour == 6)
    assert dawn.sizes["time"] == 365 and pd.DatetimeIndex(dawn["time"]).is_monotonic_increasing
    first = results.hourly(6)["state_of_charge"]
    np.testing.assert_allclose(stored["soc_true_member"], first, atol=0.006)


def test_irradiance_is_clearness_times_that_above_the_atmosphere(results):
    """The study gives a clearness index of 0.4 in all months; irradiation above the atmosphere by FAO 56, eq. 21."""
    day = np.arange(1, 366)
    phi, delta = np.radians(50.0), 0.409 * np.sin(2 * np.pi * day / 365 - 1.39)
    sunset = np.arccos(-np.tan(phi) * np.tan(delta))
    distance = 1 + 0.033 * np.cos(2 * np.pi * day / 365)
    shape = sunset * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(sunset)
    above = 24 * 1367 / np.pi * distance * shape  # Wh/m2 a day
    year = float(results.hourly(MEMBERS)["sun"].sum("time").mean("member"))
    assert year == pytest.approx(0.4 * above.sum(), rel=0.03)
