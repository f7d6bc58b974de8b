"""Mutants of a monitor's log and of the section ``log`` that says how to read it."""

from datetime import datetime, timedelta
from functools import cache

from dev.fuzz.table_mutants import FORMATS, ZONES, Table, mutated


def log_mutant(rng):
    """A log, and the section ``log`` of its study.

    Parameters
    ----------
    rng : random.Random

    Returns
    -------
    bytes
    dict
        The section.
    list of str
        Names of the mutations.
    """
    minutes = rng.choice((10, 60))
    table = Table(["time", "soc", "current", "voltage"], [list(row) for row in _rows(minutes)])
    data = mutated(rng, table)
    section = {}
    if rng.random() < 0.4:
        key, values = rng.choice(
            (
                ("time_format", FORMATS), ("time_zone", ZONES), ("soc_unit", ("%", "fraction")),
                ("current_unit", ("A", "mA")), ("voltage_unit", ("V", "mV")),
                ("time_column", ("time", "soc", "", "no")),
                ("soc_column", ("soc", "time", "voltage", "no")), ("current_column", ("current", "time", "")),
                ("power_column", ("current", "no")), ("temperature_column", ("voltage", "time")),
                ("charging", ("positive", "negative")),
            )
        )  # fmt: skip
        section[key] = rng.choice(values)
        table.done.append(f"log.{key}")
    return data, section, table.done


@cache
def _rows(minutes):
    """Twenty days of a bank that charges by day."""
    start, soc, rows = datetime(2025, 3, 20), 0.8, []
    for n in range(20 * 1440 // minutes):
        at = start + timedelta(minutes=n * minutes)
        current = 8.0 - (n % 5) if 8 <= at.hour < 16 and soc < 0.99 else -2.0
        soc = min(max(soc + current * minutes / 60 / 200, 0.05), 1.0)
        rows.append((f"{at:%Y-%m-%d %H:%M}", f"{100 * soc:.1f}", f"{current:.2f}", f"{12.4 + soc:.2f}"))
    return rows
