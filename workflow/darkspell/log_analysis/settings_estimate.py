"""What the monitor is set to, from its own reading against its own current; no simulation is needed for that."""

from dataclasses import dataclass

import numpy as np

DRAWS = 300


@dataclass(frozen=True)
class Setting:
    """Efficiency and capacity that the monitor counts with.

    Parameters
    ----------
    efficiency, efficiency_low, efficiency_high : float
        Charge efficiency and its 95 % interval [-]; NaN where it cannot be told.
    capacity, capacity_low, capacity_high : float
        Capacity [Ah].
    change : int or None
        Day of the log from which on another setting holds.
    """

    efficiency: float = np.nan
    efficiency_low: float = np.nan
    efficiency_high: float = np.nan
    capacity: float = np.nan
    capacity_low: float = np.nan
    capacity_high: float = np.nan
    change: int | None = None


def setting(flows, last_soc, jumps, seed=0):
    """Settings from the hourly steps of the reading.

    A step is what flowed over the capacity set, times the efficiency set while charging. Hours that end or
    begin near full or empty, where the count stands still, and hours with a jump are left out.

    Parameters
    ----------
    flows : float array [H, 2]
        Charge in and out (negative) since the last reading of the hour before [Ah].
    last_soc : float array [H]
        Last reading of each hour [-].
    jumps : bool array [H]
    seed : int
        Of the draws for the interval, which take whole days.
    """
    step = np.diff(last_soc, prepend=np.nan)
    before = np.concatenate([[np.nan], last_soc[:-1]])
    good = np.isfinite(step) & np.isfinite(flows).all(1) & ~jumps & (np.abs(step) < 0.3)
    good &= (last_soc < 0.985) & (before < 0.985) & (last_soc > 0.01) & (before > 0.01)
    day = np.arange(step.size) // 24
    x, step, day = flows[good], step[good], day[good]
    if step.size < 48 or np.unique(day).size < 4 or x[:, 0].sum() <= 0.0 or x[:, 1].sum() >= 0.0:
        return Setting()
    keep = np.abs(step - x @ _slopes(x, step)) < 4.0 * _spread(step - x @ _slopes(x, step))
    x, step, day = x[keep], step[keep], day[keep]
    slopes = _slopes(x, step)
    if min(slopes) <= 0.0:
        return Setting()
    draws = _resampled(x, step, day, seed)
    ratio, size = draws[:, 0] / draws[:, 1], 1.0 / draws[:, 1]
    return Setting(
        slopes[0] / slopes[1], *np.quantile(ratio, [0.025, 0.975]), 1.0 / slopes[1],
        *np.quantile(size, [0.025, 0.975]), _change(x, step, day),
    )  # fmt: skip


def _slopes(x, y):
    return np.linalg.lstsq(x, y, rcond=None)[0]


def _spread(rest):
    return 1.4826 * np.median(np.abs(rest)) + 1e-9


def _resampled(x, y, day, seed):
    """Slopes of samples of days; float64 [draws, 2]."""
    days, place = np.unique(day, return_inverse=True)
    gram, side = np.zeros((days.size, 2, 2)), np.zeros((days.size, 2))
    np.add.at(gram, place, x[:, :, None] * x[:, None, :])
    np.add.at(side, place, x * y[:, None])
    rng = np.random.default_rng([seed, 5])
    counts = rng.multinomial(days.size, np.full(days.size, 1.0 / days.size), size=DRAWS)
    gram, side = np.tensordot(counts, gram, 1), counts @ side
    gram[:, [0, 1], [0, 1]] *= 1.0 + 1e-9
    gram[:, [0, 1], [0, 1]] += 1e-12
    return np.maximum(np.linalg.solve(gram, side[:, :, None])[:, :, 0], 1e-9)


def _change(x, y, day):
    """Day at which two settings explain the steps far better than one; None without such a day."""
    whole = ((y - x @ _slopes(x, y)) ** 2).sum()
    best, at = whole, None
    for split in np.unique(day)[5:-5:2]:
        early = day < split
        rest = 0.0
        for part in (early, ~early):
            rest += ((y[part] - x[part] @ _slopes(x[part], y[part])) ** 2).sum()
        best, at = (rest, int(split)) if rest < best else (best, at)
    return at if best < 0.6 * whole else None
