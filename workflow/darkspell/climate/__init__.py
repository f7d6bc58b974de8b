"""Climate of a site: monthly clearness, persistence, air temperature, and their uncertainty."""

import numpy as np

from darkspell.climate.extraterrestrial import daily_extraterrestrial, monthly_extraterrestrial
from darkspell.climate.site_climate import SiteClimate

__all__ = ["SiteClimate", "daily_extraterrestrial", "monthly_extraterrestrial", "site_climate"]


def site_climate(study, base_dir="."):
    """Climate of a study's site, or of all sites of its itinerary, from the sources that the study names.

    Parameters
    ----------
    study : darkspell.study.Study
        `site`, `climate` and `itinerary` are read.
    base_dir : path
        Folder to which file names are relative.

    Returns
    -------
    SiteClimate or darkspell.climate.itinerary.Route

    Raises
    ------
    StudyError
        If the source does not cover the site, or contains impossible values.
    """
    if not getattr(study, "itinerary", None):
        return climate_of_place(study, base_dir)
    from darkspell.climate.itinerary import Route
    from darkspell.study.itinerary import place_by_date, places

    all_places = places(study)
    climates = tuple(climate_of_place(place, base_dir) for place in all_places)
    latitudes = np.array([place.site.latitude_deg for place in all_places])
    return Route(climates, latitudes, place_by_date(study))


def climate_of_place(study, base_dir="."):
    """Climate of one site.

    Parameters
    ----------
    study : object
        With `site` and `climate`: a study, or one of `darkspell.study.itinerary.places`.
    base_dir : path
        Folder to which file names are relative.

    Returns
    -------
    SiteClimate

    Raises
    ------
    StudyError
        As `site_climate`.
    """
    if study.climate.source == "atlas":
        from darkspell.climate.atlas import from_atlas

        return from_atlas(study.site)
    if study.climate.source == "monthly":
        from darkspell.climate.monthly import from_monthly

        return from_monthly(study.site, study.climate)
    if study.climate.source in ("measured", "satellite"):
        from darkspell.climate.from_record import from_record, from_satellite
        from darkspell.climate.record import record_of

        series = study.climate.series
        satellite = study.climate.source == "satellite" or (series is not None and series.satellite)
        make = from_satellite if satellite else from_record
        return make(study.site, record_of(study, base_dir))
    from darkspell.climate.typical_year import from_typical_year

    return from_typical_year(study.site, study.climate.file, base_dir)
