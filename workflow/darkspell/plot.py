"""Plots of what the public functions return, on given axes or on new ones.

``darkspell.plot.autonomy(results, ax=ax)`` draws on ``ax`` and returns it; without ``ax`` it makes a figure with
Matplotlib's pyplot. Nothing is saved, and no setting of Matplotlib is changed.
"""

from calendar import month_name
from textwrap import fill

import numpy as np
from matplotlib.dates import AutoDateLocator, DateFormatter

from darkspell.core.errors import StudyError
from darkspell.report.figures.style import ACCENT, FAINT, GREY, INK, INK_LIGHT, INK_MIDDLE

MONTHS = ("J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D")
DAWN_HOUR = 6
LABEL_WIDTH = 40  # letters of a line
CHANCE = "cividis"  # perceptually uniform; dark is a low chance


def state_of_charge(results, ax=None, hour=DAWN_HOUR):
    """State of charge at one hour of each day: median, and the ranges of 50 % and 90 % of the years.

    Parameters
    ----------
    results : darkspell.api.Results
        From `darkspell.simulate`.
    ax : matplotlib.axes.Axes, optional
    hour : int
        Of the day, 0 to 23; the charge is that at its end.

    Returns
    -------
    matplotlib.axes.Axes
    """
    ax = _axes(ax)
    low, lower, median, upper, high = (
        100.0 * results.simulation.soc_true.percentiles((5, 25, 50, 75, 95))[hour::24].T
    )
    days = np.arange(low.size)
    ax.fill_between(days, low, high, color=INK_LIGHT, lw=0, label="90 % of years")
    ax.fill_between(days, lower, upper, color=INK_MIDDLE, lw=0, label="50 % of years")
    ax.plot(days, median, color=INK, label="median")
    _name_months(ax, results.system.calendar)
    ax.set(ylim=(0, 100), ylabel="State of charge [%]")
    ax.set_title(f"Each day at {(hour + 1) % 24:02d}:00", loc="left")
    ax.legend(frameon=False, loc="lower left")
    return ax


def autonomy(results, ax=None, month=None, kind="with_sun"):
    """Probability that a full bank lasts a number of days, with its 95 % interval.

    Parameters
    ----------
    results : darkspell.api.Results
    ax : matplotlib.axes.Axes, optional
    month : int, optional
        Of the start, 1 to 12; the month with the lowest probabilities if not given.
    kind : {"with_sun", "dark"}
        With the weather of the year, or without any charging.

    Returns
    -------
    matplotlib.axes.Axes
    """
    ax = _axes(ax)
    table = results.autonomy.query("kind == @kind")
    if month is None:
        month = table.groupby("start_month")["probability"].sum().idxmin()
    rows = table[table["start_month"] == month]
    ax.fill_between(rows["days"], rows["low"], rows["high"], color=INK_LIGHT, lw=0, step="post")
    ax.step(rows["days"], rows["probability"], where="post", color=INK)
    ax.set(xlabel="Days", ylabel="Probability of no loss of load", ylim=(0, 1.02))
    ax.set_title(f"Bank full at the start, in {month_name[month]}", loc="left")
    return ax


def months(results, statistic="lolh", ax=None):
    """A statistic by month: mean over the years, and its 95 % interval at this site.

    Parameters
    ----------
    results : darkspell.api.Results
    statistic : str
        A statistic of months.csv.
    ax : matplotlib.axes.Axes, optional

    Returns
    -------
    matplotlib.axes.Axes

    Raises
    ------
    darkspell.core.errors.StudyError
        If there is no such statistic.
    """
    table = results.months
    _known(statistic, table["statistic"])
    ax, rows = _axes(ax), table[table["statistic"] == statistic]
    at = np.arange(len(rows))
    ax.bar(at, rows["mean"], color=INK_MIDDLE, width=0.7)
    ax.vlines(at, rows["place_low"], rows["place_high"], color=INK, lw=1.0)
    ax.set_xticks(at, [MONTHS[month - 1] for month in rows["month"]])
    ax.set_ylabel(f"{statistic} [{rows['unit'].iloc[0]}]")
    ax.set_title("Mean of the years, and its 95 % interval at this site", loc="left")
    return ax


