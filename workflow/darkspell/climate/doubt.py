"""How far a source of climate may be off, as learned from stations; drawn once a world."""

from darkspell.constants import constant


def doubt(source):
    """The part of a `SiteClimate` that says how doubtful its source is.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year", "measured", "satellite"}

    Returns
    -------
    dict
        `world_sd`, `month_sd`, `width_sd`, `lag_sd` and `year_sd` of `darkspell.climate.SiteClimate`.
    """
    kinds = {
        f"{kind}_sd": constant("climate", f"{kind}_sd", source) for kind in ("world", "month", "width", "lag")
    }
    return kinds | {"year_sd": constant("climate", "year_sd")}
