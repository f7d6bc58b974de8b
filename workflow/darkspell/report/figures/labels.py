"""Labels next to what they name, without overlap."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report.document.localization import month_short
from darkspell.report.figures.layout import text_width
from darkspell.report.figures.style import FAINT, GREY, HATCH, SMALL, WORDS


def halo(width=2.0):
    """White rim that keeps a text legible over lines and surfaces.

    Parameters
    ----------
    width : float
        Of the rim [pt].
    """
    from matplotlib.patheffects import withStroke

    return [withStroke(linewidth=width, foreground="white")]


def spread(wanted, gap, low, high):
    """Places nearest to those wanted that keep a distance from one another.

    Parameters
    ----------
    wanted : array_like
        Wanted places, in any order; shape [n].
    gap : float
        Least distance, in the same unit.
    low, high : float
        Bounds; where they are too narrow, the gap shrinks.

    Returns
    -------
    ndarray
        Places in the order of `wanted`; float64 [n]. Least squares by pooling neighbours that would touch.
    """
    wanted = np.asarray(wanted, float)
    count = len(wanted)
    if count < 2:
        return np.clip(wanted, low, high)
    gap = min(gap, (high - low) / (count - 1))
    order = np.argsort(wanted, kind="stable")
    steps = gap * np.arange(count)
    pools = []
    for value in wanted[order] - steps:
        pools.append([value, 1])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (a, n), (b, m) = pools[-2:]
            pools[-2:] = [[(a * n + b * m) / (n + m), n + m]]
    level = np.repeat([value for value, _index in pools], [members for _index, members in pools])
    level = np.clip(level, low, high - steps[-1])
    out = np.empty(count)
    out[order] = level + steps
    return out


def clear_labels(ax, named):
    """Write labels beside points, each in the corner where it lies on the fewest lines and labels.

    Parameters
    ----------
    ax : matplotlib Axes
        With its limits set and its lines drawn.
    named : sequence of (float, float, str, str)
        Place of the point in data units, text, colour.
    """
    to_share = ax.transData + ax.transAxes.inverted()
    width, height = ax.get_position().size * ax.figure.get_size_inches() * 25.4  # of the axes [mm]
    drawn = [to_share.transform(line.get_xydata()) for line in ax.get_lines()]
    busy = np.concatenate([_along(points[np.isfinite(points).all(axis=1)]) for points in drawn])
    for x, y, text, colour in named:
        wide, high = 1.05 * text_width(text, SMALL) / width, 4.0 / height
        place = to_share.transform((x, y))
        corners = []
        for right, up in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            low = place + np.array([0.014 if right > 0 else -0.014 - wide, 0.02 if up > 0 else -0.02 - high])
            ends = low + (wide, high)
            hit = ((busy >= low) & (busy <= ends)).all(axis=1).sum()
            outside = (low < 0).any() or ends[1] > 1 or ends[0] > 1.3
            corners.append((outside, hit, len(corners), low, ends))
        *_index, low, ends = min(corners)
        ax.text(*low, text, transform=ax.transAxes, size=SMALL, color=colour, va="bottom", zorder=6,
                path_effects=halo())  # fmt: skip
        grid = np.meshgrid(np.linspace(low[0], ends[0], 40), np.linspace(low[1], ends[1], 8))
        busy = np.concatenate([busy, np.stack(grid, axis=-1).reshape(-1, 2)])


def _along(points):
    """Points of a line, close to one another; float64 [n, 2]."""
    if len(points) < 2:
        return points.reshape(-1, 2)
    steps = np.linspace(0.0, len(points) - 1.0, 60 * len(points))
    return np.stack([np.interp(steps, np.arange(len(points)), points[:, k]) for k in (0, 1)], axis=1)


def beside(ax, x, labels, reach, gap, low, high):
    """Write labels to the right of `x`, each with a thin leader to its place.

    Parameters
    ----------
    ax : matplotlib Axes
    x : float
        Where the leaders begin, in data units.
    labels : sequence of (float, str, str) or (float, str, str, float)
        Place on the y axis, text, colour and, if not `x`, where the leader begins.
    reach : float
        Length of the leaders, in data units.
    gap, low, high : float
        As in `spread`, in data units of y.

    Returns
    -------
    matplotlib Axes
    """
    places = spread([label[0] for label in labels], gap, low, high)
    for (y, text, colour, *start), place in zip(labels, places, strict=True):
        begin = start[0] if start else x
        ax.plot([begin, x + reach], [y, place], color=FAINT, lw=0.6, clip_on=False, zorder=1)
        ax.text(x + 1.15 * reach, place, text, color=colour, size=SMALL, va="center", linespacing=1.05)
    return ax


def depth_limits(ax, bank):
    """Draw thin lines at the lowest charge of normal use and at cut-off, hatched below it.

    Parameters
    ----------
    ax : matplotlib Axes
    bank : darkspell.study Bank
        ``planning_depth_pct`` and ``depth_limit_pct``.

    Returns
    -------
    list of (float, str, str)
        Labels for `beside`.
    """
    planning, limit = 100 - bank.planning_depth_pct, 100 - bank.depth_limit_pct
    ax.axhspan(0.0, limit, fc="none", ec=FAINT, hatch=HATCH, lw=0, zorder=0.5)
    ax.axhline(limit, color=GREY, lw=0.8, zorder=2)
    if planning == limit:
        return [(limit, _("loads cut off\nat {limit:g} %").format(limit=limit), GREY)]
    ax.axhline(planning, color=GREY, lw=0.8, ls=(0, (5, 3)), zorder=2)
    return [
        (planning, _("usual lowest, {planning:g} %").format(planning=planning), GREY),
        (limit, _("cut-off, {limit:g} %").format(limit=limit), GREY),
    ]


def month_axis(ax, order, edges=None):
    """Month names along the x axis.

    Parameters
    ----------
    ax : matplotlib Axes
    order : array_like
        Calendar months, 1-12, in the order of the study year; shape [12].
    edges : array_like, optional
        First day of each month and the end of the year, shape [13]; without it months stand at 0..11.

    Returns
    -------
    matplotlib Axes
    """
    names = [month_short(int(month)) for month in order]
    if edges is None:
        ax.set_xticks(range(len(names)), names)
        ax.set_xlim(-0.6, len(names) - 0.4)
        ax.tick_params(axis="x", length=0)
        return ax
    edges = np.asarray(edges, float)
    ax.set_xticks(edges, [])
    ax.set_xticks((edges[:-1] + edges[1:]) / 2, names, minor=True)
    ax.tick_params(axis="x", which="minor", length=0, labelcolor=WORDS)
    ax.set_xlim(edges[0], edges[-1])
    return ax
