"""Whether the rows of a log are means or momentary values, and which moment of its interval a row is named by."""

import re

import numpy as np

MEANS = ("avg", "mean", "average")
SAMPLES = ("smp", "sample", "inst")
MEANING = re.compile(r"timestamp_meaning\s*=\s*(beginning|begin|middle|end)", re.IGNORECASE)
DAY = 86400.0  # s


def kind_of_rows(layout, log):
    """Whether rows are "means" or "samples", None where nothing says so; and what says so.

    Parameters
    ----------
    layout : darkspell.log_analysis.layout.Layout
    log : darkspell.study.log_format.Log

    Returns
    -------
    kind : str or None
    why : str
    """
    if log.rows_are is not None:
        return log.rows_are, "log.rows_are"
    if log.row_time is not None:
        return "means", "log.row_time"
    for kind, names in layout.columns.items():
        if kind in ("time", "name", "value", "temperature"):
            continue
        words = {cell.lower() for cell in layout.below.get(names[0], [])}
        words.add(names[0].lower().rpartition("_")[2])
        for found, marks in (("means", MEANS), ("samples", SAMPLES)):
            if words & set(marks):
                return found, f"the header of column {names[0]}"
    return None, ""


def moment_of_rows(seconds, layout, log):
    """Which moment names a row of means, "beginning", "middle", "end" or None; and what says so.

    Parameters
    ----------
    seconds : float64 [rows]
        Rising [s].
    layout : Layout
    log : Log
    """
    if log.row_time is not None:
        return log.row_time, "log.row_time"
    if layout.moment:
        return layout.moment, "timestamp_meaning in its header"
    if layout.table:
        return "end", "the form of the table"  # recalled from memory: such tables name an interval by its end
    step = float(np.median(np.diff(seconds)))
    if step < DAY and seconds[0] % DAY == step and seconds[-1] % DAY == 0.0:
        return "end", "the first row, one interval after midnight, and the last, at midnight"
    return None, ""


def begun(seconds, layout, log, notes):
    """Times of the beginning of each row, the kind of the rows, and whether their moment is known.

    Parameters
    ----------
    seconds : float64 [rows]
        Rising, as written [s].
    layout : Layout
    log : Log
    notes : list of str
        What was decided is appended.

    Returns
    -------
    seconds : float64 [rows]
    kind : str or None
    known : bool
    """
    kind, why = kind_of_rows(layout, log)
    if kind != "means":
        if kind and log.rows_are is None:
            notes.append(f"Rows were taken for momentary values, by {why}.")
        return seconds, kind, False
    moment, because = moment_of_rows(seconds, layout, log)
    step = float(np.median(np.diff(seconds)))
    said = f"Rows were taken for means, by {why}"
    said += f"; their time is the {moment} of the interval, by {because}." if moment else "."
    if log.rows_are is None or moment and log.row_time is None:
        notes.append(f"{said} Otherwise set log.rows_are and log.row_time.")
    return seconds - {"end": 1.0, "middle": 0.5}.get(moment, 0.0) * step, kind, moment is not None
