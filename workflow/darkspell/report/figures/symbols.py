"""Symbols of a one-line diagram, drawn from lines: those that the trade draws (as in IEC 60617, from memory).

All functions draw on axes whose unit is the millimetre. `x`, `y` are the centre of the symbol.
"""

from darkspell.report.figures.style import INK

BOX = 9.0  # edge of a square symbol [mm]
LINE = 1.0  # line width [pt]


def wire(ax, *points, width=LINE):
    """A conductor through some points.

    Parameters
    ----------
    ax : matplotlib Axes
    *points : (float, float)
        [mm]
    width : float
        [pt]
    """
    xs, ys = zip(*points, strict=True)
    ax.plot(xs, ys, color=INK, lw=width, solid_capstyle="round", solid_joinstyle="round", zorder=2)


def junction(ax, x, y):
    """A dot where conductors join.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    ax.plot([x], [y], "o", color=INK, ms=3.2, zorder=4)


def box(ax, x, y, wide=BOX, high=BOX):
    """A rectangle, the body of most symbols.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    wide, high : float
        Size [mm].
    """
    from matplotlib.patches import Rectangle

    ax.add_patch(Rectangle((x - wide / 2, y - high / 2), wide, high, fc="white", ec=INK, lw=LINE, zorder=3))


def array(ax, x, y):
    """Photovoltaic array: a rectangle with a triangle, and two arrows of light.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    box(ax, x, y, BOX + 2, BOX)
    half = BOX / 2
    _line(ax, (x - half - 1, y + half), (x, y - half + 2.5), (x + half + 1, y + half))
    for shift in (0.0, 2.6):
        ax.annotate(
            "", (x - half + 1.2 + shift, y + half + 0.8), (x - half - 1.6 + shift, y + half + 3.6), zorder=4,
            arrowprops={"arrowstyle": "->", "lw": 0.7, "color": INK, "shrinkA": 0, "shrinkB": 0,
                        "mutation_scale": 6},
        )  # fmt: skip


def converter(ax, x, y, before, after):
    """A converter: a square parted by its diagonal, with what goes in above and what comes out below.

    Parameters
    ----------
    ax : matplotlib Axes
    x, y : float
        Centre [mm].
    before, after : {"=", "~"}
        Direct or alternating current.
    """
    box(ax, x, y)
    half = BOX / 2
    _line(ax, (x - half, y - half), (x + half, y + half))
    _kind(ax, x - 2.1, y + 2.2, before)
    _kind(ax, x + 2.1, y - 2.2, after)


def machine(ax, x, y, current):
    """A rotating source: a circle with G and its kind of current.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    current : {"~", "="}
        Alternating or direct.
    """
    from matplotlib.patches import Circle

    ax.add_patch(Circle((x, y), BOX / 2, fc="white", ec=INK, lw=LINE, zorder=3))
    ax.text(x, y + 0.9, "G", ha="center", va="center", size=8, color=INK, zorder=4)
    _kind(ax, x, y - 2.3, current)


def supply(ax, x, y):
    """A shore line: a circle with an alternating wave.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    from matplotlib.patches import Circle

    ax.add_patch(Circle((x, y), BOX / 2, fc="white", ec=INK, lw=LINE, zorder=3))
    _kind(ax, x, y, "~")


def fuse(ax, x, y, upright=False):
    """A fuse: a small rectangle with its conductor drawn through.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    upright : bool
        In a vertical conductor.
    """
    wide, high = (2.6, 6.0) if upright else (6.0, 2.6)
    box(ax, x, y, wide, high)
    _line(ax, *(((x, y - 3), (x, y + 3)) if upright else ((x - 3, y), (x + 3, y))))


def switch(ax, x, y):
    """A switch, drawn open, in a horizontal conductor 8 mm long.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    from matplotlib.patches import Rectangle

    ax.add_patch(Rectangle((x - 3.0, y - 0.8), 6.0, 1.6, fc="white", ec="none", zorder=2.5))
    _line(ax, (x - 3.0, y), (x + 2.6, y + 2.6))
    ax.plot([x - 3.0, x + 3.0], [y, y], "o", color=INK, ms=2.2, zorder=4)


def shunt(ax, x, y):
    """A shunt in a vertical conductor: a resistor with two taps to its display.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    box(ax, x, y, 3.4, 7.0)
    for up in (-2.0, 2.0):
        _line(ax, (x - 1.7, y + up), (x - 5.5, y + up))


def meter(ax, x, y, sign):
    """A measuring instrument: a circle with what it shows.

    Parameters
    ----------
    ax : matplotlib Axes
    x, y : float
        Centre [mm].
    sign : str
        ``%`` or ``V``.
    """
    from matplotlib.patches import Circle

    ax.add_patch(Circle((x, y), 3.4, fc="white", ec=INK, lw=LINE, zorder=3))
    ax.text(x, y, sign, ha="center", va="center", size=8, color=INK, zorder=4)


def battery(ax, x, y):
    """A battery at the end of a vertical conductor that comes from above; long and short plates.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    for step, half in ((3.0, 5.0), (1.4, 2.6), (-0.2, 5.0), (-1.8, 2.6)):
        _line(ax, (x - half, y + step), (x + half, y + step), width=1.2 if half > 3 else 2.2)


def feeder(ax, x, y):
    """The end of a feeder: an arrow to the loads.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    x, y : float
        Position of the symbol [mm].
    """
    ax.annotate(
        "", (x, y), (x - 3, y), zorder=3,
        arrowprops={"arrowstyle": "-|>", "lw": LINE, "color": INK, "shrinkA": 0, "shrinkB": 0,
                    "mutation_scale": 8},
    )  # fmt: skip


def _line(ax, *points, width=LINE):
    xs, ys = zip(*points, strict=True)
    ax.plot(xs, ys, color=INK, lw=width, solid_capstyle="butt", zorder=4)


def _kind(ax, x, y, current):
    """Sign of direct (two strokes) or alternating current (a wave)."""
    if current == "=":
        for up in (0.55, -0.55):
            ax.plot([x - 1.2, x + 1.2], [y + up, y + up], color=INK, lw=0.8, zorder=4)
        return
    from numpy import linspace, pi, sin

    steps = linspace(-1.5, 1.5, 31)
    ax.plot(x + steps, y + 0.8 * sin(steps / 1.5 * pi), color=INK, lw=0.8, zorder=4)
