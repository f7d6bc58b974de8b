"""What differs from the study, by simulation: draws, marks, a regression, and what it leaves unexplained.

Regression-adjusted rejection, after Beaumont, Zhang & Balding, Genetics 162 (2002) 2025-2035, with the marks
themselves condensed by regression (Fearnhead & Prangle, J. R. Stat. Soc. B 74 (2012) 419-474), in two rounds:
the second draws only what the first could not rule out.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.constants import constant
from darkspell.log_analysis.features import marks, usable
from darkspell.log_analysis.log_simulator import ASKED, LANES, Bench

TARGETS = (*ASKED, "weather")
RIDGE = 3.0


@dataclass(frozen=True)
class Posterior:
    """What is known of each target after the log.

    Parameters
    ----------
    middle, low, high : float64 arrays [5]
        Median and central 95 % interval by `TARGETS`: factors on the study's values [-], offset [A], and mean
        clearness of the log's days over that of the climate [-].
    odd : float
        How far the log's marks lie outside those simulated, in standard deviations; above about 4 the study
        cannot have made this log.
    """

    middle: np.ndarray
    low: np.ndarray
    high: np.ndarray
    odd: float


@dataclass(frozen=True)
class HourLog:
    """A log as hours of the study's calendar.

    Parameters
    ----------
    hours : int array [H]
        Hour of the study year of each row, in order, without gaps.
    current, voltage : float32 arrays [H]
        Means of the hour [A, V]; NaN where the log has nothing to say.
    has_current, has_voltage : bool
    """

    hours: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    has_current: bool = True
    has_voltage: bool = True

    @property
    def valid(self):
        """Hours with every column that the log has; bool [H]."""
        out = np.ones(self.hours.size, bool)
        if self.has_current:
            out &= np.isfinite(self.current)
        if self.has_voltage:
            out &= np.isfinite(self.voltage)
        return out


def infer(assembly, log, known=None, seed=0, bench=None):
    """Infer what differs.

    Parameters
    ----------
    assembly : darkspell.simulation.system.Assembly
    log : HourLog
    known : float array [365], optional
        Daily clearness of the log's dates by study day, NaN where not known.
    seed : int
        Of this inference's own draws.
    bench : Bench, optional
        Where the weather is not known and many logs of the same dates are read.

    Returns
    -------
    Posterior
    """
    bench = Bench(assembly, log.hours, known, seed) if bench is None else bench
    rng = np.random.default_rng([seed, 17])
    box = prior_box(assembly)
    sun = expected_sun(bench, known is not None)
    seen = _log_marks(assembly, log, sun)
    keep = usable(log.has_current, log.has_voltage)
    group = LANES * len(bench.blocks) * bench.copies
    count = group * -(-constant("log_analysis", "draws") // group)
    first = _round(assembly, bench, log, sun, _draw(box, count, rng), rng)
    middle, rest, _ = regress(*first, seen, keep, 0.5)
    narrow = _narrowed(box, middle, rest)
    second = _round(assembly, bench, log, sun, _draw(narrow, count, rng), rng)
    middle, rest, odd = regress(*second, seen, keep, 1.0)
    return _posterior(middle, rest, narrow, odd, known is not None)


def prior_box(assembly):
    """Range of each thing asked; float64 [4, 2], in the space that is regressed on (logarithms, amperes)."""
    rows = [np.log(constant("log_analysis", f"{name}_range")) for name in ASKED[:3]]
    scale = max(assembly.capacity / 100.0, 1.0) ** 0.5
    return np.array([*rows, np.array(constant("log_analysis", "offset_range")) * scale])


def expected_sun(bench, known):
    """Current that the study's array is expected to give in each hour of the log [A]; float64 [H]."""
    power = np.concatenate([block["mpp"][bench.run_in :] for block in bench.blocks], axis=1)
    top = power.mean(1) if known else np.quantile(power, 0.95, axis=1)
    study = bench.assembly.study
    return top * study.controller.efficiency_pct / 100.0 / study.system.nominal_voltage_v


def _tolerance(assembly):
    return 0.12 * assembly.study.system.nominal_voltage_v / 12.0


def _log_marks(assembly, log, sun):
    clean = [np.nan_to_num(np.asarray(row, np.float32))[None] for row in (log.current, log.voltage)]
    return marks(*clean, log.valid, sun, log.hours % 24, _tolerance(assembly))[0]


def _round(assembly, bench, log, sun, asked, rng):
    """Targets [n, 5] and marks [n, M] of a round of draws."""
    real = asked.copy()
    real[:3] = np.exp(asked[:3])
    lanes = bench.lanes(real, rng)
    found = marks(lanes.current, lanes.voltage, log.valid, sun, log.hours % 24, _tolerance(assembly))
    return np.column_stack([asked.T, lanes.clearness]), found


