"""The document tree as a PDF, typeset by a compiler that comes as one wheel and needs nothing of the system."""

import json
import unicodedata
from dataclasses import asdict
from functools import cache
from itertools import chain, count
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory

from darkspell.core.errors import StudyError
from darkspell.report.document.images import cropped
from darkspell.report.document.language import labels
from darkspell.report.document.number_texts import unparted
from darkspell.report.document.rich_text import Rich
from darkspell.report.document.tree import (
    Box,
    Figure,
    Listing,
    Panel,
    Paragraph,
    Signatures,
    Subheading,
    Table,
    Verbatim,
)
from darkspell.report.document.typesetter import WITHOUT

VARIANTS = "\ufe0e\ufe0f"  # ask for an emoji with or without colour
LONG = 8  # sections from which on a list of contents is printed; bookmarks are always there
TEMPLATE = Path(__file__).with_name("page.typ")


def pdf(document):
    """Write a document as PDF: tagged, bookmarked, pages numbered, fonts embedded.

    Parameters
    ----------
    document : darkspell.report.document.document.Document

    Returns
    -------
    bytes
    """
    return _compiled(document, "pdf")[0]


def pages(document, dpi=80):
    """The pages of the PDF as PNG, one `bytes` a page; for looking through.

    Parameters
    ----------
    document : darkspell.report.document.document.Document
    dpi : int
        Dots per inch.
    """
    return _compiled(document, "png", dpi)


def _compiled(document, kind, dpi=None):
    """Compile in a folder that holds the template, the texts as data and the pictures, and nothing else.

    Texts reach the template as JSON strings and are set as text: no letter of theirs is read as markup, and the
    compiler may open no file outside the folder.
    """
    try:
        import typst  # of the extra `pdf`
    except ModuleNotFoundError:
        raise StudyError(WITHOUT) from None

    with TemporaryDirectory(prefix="darkspell-") as name:
        folder = Path(name)
        copyfile(TEMPLATE, folder / "page.typ")
        (folder / "document.json").write_text(
            json.dumps(_drawable(_plain(unparted(document), folder))), encoding="utf-8"
        )
        made = typst.compile(
            folder / "page.typ",
            root=folder,
            format=kind,
            ppi=dpi,
            font_paths=[_fonts()],
            ignore_system_fonts=True,
        )
    return made if isinstance(made, list) else [made]


def _drawable(tree):
    """The same tree with signs that no font here draws, emoji above all, named in brackets."""
    if isinstance(tree, str):
        return "".join(_named(letter) for letter in tree) if not tree.isascii() else tree
    if isinstance(tree, list):
        return [_drawable(one) for one in tree]
    if isinstance(tree, dict):
        return {key: _drawable(one) for key, one in tree.items()}
    return tree


def _named(letter):
    if letter in VARIANTS:
        return ""
    if unicodedata.category(letter) not in ("So", "Sk", "Cn") or ord(letter) in _drawn():
        return letter
    return f"[{unicodedata.name(letter, 'sign').lower()}]"


@cache
def _drawn():
    """Code points that the fonts beside the compiler's own have; the compiler's own has no signs beyond them."""
    from matplotlib.ft2font import FT2Font

    files = sorted(Path(_fonts()).glob("DejaVuSans.ttf")) + sorted(Path(_fonts()).glob("DejaVuSerif.ttf"))
    return frozenset().union(*(FT2Font(str(file)).get_charmap() for file in files))


def _fonts():
    """Folder of the fonts that come with the drawing library: letters that the compiler's own lack."""
    import matplotlib

    return str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")


def _plain(document, folder):
    def section(one, depth):
        return {"heading": one.heading, "depth": depth, "blocks": _blocks(one.blocks, folder)}

    head = document.letterhead
    tree = {
        "title": document.title,
        "subject": document.subject,
        "author": document.author,
        "cover": document.cover,
        "parts": document.parts,
        "facts": [list(pair) for pair in document.facts],
        "language": document.language,
        "paper": {"letter": "us-letter"}.get(document.paper, document.paper),
        "logo": _copied(document.logo, folder) if document.logo else "",
        "head": asdict(head),
        "words": labels(document.language),
        "contents": len(document.sections) + len(document.appendix) > LONG,
        "opening": _blocks(document.opening, folder),
        "sections": [section(one, 1) for one in document.sections],
        "appendix": [section(one, 2) for one in document.appendix],
    }
    _number(tree)
    return tree


def _number(tree):
    """Number figures and tables that have captions, in the order of reading wherever on the page they end up."""
    counts = {"figure": count(1), "table": count(1)}
    parts = [tree["opening"], *(part["blocks"] for part in tree["sections"] + tree["appendix"])]
    for block in chain.from_iterable(parts):
        if block.get("caption"):
            block["number"] = next(counts[block["is"]])


def _blocks(blocks, folder):
    return [_block(block, folder) for block in blocks if not isinstance(block, Panel)]


def _block(block, folder):
    match block:
        case Paragraph():
            return {"is": "paragraph", "text": _rich(block.text), "kind": block.kind}
        case Subheading():
            return {"is": "subheading", "text": _rich(block.text), "level": block.level}
        case Listing():
            items = [[_rich(text), [_block(one, folder) for one in inner]] for text, inner in block.parts]
            return {"is": "listing", "ordered": block.ordered, "items": items}
        case Signatures():
            return {
                "is": "signatures",
                "people": [list(pair) for pair in block.people],
                "date": block.date_label,
            }
        case Box():
            return {"is": "box", "heading": block.heading, "items": list(block.items)}
        case Verbatim():
            return {"is": "verbatim", "text": block.text}
        case Table():
            return {
                "is": "table",
                "caption": block.caption,
                "header": [_rich(cell) for cell in block.header],
                "rows": [[_rich(cell) for cell in row] for row in block.rows],
                "align": block.align,
                "marked": -1 if block.marked is None else block.marked,
                "note": block.note,
                "shares": list(block.shares),
            }
        case Figure():
            content, kind = cropped(block, "svg")
            path = f"picture{len(list(folder.iterdir()))}.{kind}"
            (folder / path).write_bytes(content)
            return {
                "is": "figure",
                "path": path,
                "caption": block.caption,
                "alt": block.alt,
                "title": block.title,
            }
    raise TypeError(f"a document has no block of the kind {type(block).__name__}")


def _rich(text):
    """A string as it is; a text written in Markdown as its runs."""
    return [asdict(run) for run in text.runs] if isinstance(text, Rich) else text


def _copied(path, folder):
    """A picture beside the template, under a name of ours; that name."""
    name = f"picture{len(list(folder.iterdir()))}{path.suffix.lower()}"
    copyfile(path, folder / name)
    return name
