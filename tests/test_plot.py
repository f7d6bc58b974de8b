"""Plots of the public functions: what is drawn is what the tables say."""

import matplotlib
import numpy as np
import pytest
from matplotlib.figure import Figure

import darkspell
from darkspell import plot
from darkspell.core.errors import StudyError
from study.example import STUDY

matplotlib.use("Agg")
MEMBERS = 24


@pytest.fixture(scope="module")
def results():
    return darkspell.simulate(STUDY, members=MEMBERS)


@pytest.fixture
def ax():
    return Figure().subplots()


def test_state_of_charge_is_drawn_for_one_hour_of_each_day(results, ax):
    assert plot.state_of_charge(results, ax=ax, hour=6) is ax
    median = ax.lines[0].get_ydata()
    days = np.percentile(100 * results.simulation.soc_true.percentiles([50])[:, 0].reshape(365, 24)[:, 6], 50)
    assert median.size == 365 and np.median(median) == pytest.approx(days, abs=0.5)
    assert ax.get_title("left") == "Each day at 07:00" and len(ax.get_xticks()) == 12
    names = [label.get_text() for label in ax.get_xticklabels()]
    assert names[0] == plot.MONTHS[results.study.site.start_month - 1]


def test_autonomy_is_that_of_the_worst_month_unless_another_is_asked_for(results, ax):
    table = results.autonomy.query("kind == 'with_sun'")
    plot.autonomy(results, ax=ax)
    drawn = ax.lines[0].get_ydata()
    means = table.groupby("start_month")["probability"].mean()
    assert np.mean(drawn) == pytest.approx(means.min())
    other = plot.autonomy(results, ax=Figure().subplots(), month=7)
    assert np.mean(other.lines[0].get_ydata()) == pytest.approx(means[7])


def test_months_are_bars_in_the_order_of_the_study_year(results, ax):
    plot.months(results, "demand_kwh", ax=ax)
    rows = results.months.query("statistic == 'demand_kwh'")
    heights = [bar.get_height() for bar in ax.patches]
    np.testing.assert_allclose(heights, rows["mean"])
    assert "kWh" in ax.get_ylabel()
    with pytest.raises(StudyError, match="demand: is not in the table; it has"):
        plot.months(results, "demand")


def test_every_design_is_a_dot_and_the_chosen_one_has_a_ring(ax):
    sizes = darkspell.size(STUDY, members=MEMBERS)
    plot.sizes(sizes, ax=ax)
    dots, ring = ax.collections
    np.testing.assert_allclose(dots.get_offsets(), sizes[["bank_ah", "array_wp"]])
    np.testing.assert_allclose(dots.get_array(), 100 * sizes["probability_met"])
    np.testing.assert_allclose(
        np.asarray(ring.get_offsets()).reshape(-1, 2), sizes.loc[sizes["chosen"], ["bank_ah", "array_wp"]]
    )


def test_what_ifs_are_ordered_and_clear_ones_filled(ax):
    changes = {"larger": {"bank.capacity_ah": 300}, "smaller": {"bank.capacity_ah": 60}, "same": {}}
    table = darkspell.what_if(STUDY, changes, members=MEMBERS)
    plot.what_ifs(table, "max_depth_true_pct", ax=ax)
    rows = table.query("statistic == 'max_depth_true_pct'").set_index("whatif")
    assert [label.get_text() for label in ax.get_yticklabels()] == ["larger", "same", "smaller"]
    dots = ax.collections[-1]
    np.testing.assert_allclose(dots.get_offsets()[:, 0], rows["difference"][["larger", "same", "smaller"]])
    filled = ~(dots.get_facecolors()[:, :3] == 1.0).all(axis=1)
    assert list(filled) == list(rows["verdict"][["larger", "same", "smaller"]] == "real")
    with pytest.raises(StudyError, match="nights: is not"):
        plot.what_ifs(table, "nights")


def test_hours_are_drawn_from_a_day_on(results, ax):
    series = results.hourly(2)
    plot.hourly(series, "current", ax=ax, start="2001-12-10", days=3)
    part = series["current"].sel(time=slice("2001-12-10", "2001-12-12"))
    assert len(ax.lines) == 2
    np.testing.assert_array_equal(ax.lines[1].get_ydata(), part[1])
    assert part.sizes["time"] == 72 and "[A]" in ax.get_ylabel()


def test_other_axes_of_a_figure_keep_their_labels(results):
    upper, lower = Figure().subplots(2)
    plot.hourly(results.hourly(1), ax=lower)
    plot.state_of_charge(results, ax=upper)
    assert all(label.get_visible() and label.get_text() for label in upper.get_xticklabels())


def test_without_axes_a_figure_is_made_and_no_setting_is_changed(results):
    before = matplotlib.rcParams.copy()
    ax = plot.autonomy(results)
    import matplotlib.pyplot as plt

    assert plt.gcf() is ax.figure and matplotlib.rcParams == before
    plt.close(ax.figure)
