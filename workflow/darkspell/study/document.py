"""Section on the document: who asks, who answers, in which form; text that is only ever printed."""

import datetime
from difflib import get_close_matches
from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.core.colours import contrast
from darkspell.study.base import Name, Section, key
from darkspell.study.renamed_keys import RENAMED_SECTIONS
from darkspell.study.section_names import SECTIONS

Line = Annotated[str, Field(max_length=120)]
Colour = Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")]
READABLE = 4.5  # contrast of text on white; WCAG 2.1, success criterion 1.4.3


class Firm(Section):
    """Letterhead: whose document this is."""

    name: str = key("Name of the firm.", max_length=120, min_length=1)
    address: list[Line] = key("Postal address, a line each.", default=[], max_length=6, note="none")
    telephone: str = key("Telephone number.", default="", max_length=60)
    email: str = key("E-mail address.", default="", max_length=120)
    website: str = key("Address of the website; printed, not linked.", default="", max_length=120)
    registration: str = key(
        "Registration, tax number and the like; at the foot of each page.", default="", max_length=200
    )
    accent_colour: Colour = key('Colour of headings, as "#16437e".', default="#16437e")
    second_colour: Colour = key('Colour of rules and frames, as "#c9c9c9".', default="#c9c9c9")

    @field_validator("accent_colour")
    @classmethod
    def _readable(cls, colour):
        reached = contrast(colour, "#ffffff")
        if reached < READABLE:
            text = f"{colour} on white has a contrast of {reached:.1f} to 1"
            raise ValueError(f"{text}, too little to read; take a darker one ({READABLE} or more)")
        return colour


class BillLine(Section):
    """One line of the bill of materials."""

    description: str = key("What it is.", max_length=200, min_length=1)
    kind: Literal["material", "labour"] = key("What is paid for.", default="material")
    quantity: float = key("How many.", "", 1, above=0, high=1e6)
    unit: str = key("Unit of the quantity, such as h, m or day.", default="", max_length=20)
    unit_price: float = key("Price of one unit, without tax.", "currency", low=0, high=1e7)


class Bill(Section):
    """What the offer is made of, and what is paid for it."""

    price_list: bool = key(
        "true begins with array, bank and fixed cost from `sizing.prices`; false lists `lines` alone.",
        default=True,
    )
    lines: dict[Name, BillLine] = key(
        "Further lines by name: labour, cable, travel.", default={}, max_length=100, note="none"
    )
    discount_pct: float = key("Discount on the sum of all lines.", "%", 0, low=0, high=100)
    tax_pct: float = key("Tax on what is left after the discount.", "%", 0, low=0, high=100)
    tax_name: str = key("Name of the tax.", default="Tax", max_length=40, min_length=1)

    @field_validator("lines")
    @classmethod
    def _not_empty(cls, lines, info):
        if not lines and not info.data.get("price_list", True):
            raise ValueError("is empty; name at least one line, or set price_list: true")
        return lines


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
    language: Literal["en", "de"] = key(
        "Language of the documents' sentences and figures; files of numbers (CSV, JSON, workbook) are in English.",
        default="en",
    )
    numbers: Literal["en", "de", "fr", "es", "it", "nl", "pt", "sv", "nb", "da", "fi", "pl", "cs"] | None = (
        key(
            "Language whose way of writing numbers, dates and prices the documents follow.",
            default=None,
            note="that of `language`",
        )
    )
    units: Literal["metric", "us"] = key(
        "Units of the documents and figures: with us °F, ft, ft³ and US gallons; files of numbers are metric.",
        default="metric",
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
        "Write each figure as PDF as well as PNG and SVG, which doubles the time of the figures.",
        default=False,
    )
    texts: dict[Annotated[str, Field(pattern=r"^(before|after|instead)_[a-z_]+$")], str] = key(
        "Markdown files next to the study file: before_size, after_size or instead_of_size puts one before, after "
        "or in place of what the section on the size says.",
        default={},
        max_length=80,
        note="none",
    )

    reference: str = key("Number of the document, as the firm counts.", default="", max_length=60)
    valid_until: Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")] | None = key(
        'Last day on which the offer is valid, quoted: "2026-12-31".', default=None
    )
    terms: str | None = key(
        "Markdown file next to the study file: terms of the offer, printed last.",
        default=None,
        max_length=200,
    )
    signatures: list[Annotated[str, Field(min_length=1, max_length=80)]] = key(
        'Who signs, a line each, such as ["For the firm", "For the client"].',
        default=[],
        max_length=6,
        note="none",
    )
    firm: Firm | None = key("The firm that the document comes from.", default=None)
    bill: Bill | None = key("Bill of materials; with it page 1 prints its total.", default=None)

    @property
    def locale(self):
        """Language whose way of writing numbers, dates and prices is used."""
        return self.numbers or self.language

    @field_validator("date", "valid_until")
    @classmethod
    def _a_day(cls, date):
        if date is not None:
            try:
                datetime.date.fromisoformat(date)
            except ValueError:
                raise ValueError(f"{date} is no day of the calendar; write year-month-day") from None
        return date

    @field_validator("valid_until")
    @classmethod
    def _after_the_date(cls, last, info):
        first = info.data.get("date")
        if last and first and last < first:
            raise ValueError(f"{last} is before the date of the document, {first}; take a later day")
        return last

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
            name = place.removeprefix("before_").removeprefix("after_").removeprefix("instead_of_")
            _check_section(name)
            if place == "instead_of_cautions":
                raise ValueError("instead_of_cautions would remove the cautions; use after_cautions")
        return texts


def _check_section(name):
    if name in RENAMED_SECTIONS and name not in SECTIONS:
        raise ValueError(f'"{name}" was renamed; write "{RENAMED_SECTIONS[name]}"')
    if name not in SECTIONS:
        near = get_close_matches(name, SECTIONS, n=1)
        guess = f'did you mean "{near[0]}"?' if near else f"there are {', '.join(SECTIONS)}"
        raise ValueError(f'"{name}" is no section of the proposal; {guess}')
