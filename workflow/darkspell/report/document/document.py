"""A whole document: whose it is, and its sections in order."""

from dataclasses import dataclass, field
from pathlib import Path

from darkspell.report.document.tree import Box, Figure, Listing, Panel, Signatures, Table


@dataclass(frozen=True)
class Letterhead:
    """The firm that a document comes from.

    Parameters
    ----------
    name : str
        "" for none.
    address, contact : list of str
        A line each.
    registration : str
        For the foot of each page.
    reference : str
        Number of the document.
    accent, second : str
        Colours of headings and of rules, ``#rrggbb``.
    """

    name: str = ""
    address: list = field(default_factory=list)
    contact: list = field(default_factory=list)
    registration: str = ""
    reference: str = ""
    accent: str = "#16437e"
    second: str = "#c9c9c9"


@dataclass(frozen=True)
class Document:
    """A whole proposal.

    Parameters
    ----------
    title : str
    facts : list of (str, str)
        For whom, where, by whom.
    opening : list
        Blocks before the first heading: the answer.
    sections : list of Section
    appendix : list of Section
    language : str
        As in BCP 47.
    logo : pathlib.Path, optional
        PNG or JPEG for the head of the first page.
    paper : {"a4", "letter"}
    author : str
        Who prepared it, for the files' properties.
    numbers : str
        Language whose way of writing numbers the texts follow.
    cover : bool
        Whether title and opening fill a page of their own.
    parts : bool
        Whether no figure may leave its section, since each describes something else.
    letterhead : Letterhead
    subject : str
        What the pages describe, for their foot; empty where that goes without saying.
    """

    title: str
    facts: list
    opening: list
    sections: list
    appendix: list = field(default_factory=list)
    language: str = "en"
    logo: Path | None = None
    paper: str = "a4"
    numbers: str = "en"
    author: str = ""
    cover: bool = False
    parts: bool = False
    letterhead: Letterhead = Letterhead()
    subject: str = ""

    def texts(self):
        """Every text of the document in reading order, tables cell by cell; for searching."""
        yield from (self.title, self.subject)
        head = self.letterhead
        yield from (head.name, *head.address, *head.contact, head.registration, head.reference)
        for pair in self.facts:
            yield from pair
        yield from _texts(self.opening)
        for section in (*self.sections, *self.appendix):
            yield section.heading
            yield from _texts(section.blocks)


def _texts(blocks):
    for block in blocks:
        if isinstance(block, Listing):
            yield from _items(block)
        elif isinstance(block, Box):
            yield block.heading
            yield from block.items
        elif isinstance(block, Table):
            yield block.caption
            yield from block.header
            for row in block.rows:
                yield from row
            yield block.note
        elif isinstance(block, Figure):
            yield from (block.title, block.caption, block.alt)
        elif isinstance(block, Signatures):
            yield block.date_label
            for pair in block.people:
                yield from pair
        elif not isinstance(block, Panel):
            yield block.text


def _items(listing):
    for item in listing.items:
        if isinstance(item, Listing):
            yield from _items(item)
        else:
            yield item
