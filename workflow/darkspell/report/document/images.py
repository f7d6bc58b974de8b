"""Figures by name, where they are there, and their pictures without the words that a document sets as text."""

import re
from io import BytesIO

from darkspell.report import wording as say
from darkspell.report.document.tree import Figure

LARGEST_SVG = 500_000  # bytes; a heavier drawing is shown as its PNG
ROOT = re.compile(
    r'<svg [^>]*?width="(?P<width>[\d.]+)pt" height="(?P<height>[\d.]+)pt" viewBox="0 0 [\d. ]+"'
)
# Groups of text only; without them nobody reads, hears or copies title and note twice.
HEADS = re.compile(r'<g id="head">\s*(?:<text [^>]*>[^<]*</text>\s*)*</g>')


def figure(results, name):
    """A list with one figure, or an empty one where it was not drawn.

    Its caption leaves out the site, which the document's title names.

    Parameters
    ----------
    results : darkspell.report.results.Results
    name : str
    """
    words, path = results.captions.get(name), results.figures / name
    if words is None or not path.with_suffix(".svg").is_file():
        return []
    head = float(words.get("head", 0.0))
    caption = words.get("caption", "")
    if head and words.get("note"):
        note = words["note"].replace(f"{results.place}; ", "")
        caption = f"{note.rstrip('.')}. {caption}"
    alt = say.given(words.get("alt") or name)
    return [Figure(path, say.given(words.get("title", "")), say.given(caption), alt, head)]


def cropped(figure, kind):
    """A figure's picture without its head.

    Parameters
    ----------
    figure : darkspell.report.document.tree.Figure
    kind : {"svg", "png"}
        Wanted; a drawing too heavy for a page comes as its PNG.

    Returns
    -------
    (bytes, str)
        The picture and what it is, "svg" or "png".
    """
    path, raster = (figure.path.with_suffix(f".{ending}") for ending in ("svg", "png"))
    if kind == "svg" and (path.stat().st_size <= LARGEST_SVG or not raster.is_file()):
        return _svg(path.read_text(encoding="utf-8"), figure.head).encode(), "svg"
    return _png(raster, figure.head), "png"


def _svg(text, head):
    """The drawing with a window that begins below its head, and without the words of the head."""
    found = ROOT.search(text)
    if not head or found is None:
        return text
    width, height = float(found["width"]), float(found["height"])
    rest = round((1.0 - head) * height, 3)
    window = f'height="{rest}pt" viewBox="0 {height - rest:.3f} {width} {rest}"'
    root = re.sub(r'height="[^"]*" viewBox="[^"]*"', window, found[0])
    return HEADS.sub("", text.replace(found[0], root, 1))


def _png(path, head):
    if not head:
        return path.read_bytes()
    from PIL import Image

    file = BytesIO()
    with Image.open(path) as picture:
        top = round(head * picture.height)
        picture.crop((0, top, picture.width, picture.height)).save(
            file, "png", dpi=picture.info.get("dpi", (300, 300))
        )
    return file.getvalue()


def usable_logo(path):
    """Path of a logo, or None where there is none that can be shown.

    Parameters
    ----------
    path : pathlib.Path or None
    """
    return None if path is None or logo_fault(path) else path


def logo_fault(path):
    """Why a picture cannot be shown.

    Parameters
    ----------
    path : path-like or None

    Returns
    -------
    str
        "" if it can be.
    """
    if path is None:
        return ""
    from PIL import Image  # comes with Matplotlib; only studies with a logo need it

    try:
        with Image.open(path) as picture:
            picture.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        return f"the picture cannot be read ({' '.join(str(error).split())[:80]})"
    return ""
