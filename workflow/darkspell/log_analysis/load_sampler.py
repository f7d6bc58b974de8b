"""Draws of the load by hour of the day, given what a log shows of some hours.

The load is the sum of parts (`load_parts`). Each has a factor and one of many daily courses; hours differ from their
sum a little, each by itself. With the courses chosen, all else is Gaussian, and the likelihood of a choice follows in
closed form. Courses are drawn part by part in proportion to it: Gibbs sampling from candidates of the prior, the
present one among them (Neal, Annals of Statistics 31 (2003) 705-767, on such pools), the factors integrated out.
"""

from dataclasses import dataclass

import numpy as np

from darkspell.core.jit import kernel, part
from darkspell.log_analysis.quantities import DRAWS

CHAINS, SWEEPS, KEPT, TRIED = 200, 20, 10, 24
SURPRISE = 2.0  # standard deviations


@dataclass(frozen=True)
class Information:
    """What observations say of the load by hour of the day and of the array's factor, the 25th.

    Parameters
    ----------
    precision : float array [25, 25]
    shown : float array [25]
        Precision times the observed mean.
    per_volt : float array [25]
        The same of an error that all observations share, for one ampere of it.
    """

    precision: np.ndarray
    shown: np.ndarray
    per_volt: np.ndarray

    def __add__(self, other):
        """Both together."""
        return Information(
            self.precision + other.precision, self.shown + other.shown, self.per_volt + other.per_volt
        )


def information(operator, covariance, shown, volts):
    """Information of some observations; `Information`.

    Parameters
    ----------
    operator : float array [k, 25]
        What each observation is of the 24 hours and the array's factor.
    covariance : float array [k, k]
        Of their errors [W2].
    shown : float array [k]
        [W].
    volts : float
        Power that one ampere of a shared error is [V].
    """
    weight = np.linalg.solve(covariance, np.column_stack([operator, shown, np.full(shown.size, volts)]))
    return Information(operator.T @ weight[:, :25], operator.T @ weight[:, 25], operator.T @ weight[:, 26])


def sampled(parts, seen, scale, zero, array, hour_sd, rng):
    """Draws of the load by hour of the day [W] and of the array's factor [-]; float64 [draws, 24], [draws].

    Parameters
    ----------
    parts : darkspell.log_analysis.load_parts.LoadParts
    seen : Information
    scale, zero : float arrays [draws]
        Factor on what is shown [-], and a current to be added to it [A].
    array : (float, float)
        Mean and standard deviation of the array's factor before [-].
    hour_sd : float
        What an hour's load differs by from the sum of the parts, standard deviation [W].
    rng : numpy.random.Generator
    """
    count = len(parts.choices) + 1
    shapes = np.zeros((count, parts.courses.shape[1], 25))
    shapes[:-1, :, :24], shapes[-1, :, 24] = parts.courses, 1.0
    mean = np.append(parts.mean, array[0])
    prior = np.zeros((count, count))
    prior[:-1, :-1], prior[-1, -1] = np.linalg.inv(parts.covariance), 1.0 / array[1] ** 2
    own = np.append(np.full(24, hour_sd**2), 0.0)
    # The hours' own differences are added to the errors of the observations.
    turn = np.linalg.inv(np.eye(25) + seen.precision * own)
    precision = turn @ seen.precision
    chosen = np.arange(DRAWS) % CHAINS
    scale, zero = scale[:CHAINS][chosen], zero[:CHAINS][chosen]  # each chain has its own errors
    shown = scale[:, None] * seen.shown + zero[:, None] * seen.per_volt
    sums = np.empty((DRAWS, 25))
    _sample(
        shapes, shapes @ precision, np.append(parts.choices, 1), prior @ mean, prior, shown[:CHAINS] @ turn.T,
        rng.integers(0, shapes.shape[1], (CHAINS, SWEEPS, count, TRIED)),
        rng.random((CHAINS, SWEEPS, count)), rng.standard_normal((CHAINS, KEPT, count)), sums,
    )  # fmt: skip
    return _with_own_hours(sums, shown, seen.precision, own[:24], rng), sums[:, 24]


