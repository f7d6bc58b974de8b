"""How far each source of climate may be off: its doubts scaled until they cover what stations measured.

    python workflow/data/fit_doubt.py FOLDER

FOLDER as in judge_climate.py. The doubts of a source (world, month, width, lag of `constants/climate.toml`) are
scaled together. The scale of a station is the least with which the stated 90 % intervals of loss of load hold 90 %
of the cells of all OTHER stations; coverage and interval score are printed for the stations left out, beside one
constant interval in logarithms that is chosen in the same way. Measured shares are those of finite records: part of
what is covered is their own luck.
"""

import sys
from dataclasses import replace

import numpy as np
from judge_climate import LEAST, LEVEL, climates, ratios_of
from stations import read_all

from darkspell.calendar import Calendar
from darkspell.sky.daily import daily_clearness
from darkspell.validation.storage_test import BANKS, WANTED, interval_score, measured_cells

SCALES = np.array([0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5])
WORLDS, YEARS_A_WORLD = 40, 150
WIDTHS = np.linspace(0.05, 6.0, 240)
DOUBTS = ("world_sd", "month_sd", "width_sd", "lag_sd")


def main(folder):
    """Print the fit of every source."""
    stations = read_all(folder)
    found = {"atlas": [], "monthly": [], "fitted": []}
    for station in stations:
        start = 7 if station.latitude_deg >= 0 else 1
        cells = [c for c in measured_cells(station, station.latitude_deg, start) if c["wanted"] == WANTED]
        for source, climate in climates(station).items():
            found[source].append([bounds(station, scaled(climate, s), start, cells) for s in SCALES])
    for source, values in found.items():
        tell(source, np.moveaxis(np.array(values), 0, 1))


def scaled(climate, scale):
    """The climate with all its doubts scaled."""
    return replace(climate, **{name: scale * getattr(climate, name) for name in DOUBTS})


def bounds(station, climate, start, cells):
    """Lower bound, upper bound and median over worlds of the logarithm of the ratio; [3, banks]."""
    members = np.arange(WORLDS * YEARS_A_WORLD)
    kt = daily_clearness(climate, Calendar(start), members, members // YEARS_A_WORLD, 1)
    by_member = ratios_of(station, kt, start, cells)
    worlds = np.array(by_member).reshape(len(BANKS), WORLDS, YEARS_A_WORLD).mean(axis=2)
    return np.quantile(np.log(np.maximum(worlds, LEAST)), [(1 - LEVEL) / 2, (1 + LEVEL) / 2, 0.5], axis=1)


def tell(source, values):
    """Print one source; `values` [scales, stations, 3, banks]."""
    low, high, middle = np.moveaxis(values, 2, 0)
    print(f"\n{source}: scale, cells covered, mean width, interval score, median ratio")
    for at, scale in enumerate(SCALES):
        print(f"  {scale:4.2f}", _row(low[at], high[at], middle[at]))
    chosen = [least(np.delete(covered(low, high), out, axis=1)) for out in range(low.shape[1])]
    ends = [np.array([part[at, out] for out, at in enumerate(chosen)]) for part in (low, high, middle)]
    print("  left out, scale", SCALES[min(chosen)], "to", SCALES[max(chosen)], _row(*ends))
    apart = np.abs(ends[2])
    half = [
        WIDTHS[least(np.delete(apart, out, axis=0) <= WIDTHS[:, None, None])] for out in range(len(apart))
    ]
    half = np.array(half)[:, None]
    print("  left out, constant  ", _row(ends[2] - half, ends[2] + half, ends[2]))


def covered(low, high):
    """Whether each interval holds the measured share; bool array."""
    return (low <= 0.0) & (high >= 0.0)


def least(holds):
    """Index of the first row with enough cells covered, or the last; `holds` [rows, stations, banks]."""
    good = np.flatnonzero(holds.mean(axis=(1, 2)) >= LEVEL)
    return int(good[0]) if good.size else len(holds) - 1


def _row(low, high, middle):
    return (
        f"{100 * covered(low, high).mean():4.0f} % {(high - low).mean():6.2f} "
        f"{interval_score(low, high, 0.0).mean():6.2f} {np.median(np.exp(middle)):6.2f}"
    )


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
