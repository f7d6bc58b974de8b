"""The document tree as one HTML page that needs nothing but itself."""

import json
from base64 import b64encode
from hashlib import sha256
from pathlib import Path

from darkspell.core.colours import lightened
from darkspell.report.document.images import cropped
from darkspell.report.document.language import labels
from darkspell.report.document.number_texts import unparted
from darkspell.report.document.rich_text import runs_of
from darkspell.report.document.tree import Panel

HERE = Path(__file__).parent
NIGHT = "#181a1c"  # ground of the dark scheme, as in page.css
READABLE = 7.0  # contrast wanted there; WCAG 2.1, success criterion 1.4.6
TYPES = {"svg": "image/svg+xml", "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg"}


def html(document):
    """Write a document as HTML.

    Parameters
    ----------
    document : darkspell.report.document.document.Document

    Returns
    -------
    str
        A page without a request to any network; figures are in it. Its one script is ours, named in the page's
        policy by its hash: no other runs. Without scripts the page lacks the panel and nothing else.
    """
    environment = templates()
    environment.globals.update(
        kind_of=kind_of, picture=picture, data_uri=data_uri, panel_json=panel_json, runs_of=runs_of
    )
    script = (HERE / "panel.js").read_text(encoding="utf-8") if _has_panel(document) else ""
    allowed = f"sha256-{b64encode(sha256(script.encode()).digest()).decode('ascii')}"
    colours = colours_of(document.letterhead)
    return environment.get_template("page.html.j2").render(
        document=unparted(document),
        style=(HERE / "page.css").read_text(encoding="utf-8"),
        colours=colours,
        words=labels(document.language),
        number_of=_counter(),
        script=script,
        allowed=allowed,
    )


def colours_of(head):
    """Colours of a page by a firm's letterhead, and its first colour made readable on the ground of the dark scheme.

    Parameters
    ----------
    head : darkspell.report.document.document.Letterhead

    Returns
    -------
    dict of str
    """
    return {"accent": head.accent, "second": head.second, "night": lightened(head.accent, NIGHT, READABLE)}


def _counter():
    """Function that numbers tables and figures in the order in which it is asked."""
    counts = {"table": 0, "figure": 0}

    def number_of(kind):
        counts[kind] += 1
        return counts[kind]

    return number_of


def templates():
    """Environment of the templates of this room: what is put in is escaped, what is missing is a fault."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _has_panel(document):
    return any(isinstance(block, Panel) for section in document.sections for block in section.blocks)


def kind_of(block):
    """Name of a block's kind, as the template asks for it.

    Parameters
    ----------
    block : darkspell.report.document.tree block
    """
    return type(block).__name__.lower()


def picture(figure):
    """A figure's picture as a data URI: the drawing, or its PNG where the drawing is too heavy.

    Parameters
    ----------
    figure : darkspell.report.document.tree.Figure
    """
    return _uri(*cropped(figure, "svg"))


def data_uri(path):
    """A picture's file as an address that holds it whole.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    str
    """
    return _uri(path.read_bytes(), path.suffix[1:].lower())


def _uri(content, kind):
    return f"data:{TYPES[kind]};base64,{b64encode(content).decode('ascii')}"


def panel_json(data):
    """Data of a panel as JSON that cannot close the element around it.

    Parameters
    ----------
    data : dict
        Numbers, texts and lists.
    """
    text = json.dumps(data, allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
