"""Sun and clear sky of a study's site, or of all places of its itinerary."""

from darkspell.core.calendar import Calendar
from darkspell.study.itinerary import place_by_date, places
from darkspell.weather.solar_geometry import composed, site_sky
from darkspell.weather.surfaces import planes_of


def sky_of(study):
    """Sun and clear sky of a study's planes, by pvlib.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.weather.solar_geometry.SiteSky
        On a journey put together from the places of its days.
    """
    calendar, planes = Calendar(study.site.start_month), planes_of(study)
    skies = [
        site_sky(
            site.latitude_deg,
            site.longitude_deg,
            site.altitude_m,
            site.utc_offset_h,
            planes,
            calendar,
            site.horizon_deg,
        )
        for site in (place.site for place in places(study))
    ]
    return skies[0] if len(skies) == 1 else composed(skies, place_by_date(study)[calendar.day_of_year - 1])
