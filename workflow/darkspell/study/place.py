"""Sections on the client and the place: study, site."""

from typing import Annotated, Literal

from pydantic import Field

from darkspell.study.fields import Section, key

Height = Annotated[float, Field(ge=0, le=80)]


class About(Section):
    """Who asks and who answers; text that is only ever printed."""

    title: str = key("Title of the proposal.", max_length=200, min_length=1)
    client: str = key("Whom the proposal is for.", max_length=200, min_length=1)
    prepared_by: str = key("Who prepared it.", max_length=200, min_length=1)
    note: str = key("Free text under the title; say here what is invented.", default="", max_length=2000)
    currency: str = key("Currency of the prices; a label only.", default="EUR", max_length=12, min_length=1)


def time_zone(before):
    """Hours of the time zone that the longitude lies in."""
    return float(round(before.get("longitude_deg", 0) / 15))


def _sunny_half(before):
    return "july" if before.get("latitude_deg", 0) >= 0 else "january"


class Site(Section):
    """Where the system stands."""

    name: str = key("Name of the place.", max_length=200, min_length=1)
    latitude_deg: float = key("Latitude, north positive.", "deg", low=-80, high=80)
    longitude_deg: float = key("Longitude, east positive.", "deg", low=-180, high=180)
    altitude_m: float = key("Height above the sea.", "m", 0, low=-450, high=6000)
    utc_offset_h: float = key(
        "Local standard time less UTC, without summer time.",
        "h",
        factory=time_zone,
        note="longitude / 15, rounded",
        low=-12,
        high=14,
    )
    albedo: float = key(
        "Share of light that the ground reflects; fresh snow about 0.8.", "-", 0.2, low=0, high=1
    )
    horizon_deg: list[Height] = key(
        "Heights of the skyline in directions evenly spaced from north through east; [0] for a free view.",
        "deg",
        [0.0],
        min_length=1,
        max_length=360,
        note="0",
    )
    record_low_temperature_c: float | None = key(
        "Lowest air temperature on record, for the voltage of cold strings.", "degC", None, low=-70, high=40
    )
    year_starts: Literal["july", "january"] = key(
        "First month of the study year; the sunny half keeps winter whole.",
        factory=_sunny_half,
        note="july north of the equator, january south",
    )

    @property
    def start_month(self):
        """Calendar month (1-12) with which the study year begins."""
        return 7 if self.year_starts == "july" else 1
