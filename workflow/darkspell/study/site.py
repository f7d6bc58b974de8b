"""Section on the place: site."""

from typing import Annotated, Literal

from pydantic import Field

from darkspell.study.base import Section, key

Height = Annotated[float, Field(ge=0, le=80)]


def time_zone(before):
    """Time zone at the longitude [h].

    Parameters
    ----------
    before : dict
        Values of the keys before this one.

    Returns
    -------
    float
    """
    return float(round(before.get("longitude_deg", 0) / 15))


def _sunny_half(before):
    return "july" if before.get("latitude_deg", 0) >= 0 else "january"


class Place(Section):
    """A place on the map."""

    name: str = key("Name of the place.", max_length=200, min_length=1)
    latitude_deg: float = key("Latitude, north positive.", "deg", low=-80, high=80)
    longitude_deg: float = key("Longitude, east positive.", "deg", low=-180, high=180)
    altitude_m: float = key(
        "Height above sea level; at 0, the atlas's temperatures are those of the mean height around the site.",
        "m",
        0,
        low=-450,
        high=6000,
    )
    utc_offset_h: float = key(
        "Local standard time minus UTC, without daylight saving time.",
        "h",
        factory=time_zone,
        note="longitude / 15, rounded",
        low=-12,
        high=14,
    )


class Site(Place):
    """Location of the system."""

    albedo: float = key(
        "Share of light that the ground reflects; about 0.8 for fresh snow.", "-", 0.2, low=0, high=1
    )
    horizon_deg: list[Height] = key(
        "Heights of the skyline in directions evenly spaced from north through east; [0] for a free view.",
        "deg",
        [0.0],
        min_length=1,
        max_length=360,
        note="0",
    )
    wind_m_s: float | None = key(
        "Mean wind at the modules, which cools them; on an open roof or slope about that of the weather service.",
        "m/s",
        None,
        note="that of climate.series.wind_column or of a typical-year file, else 1",
        low=0,
        high=20,
    )
    record_low_temperature_c: float | None = key(
        "Lowest air temperature on record, for the voltage of cold strings.", "degC", None, low=-70, high=40
    )
    year_starts: Literal["july", "january"] = key(
        "First month of the study year; a summer month keeps each winter in one year.",
        factory=_sunny_half,
        note="july north of the equator, january south",
    )

    @property
    def start_month(self):
        """Calendar month (1-12) with which the study year begins."""
        return 7 if self.year_starts == "july" else 1
