"""Rows of a log: a CSV as loggers and spreadsheets write it, read in blocks; what is set aside is counted."""

import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from darkspell.core.errors import StudyError
from darkspell.log_analysis.intervals import begun
from darkspell.log_analysis.layout import HEAD_BYTES, layout_of
from darkspell.log_analysis.row_blocks import block_values, blocks, unit_kind

FACTORS = {"mA": 1e-3, "mV": 1e-3, "kW": 1e3}


@dataclass(frozen=True)
class Rows:
    """Rows of a log in order of time.

    Parameters
    ----------
    name : str
        Of the file.
    seconds : float64 array [n]
        Local standard time, seconds since 1970, rising.
    values : dict of float64 arrays [n]
        By kind (soc, current, voltage, power, temperature), those that the log has: fraction, A (charging
        positive), V, W, degC; NaN where not known.
    notes : list of str
        What was found, done and set aside on the way, in sentences.
    kind : str or None
        "means" or "samples"; None where not known.
    moment_known : bool
        Whether `seconds` are known to be the beginnings of the intervals of means.
    """

    name: str
    seconds: np.ndarray
    values: dict
    notes: list = field(default_factory=list)
    kind: str | None = None
    moment_known: bool = False


def read_log(path, log, utc_offset):
    """Read a log.

    Parameters
    ----------
    path : path-like
    log : darkspell.study.log_format.Log
    utc_offset : float
        Local standard time of the site less UTC [h].

    Returns
    -------
    Rows

    Raises
    ------
    StudyError
        Naming file, row, column and cure.
    """
    path = Path(path)
    if not path.is_file():
        raise StudyError(f"{path}: no such file; give the log as a CSV")
    with path.open("rb") as file:
        layout = layout_of(path, file.read(HEAD_BYTES), log)
    counts, parts, utc, forms = {}, [], set(), set()
    row = layout.first_row
    for block in blocks(path, layout):
        part, lines = block_values(path, block, layout, log, row, counts, utc, forms)
        if part is not None:
            parts.append(part)
        row += lines
    total = sum(part[0].size for part in parts)
    if total < 2:
        raise StudyError(
            f"{path.name}: holds {total or 'no'} row{'s' * (total != 1)} below its header; a log needs days"
        )
    if len(utc) > 1:
        raise StudyError(
            f"{path.name}: some times carry an offset from UTC, others do not; export them alike"
        )
    kinds = {kind for _, values in parts for kind in values}
    seconds = np.concatenate([part[0] for part in parts])
    values = {
        kind: np.concatenate([part[1].get(kind, np.full(part[0].size, np.nan)) for part in parts])
        for kind in kinds
    }
    notes = [*layout.notes, *_counted_notes(counts)]
    if "milliseconds" in forms and log.time_format is None:
        notes.append("Times were taken for milliseconds since 1970, UTC.")
    elif "days" in forms:
        notes.append("Times were taken for days since 30 December 1899, as spreadsheets count them.")
    elif "seconds" in forms and log.time_format is None:
        notes.append("Times were taken for seconds since 1970, UTC.")
    seconds, values = _merged(*_local(seconds, values, utc.pop(), log, utc_offset, notes), layout)
    values = _units(path, values, log, notes)
    seconds, values = _in_order(path, seconds, values, notes)
    if seconds.size < 2:
        raise StudyError(f"{path.name}: all its rows have one time; a log needs days")
    seconds, kind, known = begun(seconds, layout, log, notes)
    return Rows(path.name, seconds, values, notes, kind, known)


def _counted_notes(counts):
    """What was set aside while reading, in sentences."""
    out = []
    for what, count in counts.items():
        if not count:
            continue
        if what == "filled":
            out.append(f"{_counted(count, 'row')} without a date took that of the row above.")
        elif isinstance(what, str):
            out.append(f"{_counted(count, 'row')} {what} {'was' if count == 1 else 'were'} left out.")
        else:
            kind = what[0].replace("_", " ")
            words = "a code for a missing value" if what[1] == "code" else "no readable number"
            out.append(f"{_counted(count, 'cell')} of {kind} held {words}.")
    return out


def _local(seconds, values, utc, log, utc_offset, notes):
    """Seconds of local standard time."""
    if utc:
        notes.append("Times are relative to UTC; they were converted to local standard time.")
        return seconds + 3600.0 * utc_offset, values
    if log.time_zone is None:
        return seconds.astype(float), values
    import pandas as pd

    parts = re.fullmatch(r"UTC(?:([+-])(\d{1,2})(?::(\d\d))?)?", log.time_zone)
    if parts:
        sign, hours, minutes = parts.groups()
        ahead = (int(hours or 0) * 3600 + int(minutes or 0) * 60) * (-1 if sign == "-" else 1)
        return seconds - ahead + 3600.0 * utc_offset, values
    index = pd.DatetimeIndex(seconds.astype("int64").astype("datetime64[s]"))
    # Within the hour that comes twice, a step back marks the change to standard time.
    back = np.concatenate([[False], np.diff(seconds) < 0])
    summer = ~(np.cumsum(back) > 0)
    utc_index = index.tz_localize(log.time_zone, ambiguous=summer, nonexistent="shift_forward").tz_convert(
        "UTC"
    )
    notes.append(f"Times were converted from {log.time_zone} to local standard time, summer time included.")
    return utc_index.as_unit("s").asi8 + 3600.0 * utc_offset, values


