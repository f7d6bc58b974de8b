"""Simulated energy of the loads compared with the budget."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

YEARS = 64


@dataclass(frozen=True)
class Drawn:
    """A budget of a year, and years simulated from it without the uncertainty of the whole.

    Parameters
    ----------
    budget : float
        Energy of a year by the budget [kWh].
    mean, error : float
        Mean of the drawn years and its standard error [kWh].
    years : int
        How many were drawn.
    """

    budget: float
    mean: float
    error: float
    years: int

    @property
    def off(self):
        """Distance of the mean from the budget in standard errors; 0 where nothing varies and both agree."""
        difference = self.mean - self.budget
        floor = 1e-5 * self.budget  # single precision
        return 0.0 if abs(difference) <= floor else difference / max(self.error, floor)


def drawn(study, climate):
    """Draw some years of a study's loads and hold their mean against the budget.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate

    Returns
    -------
    Drawn
    """
    from darkspell.loads.budget import yearly_budget
    from darkspell.simulation.system import build_system
    from darkspell.weather.site_sky import sky_of

    certain = study.model_copy(update={"load_uncertainty_pct": 0.0})
    parts = build_system(certain, climate, sky_of(study))
    members = np.arange(YEARS)
    traces = parts.traces(members, members % study.engine.parameter_draws)
    years = sum(
        load.sum(axis=0, dtype=float) for load in (traces.essential, traces.deferrable, traces.always)
    )
    budget = yearly_budget(parts.appliances, climate).sum()
    return Drawn(budget / 1e3, years.mean() / 1e3, years.std(ddof=1) / sqrt(YEARS) / 1e3, YEARS)
