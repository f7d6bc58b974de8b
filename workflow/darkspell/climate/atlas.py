"""Climate from the built-in grids alone, on land and at sea."""

from darkspell.climate.atlas_grid import atlas_point
from darkspell.climate.clear_sky import clearness_ceiling
from darkspell.climate.default_temperature import grid_range, grid_temperature, terrain
from darkspell.climate.distribution import quantiles_without_atlas, typical_quantiles
from darkspell.climate.mean_clearness import mean_clearness
from darkspell.climate.persistence import typical_persistence
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_sd
from darkspell.climate.uncertainty import source_uncertainty


def from_atlas(site):
    """Climate of a site from the built-in grids.

    Monthly means come from the blend of climatologies, the day-to-day variability from the nearest land cells; where
    no cell is near, from a relation to mean clearness and temperature.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.

    Returns
    -------
    darkspell.climate.SiteClimate
    """
    location = site.latitude_deg, site.longitude_deg
    means, point = mean_clearness(*location), atlas_point(*location)
    temp_air, temp_range = grid_temperature(site), grid_range(site, means.kt)
    ceiling = clearness_ceiling(site, temp_air, temp_range, means.kt)
    if point is None:
        quantiles = quantiles_without_atlas(means.kt, temp_air, ceiling)
    else:
        quantiles = typical_quantiles(point.kt_quantiles, means.kt, ceiling)
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=quantiles,
        kt_ceiling=ceiling,
        temp_air_mean=temp_air,
        temp_air_range=temp_range,
        temp_air_sd=daily_sd(temp_air),
        **terrain(site, temp_air),
        **typical_persistence(site.latitude_deg, means.kt),
        **source_uncertainty("atlas", site.latitude_deg, means=means, cell=point is not None),
        source=f"built-in atlas at {_words(*location)}, {'land' if means.on_land else 'sea'}",
        notes=_notes(means, point),
    )


def _words(latitude, longitude):
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):.4g} {north} {abs(longitude):.4g} {east}"


def _notes(means, point):
    notes = ["The atlas is coarse; twelve monthly values would reduce the uncertainty."]
    if point is None:
        notes.append(
            "No land cell of the atlas is near: how much days differ within a month follows from mean clearness and "
            "temperature, with a larger uncertainty."
        )
    if not means.on_land:
        notes.append("Sea or small island: the monthly means are those of two satellite climatologies.")
    if not means.two_satellites:
        notes.append(
            "Beyond 60 degrees of latitude one satellite climatology is missing, so the means are less certain."
        )
    return notes