def sizes(table, ax=None):
    """Sizes of array and bank, coloured by the chance that the site meets the target; a ring marks the chosen design.

    Parameters
    ----------
    table : pandas.DataFrame
        From `darkspell.size`.
    ax : matplotlib.axes.Axes, optional

    Returns
    -------
    matplotlib.axes.Axes
    """
    ax = _axes(ax)
    dots = ax.scatter(table["bank_ah"], table["array_wp"], c=100 * table["probability_met"], cmap=CHANCE,
                      vmin=0, vmax=100, s=40, edgecolor=GREY, lw=0.5)  # fmt: skip
    chosen = table[table["chosen"].astype(bool)]
    ax.scatter(chosen["bank_ah"], chosen["array_wp"], s=160, facecolor="none", edgecolor=ACCENT, lw=1.6)
    ax.figure.colorbar(dots, ax=ax, label="Chance that the target is met [%]")
    ax.set(xlabel="Bank [Ah]", ylabel="Array [Wp]")
    return ax


def what_ifs(table, statistic="lolh", ax=None):
    """Differences from the study with their intervals, the largest reduction on top.

    Parameters
    ----------
    table : pandas.DataFrame
        From `darkspell.what_if`.
    statistic : str
        A statistic of the table.
    ax : matplotlib.axes.Axes, optional

    Returns
    -------
    matplotlib.axes.Axes

    Raises
    ------
    darkspell.core.errors.StudyError
        If there is no such statistic.
    """
    _known(statistic, table["statistic"])
    ax, rows = _axes(ax), table[table["statistic"] == statistic].sort_values("difference")
    at = np.arange(len(rows))
    real = (rows["verdict"] == "real").to_numpy()
    ax.axvline(0, color=FAINT, lw=0.8)
    ax.hlines(at, rows["low"], rows["high"], color=np.where(real, INK, GREY), lw=1.4)
    ax.scatter(rows["difference"], at, color=np.where(real, INK, "white"), edgecolor=INK, zorder=3)
    ax.set_yticks(at, rows["whatif"])
    ax.invert_yaxis()
    ax.set_xlabel(f"Difference in {statistic} [{rows['unit'].iloc[0]}]")
    ax.set_title("Filled: clearly different", loc="left")
    return ax


def hourly(series, variable="state_of_charge", ax=None, start=None, days=14):
    """Some days of an hourly variable, one line for each member.

    Parameters
    ----------
    series : xarray.Dataset
        From ``results.hourly()``.
    variable : str
        A variable of the series.
    ax : matplotlib.axes.Axes, optional
    start : str, optional
        First day, such as ``"2001-12-10"``; the first of the series if not given.
    days : int
        Number of days.

    Returns
    -------
    matplotlib.axes.Axes

    Raises
    ------
    darkspell.core.errors.StudyError
        If there is no such variable.
    """
    _known(variable, list(series.data_vars))
    ax = _axes(ax)
    first = series["time"].values[0] if start is None else np.datetime64(start)
    part = series[variable].sel(time=slice(first, first + np.timedelta64(24 * days - 1, "h")))
    for member in part["member"].values:
        ax.plot(part["time"], part.sel(member=member), lw=1.2, label=f"year {member}")
    ax.set_ylabel(fill(f"{part.attrs['long_name']} [{part.attrs.get('units', '-')}]", LABEL_WIDTH))
    if part["member"].size > 1:
        ax.legend(frameon=False)
    ax.xaxis.set_major_locator(AutoDateLocator(maxticks=8))
    ax.xaxis.set_major_formatter(DateFormatter("%d %b"))
    return ax


def _axes(ax):
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt  # takes half a second, and is not needed where axes are given

    return plt.subplots()[1]


def _name_months(ax, calendar):
    firsts = np.flatnonzero(np.diff(calendar.month_of_hour[::24], prepend=-1))
    ax.set_xticks(firsts, [MONTHS[calendar.month_of_hour[24 * day]] for day in firsts], ha="left")


def _known(name, names):
    if name not in set(names):
        raise StudyError(f"{name}: is not in the table; it has {', '.join(dict.fromkeys(names))}")
