"""From the loss of load of a grid of designs to the cheapest one that meets the target."""

import numpy as np

from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS
from darkspell.design.life_cycle_cost import life_cycle_cost
from darkspell.statistics.joint_chance import joint_chance
from darkspell.statistics.registry import GRID_KEYS, yearly_of
from darkspell.statistics.site_figures import probability_met, site_figures
from darkspell.statistics.site_shares import site_shares, years_with


def priced(grid, study):
    """Add cost and verdicts to a grid of designs.

    Parameters
    ----------
    grid : pandas.DataFrame
        A row a design, with ``array_wp``, ``bank_ah``, the target's statistic and ``probability_met``.
        With ``bank_life_years`` and ``fuel_l``
        (`darkspell.design.bank_lives.grid_lives`) the cost over life is known too.
    study : darkspell.study.Study
        Its ``sizing`` and ``target`` are read.

    Returns
    -------
    pandas.DataFrame
        With ``cost`` (the first cost), ``life_cycle_cost`` (present value), ``yearly_cost`` (the same as equal yearly
        payments), ``meets_target`` (the probability that this site meets
        the target is at least `target.chance_pct`) and ``chosen`` (of the designs that meet
        the target the least in what `sizing.minimise` names; none if none does).
    """
    prices, target = study.sizing.prices, study.target
    out = grid.copy()
    array = prices.array_per_wp * out["array_wp"]
    bank = prices.bank_rate(study.bank.chemistry) * out["bank_ah"]
    out["cost"] = np.round(prices.fixed + array + bank, 2)
    if "bank_life_years" in out:
        whole = life_cycle_cost(
            study.sizing.life_cycle, out["cost"], array, bank, out["bank_ah"], out["bank_life_years"],
            out["fuel_l"] * (prices.fuel_per_l or 0.0), study.engine.seed,
        )  # fmt: skip
        out["life_cycle_cost"], out["yearly_cost"] = np.round(whole.total, 2), np.round(whole.yearly, 2)
    out["probability_met"] = out.pop("probability_met")
    out["meets_target"] = 100.0 * out["probability_met"] >= target.chance_pct
    out["chosen"] = False
    meeting = out[out["meets_target"]]
    if len(meeting):
        least = "cost" if study.sizing.minimise == "first_cost" else "life_cycle_cost"
        order = meeting.sort_values([least, target.statistic, "bank_ah"])
        out.loc[order.index[0], "chosen"] = True
    return out


def grid_table(designs, counts, parameter_draw, demand, seed, target):
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
    target : darkspell.study Target

    Returns
    -------
    pandas.DataFrame
        Best guess of each count with its 95 % interval at this site (``_low``, ``_high``), its mean over the years
        (``_mean``), the simulation's sampling error (``_simulation_low``, ``_simulation_high``) and what eight
        years of ten bring (``_year_low``, ``_year_high``); the share of years with a short night;
        ``probability_met``: the probability that the long-run average at this site meets the target. With
        `target.full_charge` also the share of years that keep it [%], ``full_charge_pct`` with ``_low`` and
        ``_high``; the probability is then that of both.

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
            target,
        )
        for at in range(0, len(designs), LANES)
    ]
    return pd.concat(blocks, ignore_index=True)


def _block(designs, counts, parameter_draw, demand, seed, target):
    import pandas as pd

    table = pd.DataFrame({"array_wp": designs[:, 0], "bank_ah": designs[:, 1]})
    for name in GRID_KEYS:
        values = np.asarray(counts[name], float)
        figures = site_figures(values, parameter_draw, [name] * len(table), demand, seed)
        bounds = (figures.value, figures.place_low, figures.place_high)
        table[name], table[f"{name}_low"], table[f"{name}_high"] = bounds
        table[f"{name}_mean"] = figures.mean
        table[f"{name}_simulation_low"], table[f"{name}_simulation_high"] = (
            figures.simulation_low, figures.simulation_high,
        )  # fmt: skip
        table[f"{name}_year_low"], table[f"{name}_year_high"] = np.quantile(values, [0.1, 0.9], axis=0)
        if name == yearly_of(target.statistic):
            limit = target.at_most * (HOURS if target.statistic == "lolp" else 1.0)
            met, badness = probability_met(figures, limit), values
    years = years_with(counts["short_nights"], parameter_draw)
    table["years_with_short_nights"] = years.value
    table["years_with_short_nights_low"], table["years_with_short_nights_high"] = (
        years.place_low,
        years.place_high,
    )
    table["probability_met"] = met
    if target.full_charge is not None:
        kept = np.asarray(counts["longest_full_charge_interval_days"]) <= target.full_charge.within_days
        found = site_shares(kept.astype(float), parameter_draw)
        for name, share in zip(("pct", "low", "high"), found[:3], strict=True):
            table[f"full_charge_{name}"] = 100.0 * share
        again = found.probability(target.full_charge.years_pct / 100.0)
        table["probability_met"] = [
            joint_chance(pair, np.stack([badness[:, k], ~kept[:, k]], axis=1), parameter_draw)
            for k, pair in enumerate(zip(met, again, strict=True))
        ]
    bounds = ("", "_low", "_high", "_mean", "_simulation_low", "_simulation_high")
    for at, bound in enumerate(bounds):
        table.insert(2 + at, f"lolp{bound}", table[f"lolh{bound}"] / HOURS)
    return table