def _draw(box, count, rng):
    return box[:, :1] + (box[:, 1:] - box[:, :1]) * rng.random((len(box), count))


def regress(targets, found, seen, keep, share):
    """Targets at the log's marks, and what the regression leaves unexplained near them.

    Parameters
    ----------
    targets : float array [n, T]
    found : float array [n, M]
    seen : float array [M]
    keep : bool array [M]
        Marks that the log can give.
    share : float
        Share of draws, those nearest to the log in what the first fit says, that the second fit rests on.

    Returns
    -------
    middle : float64 array [T]
    rest : float64 array [m, T]
        Residuals, each by a fit that did not see its draw.
    odd : float
        See `Posterior`.
    """
    found, seen = found[:, keep], seen[keep]
    centre, spread = np.median(found, 0), found.std(0)
    lively = spread > 1e-9
    x = np.clip((found[:, lively] - centre[lively]) / spread[lively], -6, 6)
    at = (seen[lively] - centre[lively]) / spread[lively]
    odd = float(np.abs(at).max(initial=0.0))
    at = np.clip(at, -6, 6)
    lead = _fit(np.column_stack([np.ones(len(x)), x]), targets)
    guess = np.column_stack([np.ones(len(x)), x]) @ lead
    here = np.array([1.0, *at]) @ lead
    if share < 1.0:
        scale = (targets - guess).std(0) + 1e-12
        order = np.argsort((((guess - here) / scale) ** 2).sum(1))[: int(share * len(x))]
        x, targets, guess = x[order], targets[order], guess[order]
    design, row = _features(x, guess, here, at)
    rest = _residuals(design, targets)
    return row @ _fit(design, targets), rest, odd


def _features(x, guess, here, at):
    """Marks, their squares, and products of the first guesses; the same for the log."""

    def rows(x, guess):
        parts = [np.ones((len(x), 1)), x, x**2]
        for j in range(guess.shape[1]):
            parts.append(guess[:, j : j + 1] * guess[:, j:])
        return np.column_stack(parts)

    centre, spread = guess.mean(0), guess.std(0) + 1e-12
    return rows(x, (guess - centre) / spread), rows(at[None], ((here - centre) / spread)[None])[0]


def _fit(design, targets):
    gram = design.T @ design
    gram[np.diag_indices_from(gram)] += RIDGE
    gram[0, 0] -= RIDGE
    return np.linalg.solve(gram, design.T @ targets)


def _residuals(design, targets):
    """Leave-one-out residuals of the ridge fit, from the diagonal of its hat matrix."""
    gram = design.T @ design
    gram[np.diag_indices_from(gram)] += RIDGE
    gram[0, 0] -= RIDGE
    inverse = np.linalg.inv(gram)
    hat = ((design @ inverse) * design).sum(1)
    return (targets - design @ (inverse @ (design.T @ targets))) / np.maximum(1.0 - hat, 0.2)[:, None]


def _narrowed(box, middle, rest):
    reach = 3.5 * rest.std(0)[: len(box)]
    low = np.clip(middle[: len(box)] - reach, box[:, 0], box[:, 1])
    high = np.clip(middle[: len(box)] + reach, box[:, 0], box[:, 1])
    least = 0.06 * (box[:, 1] - box[:, 0])  # wide enough to regress in, and never outside the box
    low, high = np.minimum(low, box[:, 1] - least), np.maximum(high, box[:, 0] + least)
    return np.column_stack([np.minimum(low, high - least), high])


def _posterior(middle, rest, box, odd, known):
    """Quantiles of the draws, their residuals widened by what no simulated hour contains."""
    floor = np.array([constant("log_analysis", f"{name}_floor") for name in TARGETS])
    own, wider = rest.std(0) + 1e-12, np.full(len(TARGETS), constant("log_analysis", "widening"))
    if not known:
        wider[TARGETS.index("array")] = constant("log_analysis", "widening_array_unknown")
    draws = middle + rest * wider * np.sqrt(own**2 + floor**2) / own
    draws[:, : len(box)] = np.clip(draws[:, : len(box)], box[:, 0], box[:, 1])
    cut = np.quantile(draws, [0.025, 0.5, 0.975], axis=0)
    logarithm = np.array([True, True, True, False, True])
    middle, low, high = (np.where(logarithm, np.exp(cut[i]), cut[i]) for i in (1, 0, 2))
    return Posterior(middle, low, high, odd)
