"""How far a source of climate may be off, as learned from stations; drawn once a parameter draw."""

import numpy as np

from darkspell.core.constants import constant

KINDS = ("level", "month", "width", "lag")


def doubt(source, latitude=90.0, years=None):
    """The part of a `SiteClimate` that says how doubtful its source is.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year", "measured", "satellite"}
    latitude : float
        Of the site [degrees]: the atlas errs more between the tropics.
    years : float, optional
        Of a record: other years differ from these, the less the more there are.

    Returns
    -------
    dict
        `level_sd`, `month_sd`, `width_sd`, `lag_sd` and `year_sd` of `darkspell.climate.SiteClimate`.
    """
    kinds = {f"{kind}_sd": constant("climate", f"{kind}_sd", source) for kind in KINDS}
    if years is not None:
        for kind in KINDS:
            sampled = constant("climate", "one_year_sd", kind) / np.sqrt(max(years, 1.0))
            kinds[f"{kind}_sd"] = float(np.hypot(kinds[f"{kind}_sd"], sampled))
    if source == "atlas":
        belt = float(np.exp(-((abs(latitude) / constant("climate", "uncertainty_belt")) ** 4)))
        kinds["level_sd"] += constant("climate", "level_sd", "atlas_belt") * belt
    return kinds | {"year_sd": constant("climate", "year_sd")}
