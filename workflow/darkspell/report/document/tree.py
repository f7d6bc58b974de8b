"""The document tree: content of a proposal, independent of the file format."""

from dataclasses import dataclass, field
from pathlib import Path


class Rich(str):
    """Text that somebody wrote in Markdown: a plain string that also knows its parts.

    Parameters
    ----------
    runs : iterable of Run
    """

    def __new__(cls, runs):
        """Join the parts."""
        runs = tuple(runs)
        made = super().__new__(cls, "".join(run.text for run in runs))
        made.runs = runs
        return made

    def __getnewargs__(self):
        """Copy and pickle with the parts."""
        return (self.runs,)


@dataclass(frozen=True)
class Run:
    """A part of a text in one style.

    Parameters
    ----------
    text : str
    strong, emphasis, code : bool
    address : str
        Where a link leads; "" for no link.
    """

    text: str
    strong: bool = False
    emphasis: bool = False
    code: bool = False
    address: str = ""


def runs_of(text):
    """Parts of a text; one plain part where it is no `Rich`.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of Run
    """
    return getattr(text, "runs", None) or (Run(str(text)),)


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
    """

    caption: str
    header: list
    rows: list
    align: str
    marked: int | None = None
    note: str = ""


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
    letterhead : Letterhead
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
    letterhead: Letterhead = Letterhead()

    def texts(self):
        """Every text of the document in reading order, tables cell by cell; for searching."""
        yield self.title
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
