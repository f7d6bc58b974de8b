"""Judge the climate sources by loss of load at stations that the fits did not use.

    python workflow/data/judge_climate.py FOLDER [members]

FOLDER as in fit_climate.py. At each station all fitted constants come from the places more than 800 km away. For each
source the loss-of-load days of `darkspell.validation.daily_storage` are printed over the measured ones; then the
coverage and score of the stated 90 % intervals, next to one constant interval chosen by the other regions; then
satellite series next to their ground stations, and means of a few years judged by the other years.
"""

import sys
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
import pandas as pd
from fit_climate import Seasons, Table, atlas_means
from stations import distances, part, read_all, read_satellites, satellite

from darkspell.climate import monthly
from darkspell.climate.atlas import from_atlas
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.from_record import from_record, from_satellite
from darkspell.climate.monthly import from_monthly
from darkspell.core.calendar import Calendar
from darkspell.core.constants import table as constants_of
from darkspell.validation.daily_storage import WANTED, interval_score, measured_cells, plane_light, ratio_of
from darkspell.validation.interval_coverage import LEAST, interval, stated_draws
from darkspell.validation.judge import typical_climate, without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness

NEAR = 0.6, 1.7
GIVEN = {"record": "means", "monthly": "means", "typical": "months", "atlas": "nothing"}
HALF_WIDTHS = np.linspace(0.05, 6.0, 240)
PAIR_KM, PAIR_YEARS = 300.0, 7  # of a satellite series and its ground station
FEW_YEARS = (1, 2, 3, 5, 10)
FEW_DRAWS = 100
BLANKED = (1, 3, 6)  # calendar months without a day
SEASON = (3, 5)  # months of a single year


def judge(folder, members=1000):
    """Print all judgements."""
    stations = read_all(folder)
    satellites = read_satellites(Path(folder) / "satellite")
    fits = Table(stations, satellites, Seasons.of(stations, folder))
    places = [Place(at, station, fits, members) for at, station in enumerate(stations)]
    for source in GIVEN:
        print_source(source, places, fits)
    print_brightened(places, fits)
    print_without_cell(places, fits)
    print_pairs(Path(folder) / "satellite", stations, members)
    for years in FEW_YEARS:
        print_few_years(years, places)
    for count in BLANKED:
        print_blanked(count, places)
    for count in SEASON:
        print_season(count, places)


class Place:
    """A station with its cells, and its climates from constants fitted elsewhere."""

    def __init__(self, at, station, fits, members):
        self.station, self.members = station, members
        self.calendar = Calendar(7 if station.latitude_deg >= 0 else 1)
        self.fit = fits.constants(fits.without(at))
        self.clearness = None if fits.seasons is None else fits.seasons.clearness(fits.without(at))
        self.cells = cells_of(station, self.calendar)
        self.years = years_of(station)
        with constants(self.fit), atlas_means(self.clearness):
            self.climates = {
                "record": from_record(station, station),
                "monthly": from_means(station, station.means),
                "typical": typical_climate(station, station),
                "atlas": from_atlas(station),
            }

    def ratios(self, climate):
        """Lost days over measured ones by bank, the climate without uncertainty."""
        return losses(
            without_uncertainty(climate), self.station.latitude_deg, self.calendar, self.cells, self.members
        )

    def stated(self, climate, cells, years, given):
        """Stated 90 % interval and median of the logarithm; [3, banks]."""
        draws = stated_draws(self.station.latitude_deg, climate, self.calendar, cells, years, given)
        return interval(draws)


@contextmanager
def constants(values):
    """Climate constants replaced for a while."""
    entries = constants_of("climate")
    before = {name: entries[name]["value"] for name in values}
    try:
        for name, value in values.items():
            entries[name]["value"] = value
        yield
    finally:
        for name, value in before.items():
            entries[name]["value"] = value


def from_means(station, means, years=None):
    """Climate from twelve means, of a number of years if that is known."""
    known = SimpleNamespace(
        clearness_index=list(means), ghi_kwh_m2_day=None, peak_sun_hours=None, temp_air_c=None,
        years_of_means=years,
    )  # fmt: skip
    return from_monthly(station, known)


