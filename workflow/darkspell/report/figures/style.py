"""Colours, sizes and the style file: what to change to change the look."""

from contextlib import contextmanager
from pathlib import Path

WIDTH_MM = 160.0
MM = 1 / 25.4  # inches
POINT_MM = 25.4 / 72
TEXT, SMALL = 9.0, 8.0  # points

INK = "#16263d"  # what is true in the bank: one dark hue in three steps
INK_MIDDLE = "#8a9fbd"
INK_LIGHT = "#ccd7e6"
ACCENT = "#d55e00"  # what the monitor reads: vermilion of Okabe & Ito's set
ACCENT_LIGHT = "#f3c6a3"
GREY = "#666666"  # limits, leaders
FAINT = "#bbbbbb"
WORDS = "#222222"
SURFACE = "cividis_r"  # perceptually uniform; dark is bad
HATCH = "////"


@contextmanager
def look(own=None):
    """Matplotlib's settings for the length of a block: the style file over its own defaults.

    Parameters
    ----------
    own : path-like, optional
        A further style file, whose settings win.
    """
    from matplotlib import style

    files = [Path(__file__).with_name("darkspell.mplstyle"), *([own] if own else [])]
    with style.context(["default", *files]):
        yield
