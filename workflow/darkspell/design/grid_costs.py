"""From the loss of load of a grid of designs to the cheapest one that meets the target."""

import numpy as np

from darkspell.core.batches import LANES
from darkspell.statistics.bounded_means import bounded_intervals
from darkspell.statistics.registry import GRID_KEYS


def priced(grid, prices, target):
    """Add cost and verdicts to a grid of designs.

    Parameters
    ----------
    grid : pandas.DataFrame
        A row a design, with ``array_wp``, ``bank_ah``, and the target's statistic with its bounds
        ``<statistic>_low`` and ``<statistic>_high``; with `target.full_charge` the share of years that keep it,
        ``full_charge_pct``, with its bounds.
    prices : darkspell.study Prices
        ``array_per_wp``, ``bank_per_ah``, ``fixed``.
    target : darkspell.study Target
        ``statistic``, ``at_most`` and ``full_charge``.

    Returns
    -------
    pandas.DataFrame
        With ``cost``, ``meets_target`` (the mean does), ``meets_at_95pct`` (the upper bound of the mean does) and
        ``chosen`` (the cheapest design that meets the target; none if none does).
    """
    name = target.statistic
    out = grid.copy()
    out["cost"] = np.round(
        prices.fixed + prices.array_per_wp * out["array_wp"] + prices.bank_per_ah * out["bank_ah"], 2
    )
    out["meets_target"] = out[name] <= target.at_most
    out["meets_at_95pct"] = out[f"{name}_high"] <= target.at_most
    again = target.full_charge
    if again is not None:
        out["meets_target"] &= out["full_charge_pct"] >= again.years_pct
        out["meets_at_95pct"] &= out["meets_target"] & (out["full_charge_low"] >= again.years_pct)
    out["chosen"] = False
    meeting = out[out["meets_target"]]
    if len(meeting):
        out.loc[meeting.sort_values(["cost", name, "bank_ah"]).index[0], "chosen"] = True
    return out


def grid_table(designs, counts, parameter_draw, demand, seed, full_charge=None):
    """Means over members with their intervals, a row a design.

    Parameters
    ----------
    designs : float array [designs, 2]
        Array [Wp] and bank [Ah].
    counts : dict of arrays [members, designs]
        From `darkspell.design.grid.run_grid`.
    parameter_draw : int array [members]
    demand : float
        Energy asked for in a year [kWh]; sets the size of an event where none was seen.
    seed : int
    full_charge : darkspell.study.targets.FullCharge, optional
        Of the target.

    Returns
    -------
    pandas.DataFrame
        Mean, its 95 % interval (``_low``, ``_high``) and what eight years of ten bring (``_year_low``,
        ``_year_high``) of each count, and the share of years with a short night;
        with `full_charge` the share of years that keep it [%], ``full_charge_pct`` with ``_low`` and ``_high``.

    Notes
    -----
    In blocks of as many designs as the grid is cut by: a sum of a linear-algebra library may end in another last bit
    when it is taken over another number of columns, and parts must give the bits of the whole.
    """
    import pandas as pd

    blocks = [
        _block(
            designs[at : at + LANES],
            {name: values[:, at : at + LANES] for name, values in counts.items()},
            parameter_draw,
            demand,
            seed,
            full_charge,
        )
        for at in range(0, len(designs), LANES)
    ]
    return pd.concat(blocks, ignore_index=True)


def _block(designs, counts, parameter_draw, demand, seed, full_charge):
    import pandas as pd

    from darkspell.core.calendar import HOURS
    from darkspell.statistics.proportions import share_interval

    table = pd.DataFrame({"array_wp": designs[:, 0], "bank_ah": designs[:, 1]})
    for name in GRID_KEYS:
        values = np.asarray(counts[name], float)
        low, high, _ = bounded_intervals(values, parameter_draw, [name] * len(table), demand, seed)
        table[name], table[f"{name}_low"], table[f"{name}_high"] = values.mean(axis=0), low, high
        table[f"{name}_year_low"], table[f"{name}_year_high"] = np.quantile(values, [0.1, 0.9], axis=0)
    table["years_with_short_nights"] = (np.asarray(counts["short_nights"]) > 0).mean(axis=0)
    if full_charge is not None:
        kept = np.asarray(counts["longest_full_charge_interval_days"]) <= full_charge.within_days
        bounds = share_interval(kept.astype(float), parameter_draw)
        for name, share in zip(("pct", "low", "high"), (kept.mean(axis=0), *bounds), strict=True):
            table[f"full_charge_{name}"] = 100.0 * share
    for place, bound in enumerate(("", "_low", "_high")):
        table.insert(2 + place, f"lolp{bound}", table[f"lolh{bound}"] / HOURS)
    return table