def cells_of(station, calendar):
    """Cells of 1 % of a station."""
    found = measured_cells(station, station.latitude_deg, calendar.start_month)
    return [cell for cell in found if cell["wanted"] == WANTED]


def years_of(station):
    """Years of known days."""
    return max(round(np.isfinite(station.kt).sum() / 365), 1)


def losses(climate, latitude, calendar, cells, members):
    """Lost days over measured ones by bank; float64 [banks]."""
    kt = daily_clearness(climate, calendar, np.arange(members), np.zeros(members), 1)
    light = plane_light(latitude, kt, calendar)
    return np.array([ratio_of(light, cell).mean() for cell in cells])


def print_source(source, places, fits):
    """Ratios of one source, its stated intervals, and a constant interval chosen by the other regions."""
    ratios = np.array([place.ratios(place.climates[source]) for place in places])
    print(f"\n{source}: {summary(ratios)}")
    for place, row in zip(places, ratios, strict=True):
        print(f"  {place.station.name[:24]:24s}", *(f"{ratio:6.2f}" for ratio in row))
    stated = [
        place.stated(place.climates[source], place.cells, place.years, GIVEN[source]) for place in places
    ]
    print_intervals(np.array(stated), np.log(np.maximum(ratios, LEAST)), fits)


def summary(ratios):
    """Shares and means of ratios in words."""
    log = np.log(np.maximum(ratios, LEAST))
    near = ((ratios >= NEAR[0]) & (ratios <= NEAR[1])).mean()
    return (
        f"{100 * near:.0f} % of cells within {NEAR[0]}-{NEAR[1]}, geometric mean {np.exp(log.mean()):.2f}, "
        f"median {np.median(ratios):.2f}, RMS log {np.sqrt((log**2).mean()):.2f}"
    )


def print_intervals(stated, log, fits):
    """Coverage and interval score of stated [stations, 3, banks] and constant intervals."""
    low, high, _ = np.moveaxis(stated, 1, 0)
    half = np.array([constant_half(log[fits.without(at)[: len(log)]]) for at in range(len(log))])[:, None]
    score, fixed = (interval_score(*ends, 0.0) for ends in ((low, high), (log - half, log + half)))
    more = (score - fixed).mean(axis=1)
    print(
        f"  stated 90 % interval: contains {percent(covered(low, high))}, mean width {(high - low).mean():.2f}, "
        f"score {score.mean():.2f}; constant interval of the other regions {percent(np.abs(log) <= half)}, "
        f"{2 * half.mean():.2f}, {fixed.mean():.2f}; difference {more.mean():+.2f} "
        f"+- {more.std(ddof=1) / np.sqrt(more.size):.2f} (standard error over stations)"
    )


def constant_half(log):
    """Smallest half-width that contains 90 % of the cells."""
    held = (np.abs(log)[None] <= HALF_WIDTHS[:, None, None]).mean(axis=(1, 2)) >= 0.9
    return HALF_WIDTHS[int(np.argmax(held))] if held.any() else HALF_WIDTHS[-1]


def percent(share):
    """Mean of truths in words."""
    return f"{100 * np.mean(share):.0f} %"


def covered(low, high):
    """Whether each interval contains the measured share."""
    return (low <= 0.0) & (high >= 0.0)


def print_brightened(places, fits):
    """The atlas again, each station moved to the annual level of the satellites by one factor."""
    ratios = []
    for place in places:
        with constants(place.fit | {"ground_over_satellite": 1.0}), atlas_means(place.clearness):
            climate = without_uncertainty(from_atlas(place.station))
        extra = monthly_extraterrestrial(place.station.latitude_deg)
        factor = (climate.monthly_kt() * extra).sum() / (np.array(place.station.means) * extra).sum()
        bright = Lifted(place.station, factor)
        cells = cells_of(bright, place.calendar)
        ratios.append(losses(climate, bright.latitude_deg, place.calendar, cells, place.members))
    print(f"\natlas, each station moved to the level of the satellites: {summary(np.array(ratios))}")


