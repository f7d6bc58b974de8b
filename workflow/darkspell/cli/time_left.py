"""How long a run of studies still takes: steps that have ended, and for kinds of step of which none has, usual times.

The usual time of a step follows from the work in it. The steps that have ended say how much slower or faster this
machine is, with all that runs on it now.
"""

from statistics import fmean

# Seconds of processor time, two threads together; only their ratios count once a step has ended. Measured in November
# 2026 on 64 and 1,000 years. `grid` and `members` grow with the years; the others are of any study.
SECONDS = {
    "site": 2.0, "grid": 2.5, "members": 3.0, "whatifs": 1.0, "costs": 1.0, "sizing": 1.0, "sweeps": 1.5,
    "figures": 8.0, "proposal": 6.0, "provenance": 1.0, "options": 10.0, "catalogue_designs": 15.0, "remedies": 6.0,
    "ageing": 6.0,
}  # fmt: skip
OTHER_S, LATE = 3.0, 1.2  # a step that takes longer than thought takes a fifth more than so far
A_YEAR_S, A_WHATIF_YEAR_S, A_DESIGN_YEAR_S, A_COST_S = 6e-3, 1e-3, 1.5e-5, 0.07


def usual_seconds(studies):
    """Mean usual time of a step of each kind.

    Parameters
    ----------
    studies : sequence of darkspell.study.Study

    Returns
    -------
    dict of float
        [s] by rule, before this machine is known.
    """
    found = [_of_study(study) for study in studies]
    return {rule: fmean(one.get(rule, 0.0) for one in found) for one in found for rule in one}


def _of_study(study):
    years, changes = study.engine.members, len(study.whatifs)
    designs = len(study.sizing.array_wp) * len(study.sizing.bank_ah)
    more = {
        "members": years * A_YEAR_S,
        "whatifs": years * changes * A_WHATIF_YEAR_S,
        "costs": changes * A_COST_S,
        "grid": years * designs * A_DESIGN_YEAR_S,
    }
    return {rule: seconds + more.get(rule, 0.0) for rule, seconds in SECONDS.items()}


class TimeLeft:
    """Estimates the time to the end of a run.

    Parameters
    ----------
    usual : dict of float, optional
        [s] by rule, from `usual_seconds`.
    """

    def __init__(self, usual=None):
        self.usual, self.left, self.spent, self.began = dict(usual or {}), {}, {}, 0.0

    def begin(self, counts, now):
        """Take the number of steps of each kind, and the time [s]."""
        self.left, self.began = dict(counts), now

    def ended(self, rule, seconds):
        """Take the time of a step that has ended [s]; None where it failed."""
        self.left[rule] = self.left.get(rule, 1) - 1
        if seconds is not None:
            self.spent.setdefault(rule, []).append(seconds)

    def seconds(self, now, running):
        """Time to the end [s], at the pace so far; None while nothing says how long the steps take.

        Parameters
        ----------
        now : float
            [s].
        running : list of (str, float, float or None)
            Rule, age [s] and share done of each step under way.
        """
        left = {rule: number for rule, number in self.left.items() if number > 0}
        sizes = self._sizes({*left, *(rule for rule, *_ in running)}, running)
        if not left or sizes is None:
            return None
        work = sum(number * sizes[rule] for rule, number in left.items())
        work -= sum(self._done(sizes[rule], age, share) for rule, age, share in running)
        busy = sum(map(sum, self.spent.values())) + sum(age for _, age, _ in running)
        pace = busy / max(now - self.began, 1e-9)
        return max(work, 0.0) / pace if pace > 0.0 else None

    def _done(self, size, age, share):
        return size * share if share else min(age, size)

    def _sizes(self, rules, running):
        """Seconds of a step of each kind; of kinds of which none has ended the usual ones at this run's pace."""
        known = {rule: fmean(spent) for rule, spent in self.spent.items()}
        known |= {
            rule: age / share for rule, age, share in running if rule not in known and share and share > 0.05
        }
        unknown = rules - set(known)
        if not unknown:
            return known
        judged = list(known) if self.usual else []
        if not judged:
            return None
        counts = {rule: len(self.spent.get(rule, ())) or 1 for rule in judged}
        took = sum(known[rule] * counts[rule] for rule in judged)
        pace = took / sum(self.usual.get(rule, OTHER_S) * counts[rule] for rule in judged)
        ages = {}
        for rule, age, _ in running:
            ages[rule] = max(ages.get(rule, 0.0), age)
        return known | {
            rule: max(pace * self.usual.get(rule, OTHER_S), LATE * ages.get(rule, 0.0)) for rule in unknown
        }
