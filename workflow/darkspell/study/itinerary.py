"""Section on the places that a moving home goes to in the course of its year."""

from types import SimpleNamespace

import numpy as np
from pydantic import field_validator

from darkspell.core.calendar import DAYS
from darkspell.study.base import key
from darkspell.study.climate import Climate
from darkspell.study.dates import Span
from darkspell.study.site import Height, Place

KNOWN = ("atlas", "monthly", "typical_year")


class Stop(Place, Span):
    """One place, from the first to the last day; all other days are at the site."""

    horizon_deg: list[Height] = key(
        "Heights of the skyline in directions evenly spaced from north through east.",
        "deg",
        [0.0],
        min_length=1,
        max_length=360,
        note="0",
    )
    climate: Climate = key("Where its climate data come from.", default=Climate(source="atlas"))

    @field_validator("climate")
    @classmethod
    def _known(cls, climate):
        if climate.source not in KNOWN:
            raise ValueError(f"source {climate.source} serves the site alone; give one of {', '.join(KNOWN)}")
        return climate


def places(study):
    """The site and the stops of a study, each with what a study has of place and climate.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of SimpleNamespace
        ``site``, ``climate`` and ``folder``; the site first. One alone where there is no itinerary.
    """
    home = SimpleNamespace(site=study.site, climate=study.climate, folder=study.folder)
    stops = [
        SimpleNamespace(site=s, climate=s.climate, folder=study.folder) for s in study.itinerary.values()
    ]
    return [home, *stops]


def place_by_date(study):
    """Place of each calendar day, as its position in `places`; 0 is the site.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    int array [365]
    """
    where = np.zeros(DAYS, np.int64)
    for number, stop in enumerate(study.itinerary.values(), start=1):
        where[stop.days] = number
    return where