def print_without_cell(places, fits):
    """Twelve monthly means again, as if no land cell of the atlas were near."""
    ratios, held = [], []
    bounds = constants_of("climate")["width_by_temperature"]["value"][2:]
    for at, place in enumerate(places):
        fitted = [*fits.width_by_temperature(fits.without(at)).tolist(), *bounds]
        with (
            constants(place.fit | {"width_by_temperature": fitted}),
            patch.object(monthly, "atlas_point", no_cell),
        ):
            climate = from_means(place.station, place.station.means)
        ratios.append(place.ratios(climate))
        held.append(covered(*place.stated(climate, place.cells, place.years, GIVEN["monthly"])[:2]))
    print(f"\nmonthly means as if no cell were near: {summary(np.array(ratios))}; stated 90 % interval contains "
          f"{percent(held)}")  # fmt: skip


def no_cell(*_):
    """No cell of the atlas."""


class Lifted:
    """A station with its clearness multiplied by a factor."""

    def __init__(self, station, factor):
        self.latitude_deg, self.month, self.dates = station.latitude_deg, station.month, station.dates
        self.day_of_year, self.kt = station.day_of_year, np.minimum(station.kt * factor, 0.9)


def print_pairs(folder, stations, members):
    """Satellite series near ground stations, in their common years of one homogeneous part."""
    table = Path(folder) / "stations.csv"
    if not table.is_file():
        return
    print("\nsatellite pairs: years, log bias of the year, SD ratio; loss over measured: raw, corrected")
    before, after, inside = [], [], []
    for row in pd.read_csv(table).itertuples():
        series = satellite(folder, row)
        apart = distances([series, *stations])[0, 1:]
        for station in (stations[at] for at in np.flatnonzero(apart <= PAIR_KM)):
            first = max(first_year(series), first_year(station))
            last = min(first_year(series, -1), first_year(station, -1))
            if last - first + 1 < PAIR_YEARS or first < 2001:
                continue
            ground, sky = part(station, first, last), part(series, first, last)
            calendar = Calendar(7 if ground.latitude_deg >= 0 else 1)
            cells = cells_of(ground, calendar)
            raw, own = from_record(sky, sky), from_satellite(ground, sky)
            plain = [
                losses(without_uncertainty(c), ground.latitude_deg, calendar, cells, members)
                for c in (raw, own)
            ]
            draws = stated_draws(ground.latitude_deg, own, calendar, cells, years_of(ground), "nothing")
            inside.append(covered(*interval(draws)[:2]).mean())
            before.append(plain[0])
            after.append(plain[1])
            bias = np.log(np.mean(sky.means) / np.mean(ground.means))
            spread = np.nanstd(sky.kt) / np.nanstd(ground.kt)
            where = f"{series.name} {station.name[:16]:16s} {first}-{last}"
            print(f"  {where} {bias:+.3f} {spread:.2f}", plain[0].round(2), plain[1].round(2))
    if before:
        print("  raw:", summary(np.array(before)), "\n  corrected:", summary(np.array(after)),
              f"; stated 90 % interval contains {100 * np.mean(inside):.0f} %")  # fmt: skip


def first_year(series, at=0):
    """Calendar year of the first day, or of the day `at`."""
    return int(str(series.dates[at])[:4])


