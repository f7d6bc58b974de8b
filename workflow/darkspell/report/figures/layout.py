"""A figure as a page: its finding on top, panels placed in millimetres below."""

from dataclasses import dataclass
from functools import cache

from darkspell.report.figures.style import GREY, MM, POINT_MM, SMALL, TEXT, WIDTH_MM, WORDS

LEADING = 1.35
MARGIN_MM = 2.0
HEAD = "head"  # name of the groups of title and note in a drawing


@dataclass(frozen=True)
class Finding:
    """What a figure says, in words.

    Parameters
    ----------
    title : str
        The finding, a sentence made from the data.
    note : str
        What, where, unit, number of years; stands small under the title.
    caption : str
        How to read the figure, for the document that it goes into.
    alt : str
        What there is to see, for those who cannot see it.
    """

    title: str
    note: str
    caption: str
    alt: str


@cache
def text_width(text, size=TEXT, weight="normal"):
    """Width of a line of text [mm] at a size in points.

    Parameters
    ----------
    text : str
    size : float
        Font size [pt].
    weight : str
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size, weight=weight)
    return text_to_path.get_text_width_height_descent(text.replace("$", "S"), font, False)[0] * POINT_MM


def wrapped(text, width_mm, size=TEXT, weight="normal"):
    """Text broken into lines that fit a width, a long word between its letters; list of str.

    Parameters
    ----------
    text : str
    width_mm : float
        [mm]
    size : float
        Font size [pt].
    weight : str
    """
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size, weight) > width_mm:
            lines.append(word)
        else:
            lines[-1] = longer
        *whole, lines[-1] = _pieces(lines[-1], width_mm, size, weight)
        lines[-1:-1] = whole
    return lines


def _pieces(word, width_mm, size, weight):
    """A line cut between letters where it is wider than the width; list of str."""
    pieces = [""]
    for letter in word if text_width(word, size, weight) > width_mm else [word]:
        if pieces[-1] and text_width(pieces[-1] + letter, size, weight) > width_mm:
            pieces.append(letter)
        else:
            pieces[-1] += letter
    return pieces


def row_name(name, width_mm=32.0):
    """A name that the user chose, on two lines at most, as the label of a row.

    Parameters
    ----------
    name : str
    width_mm : float
        [mm]; what does not fit into two lines is left out, with three dots.
    """
    lines = wrapped(name, width_mm)
    if len(lines) <= 2:
        return "\n".join(lines)
    second = lines[1]
    while text_width(f"{second}\u2026") > width_mm:
        second = second[:-1]
    return f"{lines[0]}\n{second}\u2026"


def balanced(text, width_mm, size=TEXT, weight="normal"):
    """Text broken as `wrapped` does, into lines of about one length.

    Parameters
    ----------
    text : str
    width_mm : float
        [mm]
    size : float
        Font size [pt].
    weight : str
    """
    lines = wrapped(text, width_mm, size, weight)
    for narrower in range(round(width_mm) - 2, round(width_mm / 2), -2):
        other = wrapped(text, narrower, size, weight)
        if len(other) > len(lines):
            break
        lines = other
    return lines


class Page:
    """A figure of the width of a text column, with its finding on top.

    Parameters
    ----------
    finding : Finding
    body_mm : float
        Height left for the panels [mm], axis labels included.
    """

    def __init__(self, finding, body_mm):
        from matplotlib.figure import Figure

        room = 0.96 * (WIDTH_MM - 2 * MARGIN_MM)  # hinting widens letters by a few per cent
        title = balanced(finding.title.replace(" %", "\u00a0%"), room, TEXT + 1, "bold")
        note = wrapped(finding.note, room, SMALL)
        title_mm = len(title) * (TEXT + 1) * LEADING * POINT_MM
        note_mm = len(note) * SMALL * LEADING * POINT_MM
        self.body_mm = body_mm
        self.height_mm = body_mm + title_mm + note_mm + 2 * MARGIN_MM + 2.0
        self.head = (
            1.0 - (body_mm + MARGIN_MM) / self.height_mm
        )  # share that title and note take of the height
        self.figure = Figure(figsize=(WIDTH_MM * MM, self.height_mm * MM))
        top = self.height_mm - MARGIN_MM
        self._text(top, title, size=TEXT + 1, weight="bold", color=WORDS)
        self._text(top - title_mm - 1.0, note, size=SMALL, color=GREY)

    def _text(self, top_mm, lines, **how):
        self.figure.text(
            MARGIN_MM / WIDTH_MM,
            top_mm / self.height_mm,
            "\n".join(lines),
            va="top",
            linespacing=LEADING * 0.88,
            parse_math=False,
            gid=HEAD,
            **how,
        )

    def axes(self, left, bottom, width, height, **how):
        """Axes placed in millimetres from the lower left corner of the page.

        Parameters
        ----------
        left, bottom, width, height : float
            [mm].
        how
            Further arguments of matplotlib's ``add_axes``.
        """
        box = (left / WIDTH_MM, bottom / self.height_mm, width / WIDTH_MM, height / self.height_mm)
        return self.figure.add_axes(box, **how)
