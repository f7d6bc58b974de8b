"""Judge the slow weight of the usual persistence by stations that it was not chosen on.

    python workflow/data/fit_weight.py FOLDER

FOLDER as in judge_climate.py. For each weight the loss of load, synthetic over measured, from twelve means and
the usual persistence; then, for each station, the weight with the least RMS of the logarithm over all OTHER stations,
and what the station left out says of it.
"""

import sys
from dataclasses import replace

import numpy as np
from judge_climate import NEAR, climates, ratios
from stations import read_all

from darkspell.climate.persistence import typical_persistence
from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import WANTED, measured_cells
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

WEIGHTS = np.array([0.0, 0.02, 0.03, 0.035, 0.04, 0.045, 0.05, 0.055, 0.06, 0.07, 0.08, 0.1, 0.15])
MEMBERS = 3000


def weights(stations):
    """Print the ratios by weight, and those of each station with the weight that the others choose."""
    found = np.log([_by_weight(station) for station in stations])  # [stations, weights, banks]
    print(f"\nSlow weight: cells within {NEAR[0]}-{NEAR[1]}, geometric mean, RMS log ratio")
    for at, weight in enumerate(WEIGHTS):
        print(f"  {weight:5.3f}", _row(found[:, at]))
    square = (found**2).mean(axis=2)
    chosen = [int(np.delete(square, out, axis=0).mean(axis=0).argmin()) for out in range(len(stations))]
    values, count = np.unique(WEIGHTS[chosen], return_counts=True)
    told = ", ".join(f"{value:g} ({n} times)" for value, n in zip(values, count, strict=True))
    print(f"chosen by the other stations: {told}")
    print("  at the stations left out:", _row(found[np.arange(len(stations)), chosen]))


def _by_weight(station):
    start = 7 if station.latitude_deg >= 0 else 1
    cells = [c for c in measured_cells(station, station.latitude_deg, start) if c["wanted"] == WANTED]
    climate = without_uncertainty(climates(station)["monthly"])
    members = np.arange(MEMBERS)
    rows = []
    for weight in WEIGHTS:
        one = replace(climate, **typical_persistence(station.latitude_deg, weight))
        kt = daily_clearness(one, Calendar(start), members, np.zeros(MEMBERS), 1)
        rows.append(ratios(station, kt, start, cells))
    return rows


def _row(log):
    near = ((log >= np.log(NEAR[0])) & (log <= np.log(NEAR[1]))).mean()
    return f"{100 * near:3.0f} % {np.exp(log.mean()):5.2f} {np.sqrt((log**2).mean()):6.3f}"


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    weights(read_all(sys.argv[1]))