def print_few_years(count, places):
    """Means, or the record, of a few years given; the other years judged."""
    for source in ("monthly", "record"):
        held, wider, ratios, errors = [], [], [], []
        for place in places:
            station = place.station
            for first in first_years(station, count):
                given = part(station, first, first + count - 1)
                rest = without_years(station, first, first + count - 1)
                if years_of(rest) < 4 or not np.isfinite(given.means).all() or years_of(given) < count:
                    continue
                known = cells_of(rest, place.calendar)
                with constants(place.fit), atlas_means(place.clearness):
                    climate = (
                        from_means(given, given.means, count)
                        if source == "monthly"
                        else from_record(given, given)
                    )
                draws = stated_draws(
                    station.latitude_deg, climate, place.calendar, known, years_of(rest), "nothing",
                    draws=FEW_DRAWS,
                )  # fmt: skip
                held.append(covered(*interval(draws, 0.9)[:2]).mean())
                wider.append(covered(*interval(draws, 0.95)[:2]).mean())
                plain = without_uncertainty(climate)
                ratios.append(losses(plain, station.latitude_deg, place.calendar, known, place.members // 2))
                errors.append(
                    [np.log(np.array(kt) / rest.means) for kt in (given.means, climate.monthly_kt())]
                )
        own, combined = np.sqrt((np.array(errors) ** 2).mean(axis=(0, 2)))
        print(
            f"\n{source} of {count} years given, the others judged, {len(held)} cases: {summary(np.array(ratios))}"
        )
        print(f"  stated 90 % interval contains {percent(held)}, stated 95 % interval {percent(wider)}; RMS log of "
              f"monthly means {own:.3f} of these years, {combined:.3f} combined", flush=True)  # fmt: skip


def print_blanked(count, places):
    """Records without any day of some calendar months, those round the dullest and those round the brightest."""
    for words, away in (("dullest", 0), ("brightest", 6)):
        ratios, held, errors = [], [], []
        for place in places:
            station = place.station
            light = np.array(station.means) * monthly_extraterrestrial(station.latitude_deg)
            first = int(light.argmin()) + away - (count - 1) // 2
            months = np.arange(first, first + count) % 12
            given = replace(station, kt=np.where(np.isin(station.month, months), np.nan, station.kt))
            with constants(place.fit), atlas_means(place.clearness):
                climate = from_record(station, given)
            ratios.append(place.ratios(climate))
            held.append(covered(*place.stated(climate, place.cells, place.years, "nothing")[:2]))
            errors.append(np.log(climate.monthly_kt() / station.means)[months])
        print(
            f"\nrecord without {count} month(s) round the {words}: {summary(np.array(ratios))}; stated 90 % interval "
            f"contains {percent(held)}; these means off by {np.sqrt(np.mean(np.square(errors))):.3f} (RMS of log)",
            flush=True,
        )


def print_season(count, places):
    """A few months of a single year, those round the dullest and those round the brightest; other years judged."""
    for words, away in (("dullest", 0), ("brightest", 6)):
        ratios, held, errors = [], [], []
        for place in places:
            station, year = place.station, first_years(place.station, 1)[0]
            given, rest = part(station, year, year), without_years(station, year, year)
            if years_of(rest) < 4 or not np.isfinite(given.means).all():
                continue
            light = np.array(station.means) * monthly_extraterrestrial(station.latitude_deg)
            months = np.arange(count) + int(light.argmin()) + away - (count - 1) // 2
            given = replace(given, kt=np.where(np.isin(given.month, months % 12), given.kt, np.nan))
            known = cells_of(rest, place.calendar)
            with constants(place.fit), atlas_means(place.clearness):
                climate = from_record(given, given)
            draws = stated_draws(
                station.latitude_deg,
                climate,
                place.calendar,
                known,
                years_of(rest),
                "nothing",
                draws=FEW_DRAWS,
            )
            held.append(covered(*interval(draws)[:2]).mean())
            plain = without_uncertainty(climate)
            ratios.append(losses(plain, station.latitude_deg, place.calendar, known, place.members // 2))
            errors.append(np.log(climate.monthly_kt() / rest.means))
        print(
            f"\n{count} months of one year round the {words} given, the others judged, {len(held)} cases: "
            f"{summary(np.array(ratios))}; stated 90 % interval contains {percent(held)}; monthly means off by "
            f"{np.sqrt(np.mean(np.square(errors))):.3f} (RMS of log)",
            flush=True,
        )


def first_years(station, count):
    """First years of two parts of a station, near its beginning and from its middle; of one if they are long."""
    years = np.unique(station.dates.astype("datetime64[Y]").astype(int) + 1970)
    starts = (1, len(years) // 2) if count < max(FEW_YEARS) else (1,)
    return [years[min(start, len(years) - count)] for start in starts]


def without_years(station, first, last):
    """A station without some years."""
    years = station.dates.astype("datetime64[Y]").astype(int) + 1970
    outside = np.where((years >= first) & (years <= last), np.nan, station.kt)
    known = np.isfinite(outside) | (years < first) | (years > last)
    return type(station)(
        station.name, station.latitude_deg, station.longitude_deg, station.kt[known], station.month[known],
        station.dates[known],
    )  # fmt: skip


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    judge(sys.argv[1], *(int(word) for word in sys.argv[2:]))
