"""How far a source of climate may be off, as learned from stations; drawn once a world."""

import numpy as np

from darkspell.constants import constant


def doubt(source, latitude):
    """The part of a `SiteClimate` that says how doubtful its source is.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year", "measured", "satellite"}
    latitude : float
        Of the site [degrees]: the atlas errs more between the tropics.

    Returns
    -------
    dict
        `world_sd`, `month_sd`, `width_sd`, `lag_sd` and `year_sd` of `darkspell.climate.SiteClimate`.
    """
    kinds = {
        f"{kind}_sd": constant("climate", f"{kind}_sd", source) for kind in ("world", "month", "width", "lag")
    }
    if source == "atlas":
        belt = float(np.exp(-((abs(latitude) / constant("climate", "doubt_belt")) ** 4)))
        kinds["world_sd"] += constant("climate", "world_sd", "atlas_belt") * belt
    return kinds | {"year_sd": constant("climate", "year_sd")}
