"""Uncertainty of each climate source, estimated at measured stations; sampled once per parameter draw."""

import numpy as np

from darkspell.core.constants import constant

MEANS = ("annual_mean", "monthly_mean")
KINDS = ("annual_mean", "monthly_mean", "width", "lag_one", "slow")


def source_uncertainty(source, latitude=90.0, years=None, means=None, cell=True, combined=None):
    """Uncertainty fields of a `SiteClimate`.

    Parameters
    ----------
    source : {"atlas", "monthly", "typical_year", "measured", "satellite"}
    latitude : float
        Latitude of the site [degrees]; the atlas is less accurate in the tropics.
    years : float, optional
        Length of a record, or number of years that twelve values are the mean of. Other years differ from these: a
        sampling error that falls with their number. Of twelve values it concerns the means only.
    means : darkspell.climate.mean_clearness.MeanClearness, optional
        Of the atlas: the disagreement of its sources adds to their common error. Without it
        the common error alone, of a typical site.
    cell : bool
        Whether a land cell of the atlas gives the width of the days; at sea and on far islands none does.
    combined : darkspell.climate.few_years.CombinedMeans, optional
        Means of these years combined with the atlas; the sampling error of the means is then theirs.

    Returns
    -------
    dict
        `annual_mean_sd`, `monthly_mean_sd`, `width_sd`, `lag_one_sd`, `slow_sd` and `interannual_sd` of
        `darkspell.climate.SiteClimate`.
    """
    kinds = {f"{kind}_sd": constant("climate", f"{kind}_sd", source) for kind in KINDS}
    if not cell:
        kinds["width_sd"] = constant("climate", "width_sd", "without_cell")
    if years is not None:
        few = 1.0 + constant("climate", "few_years_excess") / max(years, 1.0)
        for kind in MEANS if source == "monthly" else KINDS:
            if combined is not None and kind in MEANS:
                continue
            sampled = constant("climate", "one_year_sd", kind) * few / np.sqrt(max(years, 1.0))
            kinds[f"{kind}_sd"] = float(np.hypot(kinds[f"{kind}_sd"], sampled))
    if combined is not None:
        kinds["annual_mean_sd"] = float(np.hypot(kinds["annual_mean_sd"], combined.annual_sd))
        kinds["monthly_mean_sd"] = np.hypot(kinds["monthly_mean_sd"], combined.monthly_sd)
    if source == "atlas":
        belt = float(np.exp(-((abs(latitude) / constant("climate", "uncertainty_belt")) ** 4)))
        common = kinds["annual_mean_sd"] + constant("climate", "annual_mean_sd", "atlas_belt") * belt
        if means is not None and not means.two_satellites:
            common += constant("climate", "annual_mean_sd", "atlas_polar")
        kinds["annual_mean_sd"] = float(np.hypot(common, means.level_sd if means else 0.0))
        kinds["monthly_mean_sd"] = float(
            np.hypot(kinds["monthly_mean_sd"], means.season_gap if means else 0.0)
        )
    return kinds | {"interannual_sd": constant("climate", "interannual_sd")}
