"""Labels of a map: next to their marks and on their lines, clear of one another and of the frame."""

import numpy as np

from darkspell.report.figures.layout import text_width
from darkspell.report.figures.style import INK, SMALL, WORDS

MM_PER_INCH, LINE_MM, MARK_MM = 25.4, 3.4, 1.6  # height of a line of text, half the width of a mark
AIR_MM = 0.8  # about a label; our choice
OFF_MM = 2.2  # of a label from its mark; our choice
SIDES = ((1, 1), (-1, -1), (1, -1), (-1, 1), (0, 1), (0, -1), (1, 0), (-1, 0))
OUTSIDE, OVER = 1000.0, 100.0  # costs of a label outside the frame, and over another label or mark


def in_mm(ax, points):
    """Points of the data in millimetres from the lower left corner of the axes; float64 [n, 2].

    Parameters
    ----------
    ax : matplotlib Axes
        With its limits set.
    points : array_like
        Data units, shape [n, 2].
    """
    return (ax.transData.transform(points) - ax.bbox.p0) / ax.figure.dpi * MM_PER_INCH


def meet(one, other):
    """Whether two boxes (left, bottom, right, top) meet.

    Parameters
    ----------
    one, other : tuple of float
        [mm]
    """
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def name_marks(ax, marks, lines=()):
    """Write the labels of marks, each on the side where it covers least.

    Parameters
    ----------
    ax : matplotlib Axes
        With its limits set.
    marks : sequence of (float, float, str)
        Place in data units, and text.
    lines : sequence of ndarray
        Lines that labels should not cover, data units, shape [n, 2].

    Returns
    -------
    list of tuple of float
        Boxes that marks and labels take [mm].
    """
    along = [_resampled(in_mm(ax, line)) for line in lines]
    busy = np.concatenate([*along, np.zeros((0, 2))])
    middles = [in_mm(ax, [[x, y]])[0] for x, y, _text in marks]
    taken = [(*(at - MARK_MM), *(at + MARK_MM)) for at in middles]
    for at, (_x, _y, text) in zip(middles, marks, strict=True):
        boxes = [_beside(at, text, side) for side in SIDES]
        costs = [_cost(ax, box, taken, busy) for box in boxes]
        box = boxes[int(np.argmin(costs))]
        _write(ax, box, text, boxed=True)
        taken.append(box)
    return taken


def name_lines(ax, lines, taken):
    """Write a label on each line, near its middle where nothing else is; one with no room is left out.

    Parameters
    ----------
    ax : matplotlib Axes
        With its limits set.
    lines : sequence of (ndarray, str, bool)
        Points in data units, shape [n, 2], text, whether it must be named wherever it is; first come, first served.
    taken : list of tuple of float
        Boxes that are taken [mm]; those of the labels are added.

    Returns
    -------
    list of str
        Texts that were written.
    """
    written = []
    for points, text, needed in lines:
        path = _resampled(in_mm(ax, points))
        path = path[np.argsort(np.abs(np.arange(len(path)) - len(path) // 2), kind="stable")]
        boxes = [_about(at, text) for at in path]
        costs = np.array([_cost(ax, box, taken) for box in boxes])
        if not len(costs) or (costs.min() > 0 and not needed):
            continue
        box = boxes[int(np.argmin(costs))]
        _write(ax, box, text, weight="bold" if needed else "normal")
        taken.append(box)
        written.append(text)
    return written


def _resampled(path):
    """Points about a millimetre apart along a line; float64 [n, 2]."""
    if len(path) < 2:
        return np.asarray(path, float).reshape(-1, 2)
    run = np.concatenate([[0.0], np.hypot(*np.diff(path, axis=0).T).cumsum()])
    steps = np.linspace(0.0, run[-1], max(2, int(run[-1]) + 1))
    return np.stack([np.interp(steps, run, path[:, k]) for k in (0, 1)], axis=1)


def _size(text):
    lines = text.split("\n")
    return np.array(
        [1.05 * max(text_width(line, SMALL) for line in lines) + 2 * AIR_MM, LINE_MM * len(lines) + AIR_MM]
    )


def _beside(at, text, side):
    """Box of a label on one side of its mark."""
    size, side = _size(text), np.array(side)
    middle = at + side * (OFF_MM + size / 2)
    if 0 not in side:  # a corner: the label begins above or below the mark, not beyond its corner
        middle[0] = at[0] + side[0] * (0.5 * OFF_MM + size[0] / 2)
    return (*(middle - size / 2), *(middle + size / 2))


def _about(at, text):
    size = _size(text)
    return (*(at - size / 2), *(at + size / 2))


def _cost(ax, box, taken, busy=None):
    wide, high = ax.bbox.size / ax.figure.dpi * MM_PER_INCH
    cost = OUTSIDE * (box[0] < 0 or box[1] < 0 or box[2] > wide or box[3] > high)
    cost += OVER * sum(meet(box, other) for other in taken)
    if busy is not None:
        cost += ((busy >= box[:2]) & (busy <= box[2:])).all(axis=1).sum()
    return cost


def _write(ax, box, text, boxed=False, weight="normal"):
    """A label in the middle of its box, horizontally."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    wide, high = ax.bbox.size / ax.figure.dpi * MM_PER_INCH
    back = {"fc": "white", "ec": "none", "alpha": 0.85, "pad": 1.0 if boxed else 0.4}
    ax.text(x / wide, y / high, text, transform=ax.transAxes, ha="center", va="center", size=SMALL if boxed else 7,
            color=INK if boxed else WORDS, weight=weight, linespacing=1.05, zorder=8, bbox=back)  # fmt: skip
