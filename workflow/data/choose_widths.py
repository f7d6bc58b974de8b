"""Choose the stated uncertainties of each climate source from the stations, and judge the choice by regions left out.

    python workflow/data/choose_widths.py FOLDER

FOLDER as in fit_climate.py. All stated standard deviations of a source are multiplied by one factor, the smallest
with which the stated 90 % intervals contain 90 %, or 93 %, of the measured losses. For the left-out figures each
station uses the factor that the stations more than 800 km away choose; its climate has constants fitted there. The
table of constants has the largest factor that any of them chooses with 90 %.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from fit_climate import Seasons, Table
from judge_climate import GIVEN, Place, covered, print_intervals
from stations import read_all, read_satellites

from darkspell.climate.uncertainty import KINDS
from darkspell.validation.daily_storage import interval_score
from darkspell.validation.interval_coverage import LEAST

FACTORS = np.array([0.7, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2, 1.35])
# In a region left out the intervals contain up to 4 % less than in those that choose the factor.
WANTED_COVERAGE = 0.9, 0.93


def main(folder, members=1000):
    """Print the factor of each source, and its coverage and score with regions left out."""
    stations = read_all(folder)
    satellites = read_satellites(Path(folder) / "satellite")
    fits = Table(stations, satellites, Seasons.of(stations, folder))
    places = [Place(at, station, fits, members) for at, station in enumerate(stations)]
    for source in GIVEN:
        intervals = np.array([[stated(place, source, factor) for place in places] for factor in FACTORS])
        print_choice(source, intervals, places, fits)


def stated(place, source, factor):
    """Interval and median with all stated standard deviations multiplied; [3, banks]."""
    climate = place.climates[source]
    wider = {f"{kind}_sd": factor * getattr(climate, f"{kind}_sd") for kind in KINDS}
    return place.stated(replace(climate, **wider), place.cells, place.years, GIVEN[source])


def print_choice(source, intervals, places, fits):
    """Factor chosen by all stations and by those of other regions; `intervals` [factors, stations, 3, banks]."""
    low, high = intervals[:, :, 0], intervals[:, :, 1]
    held, score = covered(low, high).mean(axis=2), interval_score(low, high, 0.0).mean(axis=2)
    print(f"\n{source}: factor", *(f"{factor:6.2f}" for factor in FACTORS))
    print("  contains   ", *(f"{100 * share:6.0f}" for share in held.mean(axis=1)))
    print("  score      ", *(f"{value:6.2f}" for value in score.mean(axis=1)))
    count = len(places)
    ratios = np.array([place.ratios(place.climates[source]) for place in places])
    for wanted in WANTED_COVERAGE:
        chosen = np.array([smallest(held[:, fits.without(at)[:count]], wanted) for at in range(count)])
        print(f"  {100 * wanted:.0f} % wanted, chosen by all stations: {FACTORS[smallest(held, wanted)]:.2f}; with "
              f"regions left out: {FACTORS[chosen.min()]:.2f} to {FACTORS[chosen.max()]:.2f}")  # fmt: skip
        print_intervals(intervals[chosen, np.arange(count)], np.log(np.maximum(ratios, LEAST)), fits)


def smallest(held, wanted):
    """Index of the smallest factor that contains the wanted share; `held` [factors, stations]."""
    enough = held.mean(axis=1) >= wanted
    return int(np.argmax(enough)) if enough.any() else len(enough) - 1


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
