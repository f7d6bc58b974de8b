"""Judge the model of daily clearness by what it is for: loss of load, synthetic over measured.

    python workflow/data/judge_climate.py FOLDER [members]

FOLDER holds one CSV a station with columns ``date, ghi_MJ_m2_d``; Wageningen comes from the package pcse. For
each station and each source of climate the loss-of-load days of `darkspell.validation.daily_storage` are
printed over the measured ones, with the record's own 90 % interval; and the interval that the source's stated doubt
gives, with its score beside that of one constant interval fitted to these very stations (`fit_doubt.py` leaves out
the station that it judges).
"""

import sys
from types import SimpleNamespace

import numpy as np
from stations import read_all

from darkspell.climate.atlas import from_atlas
from darkspell.climate.from_record import from_record
from darkspell.climate.monthly import from_monthly
from darkspell.climate.site_climate import quantile_weights
from darkspell.core.calendar import Calendar
from darkspell.validation.daily_storage import (
    BANKS,
    WANTED,
    interval_score,
    measured_cells,
    plane_light,
    ratio_of,
)
from darkspell.validation.interval_coverage import LEAST, interval, stated_draws
from darkspell.validation.judge import typical_climate, without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

NEAR = 0.6, 1.7
GIVEN = {"fitted": "means", "monthly": "means", "typical": "months", "atlas": "nothing"}


def judge(folder, members=1000):
    """Print the ratios of all stations, and the scores of the targets."""
    table, stated, intervals = {name: [] for name in GIVEN}, {name: [] for name in GIVEN}, []
    stations = read_all(folder)
    for station in stations:
        start = 7 if station.latitude_deg >= 0 else 1
        measured = measured_cells(station, station.latitude_deg, start)
        cells = [cell for cell in measured if cell["wanted"] == WANTED]
        intervals.append([(cell["low"], cell["high"]) for cell in cells])
        years = max(round(np.isfinite(station.kt).sum() / 365), 1)
        for name, climate in climates(station).items():
            kt = daily_clearness(
                without_uncertainty(climate), Calendar(start), np.arange(members), np.zeros(members), 1
            )
            table[name].append(ratios(station, kt, start, cells))
            worlds = stated_draws(station.latitude_deg, climate, Calendar(start), cells, years, GIVEN[name])
            stated[name].append(interval(worlds))
    print_bias(stations)
    intervals = np.array(intervals)
    for name, rows in table.items():
        _print_source(name, np.array(rows), intervals, stations)
        _print_stated(np.moveaxis(np.array(stated[name]), 1, 0), np.array(rows), stations)


def print_bias(stations):
    """Monthly global irradiation of the atlas over the measured: mean of the stations, and how they spread."""
    per_month = np.array(
        [monthly_mean_clearness(from_atlas(one)) / np.array(one.means) - 1.0 for one in stations]
    )
    of_station = 100.0 * per_month.mean(axis=1)
    print(
        f"atlas, monthly global irradiation less the measured: mean {of_station.mean():+.1f} %, SD over the stations "
        f"{of_station.std(ddof=1):.1f} %, of single months {100.0 * per_month.std(ddof=1):.1f} %"
    )
    print(
        "  "
        + ", ".join(
            f"{one.name.split('_')[0]} {bias:+.0f}" for one, bias in zip(stations, of_station, strict=True)
        )
    )


def monthly_mean_clearness(climate):
    """Mean clearness of the twelve months of a climate without doubt [12]."""
    return climate.kt_quantiles @ quantile_weights(climate.probabilities)


def climates(station):
    """Climate of a station from its record, its twelve means, a typical year of its months, and the atlas alone."""
    known = SimpleNamespace(clearness_index=station.means, ghi_kwh_m2_day=None, temp_air_c=None)
    return {
        "fitted": from_record(station, station),
        "monthly": from_monthly(station, known),
        "typical": typical_climate(station, station),
        "atlas": from_atlas(station),
    }


def ratios(station, kt, start, cells):
    """Lost days over measured ones, by bank."""
    return [part.mean() for part in ratios_of(station, kt, start, cells)]


def ratios_of(station, kt, start, cells):
    """Lost days of each year over the wanted share, by bank; list of arrays [members]."""
    light = plane_light(station.latitude_deg, kt, Calendar(start))
    return [ratio_of(light, cell) for cell in cells]


def _print_source(name, ratios, intervals, stations):
    log = np.log(np.maximum(ratios, LEAST))
    near = ((ratios >= NEAR[0]) & (ratios <= NEAR[1])).mean()
    inside = ((ratios >= intervals[..., 0]) & (ratios <= intervals[..., 1])).mean()
    print(
        f"\n{name}: {100 * near:.0f} % of cells within {NEAR[0]}-{NEAR[1]}, {100 * inside:.0f} % within the record's "
        f"90 % interval, geometric mean {np.exp(log.mean()):.2f}, median {np.median(ratios):.2f}, "
        f"RMS log {np.sqrt((log**2).mean()):.2f}"
    )
    for station, row, bounds in zip(stations, ratios, intervals, strict=True):
        cells = (f"{r:5.2f} [{low:.2f}-{high:.2f}]" for r, (low, high) in zip(row, bounds, strict=True))
        print(f"  {station.name[:24]:24s}", *cells)


def _print_stated(stated, ratios, stations):
    """Coverage and score in log ratios, floor 0.02; the constant interval is the one that scores best."""
    low, high, middle = stated
    covered = (low <= 0.0) & (high >= 0.0)
    log = np.log(np.maximum(ratios, LEAST))
    fixed = min(interval_score(log - half, log + half, 0.0).mean() for half in np.linspace(0.05, 6.0, 240))
    print(
        f"  stated: the 90 % interval holds the measured loss in {100 * covered.mean():.0f} % of cells, at "
        f"{covered.all(axis=1).sum()} of {len(stations)} stations at all of {len(BANKS)} banks; median "
        f"{np.median(np.exp(middle)):.2f}; interval score {interval_score(low, high, 0.0).mean():.2f} (log), of the "
        f"best constant interval {fixed:.2f}"
    )
    for station, one, two in zip(stations, np.exp(low), np.exp(high), strict=True):
        print(f"  {station.name[:24]:24s}", *(f"[{a:.2f}-{b:.2f}]" for a, b in zip(one, two, strict=True)))


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    judge(sys.argv[1], *(int(word) for word in sys.argv[2:]))
