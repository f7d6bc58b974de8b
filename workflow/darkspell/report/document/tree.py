"""The document tree: content of a proposal, independent of the file format."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Paragraph:
    """Running text.

    Parameters
    ----------
    text : str
    kind : {"plain", "lead", "note", "quote"}
        How loudly it speaks: the answer, text, small print; or somebody else's words.
    """

    text: str
    kind: str = "plain"


@dataclass(frozen=True)
class Listing:
    """Short texts, one under another.

    Parameters
    ----------
    items : list of str and Listing
        A listing among them belongs to the text before it.
    ordered : bool
        Whether the items are numbered.
    """

    items: list
    ordered: bool = False

    @property
    def parts(self):
        """Pairs of a text and the listings that belong to it; list of (str, list of Listing)."""
        pairs = []
        for item in self.items:
            if isinstance(item, Listing) and pairs:
                pairs[-1][1].append(item)
            else:
                pairs.append(("" if isinstance(item, Listing) else item, []))
        return pairs


@dataclass(frozen=True)
class Table:
    """A table of finished texts.

    Parameters
    ----------
    caption : str
    header : list of str
    rows : list of lists of str
        The first cell of each names the row.
    align : str
        A letter a column: l, r.
    marked : int, optional
        Row that the eye should find.
    note : str
        Small print below.
    shares : tuple of int
        Widths of the columns in the PDF, in any unit; empty: by their texts.
    """

    caption: str
    header: list
    rows: list
    align: str
    marked: int | None = None
    note: str = ""
    shares: tuple = ()


@dataclass(frozen=True)
class Figure:
    """A picture in a file, with words for those who do not see it.

    Parameters
    ----------
    path : pathlib.Path
        Without ending; a writer takes the format that it wants (.svg, .png, .pdf).
    title, caption, alt : str
        The finding, as it also stands in the picture; what is shown; the same for those who do not see it.
    head : float
        Share of the picture's height, from the top, that repeats title and caption; writers crop it, see
        `darkspell.report.document.images.cropped`.
    """

    path: Path
    title: str
    caption: str
    alt: str
    head: float = 0.0


@dataclass(frozen=True)
class Verbatim:
    """Text as it is, letter for letter.

    Parameters
    ----------
    text : str
    """

    text: str


@dataclass(frozen=True)
class Subheading:
    """A heading within a section.

    Parameters
    ----------
    text : str
    level : {1, 2}
    """

    text: str
    level: int = 1


@dataclass(frozen=True)
class Box:
    """A framed list that the reader must not miss.

    Parameters
    ----------
    heading : str
    items : list of str
    """

    heading: str
    items: list


@dataclass(frozen=True)
class Panel:
    """The grid of designs to walk about in, where there are scripts; a writer without them leaves it out.

    Parameters
    ----------
    data : dict
        As `darkspell.report.proposal.chapters.size_explorer.panel_data` makes it: only numbers, and texts of ours.
    """

    data: dict


@dataclass(frozen=True)
class Signatures:
    """Lines to sign on.

    Parameters
    ----------
    people : list of (str, str)
        Who signs, and a name to print below the line ("" for none).
    date_label : str
        What is asked for next to the signature: place and date.
    """

    people: list
    date_label: str


@dataclass(frozen=True)
class Section:
    """A heading that says the finding, and what follows from it.

    Parameters
    ----------
    heading : str
    blocks : list
        Paragraphs, listings, tables, figures, verbatim texts.
    language : str
        Where it is not the document's; "" where it is.
    """

    heading: str
    blocks: list
    language: str = ""
