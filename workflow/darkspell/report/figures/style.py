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


# Settings of a style file that call other programs, draw to a screen, take all memory, or never end (empty dashes).
REFUSED = (
    "text.usetex", "backend", "pgf.texsystem", "pgf.rcfonts", "figure.dpi", "savefig.dpi", "figure.figsize",
    "lines.dashed_pattern", "lines.dashdot_pattern", "lines.dotted_pattern",
)  # fmt: skip


@contextmanager
def look(own=None, families=()):
    """Matplotlib's settings for the length of a block: the style file over its own defaults.

    Parameters
    ----------
    own : path-like, optional
        A further style file, whose settings win; left out if it cannot be used.
    families : sequence of str
        Font families for letters that the style's own fonts lack.
    """
    from matplotlib import rcParams, style

    files = [Path(__file__).with_name("darkspell.mplstyle")]
    with style.context(["default", *files, *([_settings(own)] if own and not style_fault(own) else [])]):
        rcParams["font.family"] = [*rcParams["font.family"], *families]
        yield


def style_fault(path):
    """Why a figure style cannot be used.

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
    try:
        settings = _settings(path)
        if not settings:
            return "the style holds no setting of Matplotlib"
        _try(settings)
    except Exception as error:  # whatever a style of another's making brings about
        return f"the style cannot be used ({type(error).__name__}: {' '.join(str(error).split())[:80]})"
    return ""


def _settings(path):
    """Settings of a style file without those that call other programs."""
    import logging

    from matplotlib import rc_params_from_file

    log = logging.getLogger("matplotlib")
    level = log.level
    log.setLevel(logging.CRITICAL)  # it reports each unknown key
    try:
        found = rc_params_from_file(path, use_default_template=False)
    finally:
        log.setLevel(level)
    return {name: value for name, value in found.items() if name not in REFUSED}


def _try(settings):
    """Draw a small figure with some settings."""
    from io import BytesIO

    from matplotlib import style
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with style.context(["default", settings]):
        figure = Figure(figsize=(1, 1), dpi=40)
        FigureCanvasAgg(figure)
        figure.add_subplot().plot([0, 1], [0, 1], label="a")
        figure.savefig(BytesIO(), format="png", dpi=40)