def _with_own_hours(sums, shown, precision, own, rng):
    """Load by hour of the day [W]: sums of the parts, and what each hour differs by; float64 [draws, 24].

    Where an hour shows a load that no course of the parts gives, what is shown counts: its difference is as large as
    that, not as an ordinary one.
    """
    left = shown[:, :24] - np.outer(sums[:, 24], precision[:24, 24])
    known = np.maximum(np.diag(precision)[:24], 1e-12)
    off = left / known - sums[:, :24]
    surprising = off**2 > SURPRISE**2 * (own + 1.0 / known)
    own = np.where(surprising, np.maximum(own, off**2), own)
    within = np.linalg.inv(np.eye(24) / own[:, None, :] + precision[:24, :24])
    middle = np.einsum("dij,dj->di", within, sums[:, :24] / own + left)
    noise = np.linalg.cholesky(within) @ rng.standard_normal((DRAWS, 24, 1))
    return np.maximum(middle + noise[:, :, 0], 0.0)


@kernel
def _sample(shapes, turned, choices, pull, prior, shown, tried, chance, normal, out):
    """Walk each chain through its sweeps and write the sums of the parts.

    Parameters
    ----------
    shapes, turned : float64 [parts, candidates, 25]
        Courses, and their products with the precision of the observations.
    choices : int64 [parts]
    pull : float64 [parts]
        Prior precision times prior mean of the factors.
    prior : float64 [parts, parts]
        Precision of the factors.
    shown : float64 [chains, 25]
    tried : int64 [chains, sweeps, parts, tries]
    chance : float64 [chains, sweeps, parts]
    normal : float64 [chains, kept, parts]
    out : float64 [kept * chains, 25]
        Written, kept sweep by kept sweep.
    """
    chains, sweeps, count, tries = tried.shape
    kept = normal.shape[1]
    pick = np.zeros(count, np.int64)
    matrix, factor = np.empty((count, count)), np.empty((count, count))
    right, half = np.empty(count), np.empty(count)
    score = np.empty(tries + 1)
    for c in range(chains):
        for p in range(count):
            pick[p] = tried[c, 0, p, 0] % choices[p]
        for i in range(count):
            right[i] = pull[i] + _product(shapes[i, pick[i]], shown[c])
            for j in range(count):
                matrix[i, j] = prior[i, j] + _product(shapes[i, pick[i]], turned[j, pick[j]])
        for sweep in range(sweeps):
            for p in range(count):
                if choices[p] < 2:
                    continue
                now = pick[p]
                for t in range(tries + 1):
                    pick[p] = now if t == tries else tried[c, sweep, p, t] % choices[p]
                    _enter(shapes, turned, pick, p, pull, prior, shown[c], matrix, right)
                    score[t] = _half_solved(matrix, right, factor, half)
                top = score.max()
                total = 0.0
                for t in range(tries + 1):
                    score[t] = np.exp(score[t] - top)
                    total += score[t]
                wanted, t = chance[c, sweep, p] * total, 0
                while t < tries and wanted > score[t]:
                    wanted -= score[t]
                    t += 1
                pick[p] = now if t == tries else tried[c, sweep, p, t] % choices[p]
                _enter(shapes, turned, pick, p, pull, prior, shown[c], matrix, right)
            at = sweep - (sweeps - kept)
            if at >= 0:
                _half_solved(matrix, right, factor, half)
                out[at * chains + c] = 0.0
                for i in range(count - 1, -1, -1):  # factors ~ N(matrix^-1 right, matrix^-1)
                    value = half[i] + normal[c, at, i]
                    for j in range(i + 1, count):
                        value -= factor[j, i] * half[j]
                    half[i] = value / factor[i, i]
                    out[at * chains + c] += half[i] * shapes[i, pick[i]]


@part
def _enter(shapes, turned, pick, p, pull, prior, shown, matrix, right):
    """Renew row and column `p` of the factors' precision, and its right-hand side."""
    right[p] = pull[p] + _product(shapes[p, pick[p]], shown)
    for j in range(pick.size):
        value = prior[p, j] + _product(shapes[p, pick[p]], turned[j, pick[j]])
        matrix[p, j] = value
        matrix[j, p] = value


@part
def _half_solved(matrix, right, factor, half):
    """Cholesky factor L and L^-1 `right` in place; the logarithm of the marginal likelihood but for a constant."""
    out = 0.0
    for i in range(right.size):
        for j in range(i + 1):
            value = matrix[i, j]
            for k in range(j):
                value -= factor[i, k] * factor[j, k]
            if i == j:
                factor[i, i] = np.sqrt(max(value, 1e-12))
            else:
                factor[i, j] = value / factor[j, j]
        value = right[i]
        for k in range(i):
            value -= factor[i, k] * half[k]
        half[i] = value / factor[i, i]
        out += 0.5 * half[i] * half[i] - np.log(factor[i, i])
    return out


@part
def _product(left, right):
    """Inner product of two rows of 25."""
    out = 0.0
    for k in range(25):
        out += left[k] * right[k]
    return out
