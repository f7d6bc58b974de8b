"""Judge how wide the stated doubts are, leaving out the station that is judged.

    python workflow/data/fit_doubt.py FOLDER

FOLDER as in judge_climate.py. What an interval must hold is the measured share of lost days: `darkspell.validation.
stated` says how it is stated. Twice: the climate given the station's own means and days (only shape and persistence
can be wrong; the doubts are scaled together, and the scale of a station is the least with which 90 % of the cells of
all OTHER stations are held), and the climate given one half of the years and judged by the other half (everything can
be wrong). Beside both one constant interval in logarithms, chosen by the other stations too.
"""

import sys
from dataclasses import replace

import numpy as np
from judge_climate import GIVEN, NEAR, climates, ratios
from stations import read_all

from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import (
    BANKS,
    LEVEL,
    RARE,
    WANTED,
    WARM_UP,
    interval_score,
    lost_days,
    measured_cells,
    plane_light,
    size_for,
)
from darkspell.validation.interval_coverage import LEAST, interval, stated_draws
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

SCALES = np.array([0.0, 0.5, 0.8, 0.9, 1.0, 1.1, 1.2, 1.5])
YEARS = 2000  # of the climate taken at its word
RECORDS, LADDER = 10, (0.04, 0.02, 0.01, 0.005)
WIDTHS = np.linspace(0.05, 6.0, 240)
DOUBTS = ("annual_mean_sd", "monthly_mean_sd", "width_sd", "lag_one_sd")


def doubts(stations):
    """Print the judgement of every source."""
    known, cells = [climates(station) for station in stations], [cells_of(station) for station in stations]
    for source in ("atlas", "typical", "monthly", "fitted"):
        values = [
            [stated(own[source], station, own_cells, scale, GIVEN[source]) for scale in SCALES]
            for own, station, own_cells in zip(known, stations, cells, strict=True)
        ]  # [stations, scales, 4, banks]
        tell(source, np.moveaxis(np.array(values), 0, 1))
    halves = [halves_of(station) for station in stations]
    known = [[climates(part) for part in two] for two in halves]
    cells = [[cells_of(part) for part in two] for two in halves]
    for source in ("monthly", "fitted"):
        values = [
            [stated(own[1 - k][source], two[k], at[k]) for k in (1, 0)]
            for own, two, at in zip(known, halves, cells, strict=True)
        ]
        print(
            f"\n{source}, one half of the years given, the other judged: cells held, mean width, score, median"
        )
        by_station = np.moveaxis(np.array(values), 2, 0)  # [4, stations, halves, banks]
        _compare(by_station.reshape(4, len(stations), -1))


def rare(stations):
    """Print what arrays lose that are sized for 0.1 % by a record, on records that the model drew itself."""
    found = {"counted": [], "by a straight line through 4 to 0.5 %": []}
    for at, station in enumerate(stations):
        start = start_of(station)
        years, members = round(np.isfinite(station.kt).sum() / 365), np.arange(YEARS)
        kt = daily_clearness(
            without_uncertainty(climates(station)["monthly"]), Calendar(start), members, members * 0, 5
        )
        light = plane_light(station.latitude_deg, kt, Calendar(start))
        for bank in BANKS:
            for draw in range(RECORDS):
                some = light[np.random.default_rng([at, draw]).choice(YEARS, years, replace=False)]
                sizes = np.array([size_for(some, bank, share) for share in LADDER])
                slope, level = np.polyfit(np.log(sizes), np.log(LADDER), 1)
                tried = size_for(some, bank, RARE), np.exp((np.log(RARE) - level) / slope)
                for name, size in zip(found, tried, strict=True):
                    found[name].append(lost_days(light, size, bank, WARM_UP)[:, WARM_UP:].mean())
    print(
        "\nLoss of 0.1 %: what an array sized by a record loses, over that: median, RMS log ratio, within 0.6 to 1.7"
    )
    for name, shares in found.items():
        log = np.log(np.maximum(shares, LEAST * RARE) / RARE)
        near = (
            np.abs(log - np.log(NEAR[1]) / 2 - np.log(NEAR[0]) / 2) <= np.log(NEAR[1] / NEAR[0]) / 2
        ).mean()
        print(f"  {name}: {np.exp(np.median(log)):.2f}, {rms(log):.2f}, {100 * near:.0f} %")


def rms(values):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def cells_of(station):
    """Cells of 1 % of a station."""
    found = measured_cells(station, station.latitude_deg, start_of(station))
    return [cell for cell in found if cell["wanted"] == WANTED]


def start_of(station):
    """First month of the station's study year."""
    return 7 if station.latitude_deg >= 0 else 1


def stated(climate, judged, cells, scale=1.0, given="nothing"):
    """Lower bound, upper bound, median of what is stated, and the climate at its word, as logarithms; [4, banks]."""
    calendar = Calendar(start_of(judged))
    scaled = replace(climate, **{name: scale * getattr(climate, name) for name in DOUBTS})
    years = max(round(np.isfinite(judged.kt).sum() / 365), 1)
    draws = stated_draws(judged.latitude_deg, scaled, calendar, cells, years, given)
    plain = daily_clearness(without_uncertainty(climate), calendar, np.arange(YEARS), np.zeros(YEARS), 1)
    found = ratios(judged, plain, calendar.start_month, cells)
    return np.array([*interval(draws), np.log(np.maximum(found, LEAST))])


def halves_of(station):
    """The earlier and the later half of a station's days."""
    cut = station.dates.size // 2
    return [
        replace(station, **{name: getattr(station, name)[part] for name in ("kt", "month", "dates")})
        for part in (slice(None, cut), slice(cut, None))
    ]


def tell(source, values):
    """Print one source; `values` [scales, stations, 4, banks]."""
    print(f"\n{source}: scale, cells held, mean width, interval score, median ratio")
    for scale, one in zip(SCALES, values, strict=True):
        print(f"  {scale:4.2f}                 ", _row(*np.moveaxis(one, 1, 0)[:3]))
    held = covered(values[:, :, 0], values[:, :, 1])
    chosen = [least(np.delete(held, out, axis=1)) for out in range(held.shape[1])]
    print(f"  left out, scale {SCALES[min(chosen)]:g} to {SCALES[max(chosen)]:g}:")
    _compare(np.moveaxis(np.array([values[at, out] for out, at in enumerate(chosen)]), 0, 1))


def _compare(found):
    """Print what is stated beside one constant interval; `found` [4, stations, cells]."""
    low, high, middle, plain = found
    apart = np.abs(plain)
    half = [
        WIDTHS[least(np.delete(apart, out, axis=0) <= WIDTHS[:, None, None])] for out in range(len(apart))
    ]
    half = np.array(half)[:, None]
    print("  stated               ", _row(low, high, middle))
    print("  constant             ", _row(plain - half, plain + half, plain))
    more = interval_score(low, high, 0.0) - interval_score(plain - half, plain + half, 0.0)
    error = more.mean(axis=1).std(ddof=1) / np.sqrt(len(more))
    print(f"  stated less constant, score: {more.mean():+.2f} +- {error:.2f} (standard error over stations)")


def covered(low, high):
    """Whether each interval holds the measured share; bool array."""
    return (low <= 0.0) & (high >= 0.0)


def least(holds):
    """Index of the first row with enough cells held, or the last; `holds` [rows, stations, banks]."""
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
    doubts(read_all(sys.argv[1]))
    rare(read_all(sys.argv[1]))