def _merged(seconds, values, layout):
    """Rows of one time each: where a row holds one value, those of the same time are put together."""
    if "name" not in layout.columns:
        return seconds, values
    times, at = np.unique(seconds, return_inverse=True)
    out = {kind: np.full(times.size, np.nan) for kind in values}
    for kind, part in values.items():
        good = np.isfinite(part)
        out[kind][at[good]] = part[good]
    return times, out


def _in_order(path, seconds, values, notes):
    """Rising times, one row each; what was turned, moved or dropped is noted."""
    steps = np.diff(seconds)
    if (steps <= 0).all() and (steps < 0).any():
        notes.append("The newest row came first; the order was reversed.")
        seconds, values = seconds[::-1], {kind: part[::-1] for kind, part in values.items()}
        steps = np.diff(seconds)
    back = np.flatnonzero(steps < 0)
    if back.size > max(20, seconds.size // 1000):
        raise StudyError(
            f"{path.name}, row {back[0] + 3}: times go back in {back.size} places; sort the log, or export it again"
        )
    for at in back[:5]:
        notes.append(
            f"The clock went back by {_length(-steps[at])} at {stamp(seconds[at])}; rows were put in order of time. "
            "If summer time ended then, set log.time_zone by its name."
        )
    if back.size:
        order = np.argsort(seconds, kind="stable")
        seconds, values = seconds[order], {kind: part[order] for kind, part in values.items()}
    twice = np.concatenate([[False], np.diff(seconds) == 0])
    if twice.any():
        again = int(twice.sum())
        notes.append(
            f"{_counted(again, 'row')} repeat{'s' * (again == 1)} the time of the row before; the first was kept."
        )
        seconds, values = seconds[~twice], {kind: part[~twice] for kind, part in values.items()}
    return seconds, values


def _units(path, values, log, notes):
    """Values in the units of the room; charge and load current joined to one net current."""
    out = {}
    sign = 1.0 if log.charging == "positive" else -1.0
    for kind, part in values.items():
        unit = getattr(log, f"{unit_kind(kind)}_unit")
        part = part * FACTORS.get(unit, 1.0)
        if kind == "soc":
            top = np.nanquantile(part, 0.99) if np.isfinite(part).any() else 0.0
            unit = unit or ("fraction" if top <= 1.0 else "%")
            part = part / 100.0 if unit == "%" else part
            if np.isfinite(part).any() and np.nanquantile(part, 0.99) > 1.05:
                raise StudyError(
                    f"{path.name}: state of charge up to {top:g}; set log.soc_unit to % or fraction"
                )
        elif kind == "temperature":
            part = part - 273.15 if unit == "K" else (part - 32.0) / 1.8 if unit == "F" else part
        elif kind in ("current", "power"):
            part = sign * part
        out[kind] = part
        missing = int(np.isnan(part).sum())
        if missing:
            words = kind.replace("_", " ")
            notes.append(f"{_counted(missing, 'row')} {'has' if missing == 1 else 'have'} no {words}.")
    charge, load = (out.pop(f"{kind}_current", None) for kind in ("charge", "load"))
    if charge is not None and load is not None:
        out["charge_current"], out["load_current"] = _upright(charge), _upright(load)
        if "current" not in out:
            out["current"] = out["charge_current"] - out["load_current"]
            notes.append("The net current was taken as charge current less load current.")
    elif "current" not in out and (charge is not None or load is not None):
        notes.append("A charge current or a load current alone gives no net current; it was not used.")
    if not out.keys() & {"soc", "current", "voltage", "power"}:
        raise StudyError(
            f"{path.name}: holds no state of charge, net current, voltage or power; add one of these"
        )
    return out


def _upright(current):
    """A current that flows one way, positive whatever sign its column has; the error of a zero keeps its own."""
    return -current if np.nansum(current) < 0.0 else current


def stamp(seconds):
    """A time of the log, to the minute.

    Parameters
    ----------
    seconds : float
        Since 1970-01-01 [s].
    """
    return str(np.datetime64(int(seconds), "s"))[:16].replace("T", " ")


def _length(seconds):
    return f"{seconds / 3600:.3g} h" if seconds >= 3600 else f"{seconds / 60:.3g} min"


def _counted(count, what):
    return f"{count} {what}{'' if count == 1 else 's'}"
