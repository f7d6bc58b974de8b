"""Sections on the client and the place: study, site."""

import datetime
from difflib import get_close_matches
from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.base import Section, key
from darkspell.study.renamed_keys import RENAMED_SECTIONS
from darkspell.study.section_names import SECTIONS

Height = Annotated[float, Field(ge=0, le=80)]


class Document(Section):
    """Who asks and who answers; text that is only ever printed."""

    title: str = key("Title of the proposal.", max_length=200, min_length=1)
    client: str = key("Whom the proposal is for.", max_length=200, min_length=1)
    prepared_by: str = key("Who prepared it.", max_length=200, min_length=1)
    note: str = key("Free text under the title; say here what is invented.", default="", max_length=2000)
    currency: str = key("Currency of the prices; a label only.", default="EUR", max_length=12, min_length=1)
    date: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")] | None = key(
        'Date of the proposal, quoted: "2026-11-25".', default=None
    )
    logo: str | None = key(
        "PNG or JPEG file in the study file's folder, for the top of the first page.",
        default=None,
        max_length=200,
    )
    numbers: Literal["en", "de", "fr", "es", "it", "nl", "pt", "sv", "nb", "da", "fi", "pl", "cs"] = key(
        "Language whose number and date format the proposal uses; the text stays English.",
        default="en",
    )
    paper: Literal["a4", "letter"] = key("Paper of the PDF and DOCX.", default="a4")
    sections: list[str] = key(
        "Sections of the proposal in their order, by name; the README lists them.",
        default=[],
        max_length=40,
        note="all",
    )
    without: list[str] = key("Sections to leave out.", default=[], max_length=40, note="none")
    figure_style: str | None = key(
        "Style file for the figures (Matplotlib's format), in the study file's folder.",
        default=None,
        max_length=200,
    )
    figure_pdfs: bool = key(
        "Write each figure as PDF as well as PNG and SVG; false saves a third of the time.", default=True
    )
    texts: dict[Annotated[str, Field(pattern=r"^(before|after|instead)_[a-z_]+$")], str] = key(
        "Markdown files next to the study file: before_size, after_size or instead_of_size puts one before, after "
        "or in place of what the section on the size says.",
        default={},
        max_length=80,
        note="none",
    )

    @field_validator("date")
    @classmethod
    def _a_day(cls, date):
        if date is not None:
            try:
                datetime.date.fromisoformat(date)
            except ValueError:
                raise ValueError(f"{date} is no day of the calendar; write year-month-day") from None
        return date

    @field_validator("sections", "without")
    @classmethod
    def _known(cls, names):
        for name in names:
            _check_section(name)
        return names

    @field_validator("texts")
    @classmethod
    def _known_places(cls, texts):
        for place in texts:
            _check_section(place.removeprefix("before_").removeprefix("after_").removeprefix("instead_of_"))
        return texts


def _check_section(name):
    if name in RENAMED_SECTIONS and name not in SECTIONS:
        raise ValueError(f'"{name}" was renamed; write "{RENAMED_SECTIONS[name]}"')
    if name not in SECTIONS:
        near = get_close_matches(name, SECTIONS, n=1)
        guess = f'did you mean "{near[0]}"?' if near else f"there are {', '.join(SECTIONS)}"
        raise ValueError(f'"{name}" is no section of the proposal; {guess}')


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
    altitude_m: float = key("Height above sea level.", "m", 0, low=-450, high=6000)
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
        note="1",
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
