"""How dull days cluster, and how far the months of one year lie from the mean."""

from darkspell.constants import constant


def persistence(source):
    """The part of a `SiteClimate` that its shape does not tell: persistence, doubt and yearly spread.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year"}
        The doubt about the monthly means goes with the source.

    Returns
    -------
    dict
        Keyword arguments of `darkspell.climate.SiteClimate`.
    """
    slow_weight = constant("climate", "slow_weight")
    return {
        "fast_phi": constant("climate", "fast_phi"),
        "fast_weight": 1.0 - slow_weight,
        "slow_phi": constant("climate", "slow_phi"),
        "slow_weight": slow_weight,
        "world_sd": constant("climate", "world_sd", source),
        "year_sd": constant("climate", "year_sd"),
    }
