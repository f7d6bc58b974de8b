"""Print the fitted constants of the climate room again, each with its error at places left out.

    python workflow/data/fit_climate.py FOLDER

FOLDER holds one CSV per station with columns ``date, ghi_MJ_m2_d``, their locations, and in ``satellite/`` daily
satellite series; Wageningen comes from the package pcse, three typical years from pvlib. The data are not part of the
project (their terms differ); the coefficients fitted on them are facts. Every error is that at stations left out
together with all others within 800 km.
"""

import sys
from contextlib import contextmanager, nullcontext
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
from build_climatology import BLOCK, POWER, SSE, blended, block_means, power, sse
from stations import NEAR_KM, WAGENINGEN, distances, read_all, read_satellites, wageningen_days

from darkspell.climate.atlas import from_atlas
from darkspell.climate.atlas_grid import atlas_point, atlas_precipitation, atlas_temperature
from darkspell.climate.clear_sky import clear_sky_clearness
from darkspell.climate.distribution import shift_to_mean, textbook_quantiles
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.mean_clearness import bilinear_mean, blocks_round, climatology, mean_clearness
from darkspell.climate.persistence import LATER, normal_scores, windowed_autocorrelation
from darkspell.climate.temperature_defaults import daily_range
from darkspell.climate.typical_year import daily_clearness, monthly_means, temperatures
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import MONTH_LENGTHS
from darkspell.core.constants import constant
from darkspell.core.constants import table as constants_of
from darkspell.validation.typical_year import typical_days
from darkspell.weather.snow import expected_days

TYPICAL = ("703165TY.csv", "723170TYA.CSV", "12839.tm2")
LATER_FACTOR = 0.7
GROUND_WEIGHT = 1.5  # of a station over a satellite series
CROWDING = 0.7  # exponent of the number of neighbours that share a weight
ENOUGH_DAYS = 25
COL_DE_PORTE = SimpleNamespace(latitude_deg=45.295, longitude_deg=5.766, altitude_m=1325.0)


def main(folder):
    """Print every fit with its left-out error."""
    stations, satellites = read_all(folder), read_satellites(Path(folder) / "satellite")
    with np.printoptions(precision=3, suppress=True, linewidth=150):
        table = Table(stations, satellites, Seasons.of(stations, folder))
        print_fits(table)
        print_seasons(stations, table)
        ceilings(stations)
        years(stations)
        choice(stations)
        warmth()
        snow()


class Table:
    """Statistics of all places by month, and the fits that leave places out.

    Parameters
    ----------
    stations, satellites : list of stations.Station
    seasons : Seasons, optional
    """

    def __init__(self, stations, satellites=(), seasons=None):
        self.seasons = seasons
        places = [*stations, *satellites]
        self.near = distances(places) <= NEAR_KM
        self.ground = np.arange(len(places)) < len(stations)
        crowd = self.near.sum(axis=1) ** CROWDING
        self.weight = np.where(self.ground, GROUND_WEIGHT, 1.0) / crowd
        rows = [_statistics(place) for place in places]
        (
            self.kt,
            self.sd,
            self.lag_one,
            self.later,
            self.atlas_sd,
            self.curve_sd,
            self.temp_air,
            self.blend,
        ) = (np.array(column) for column in zip(*rows, strict=True))
        self.terms = np.array([_terms(p.latitude_deg, kt) for p, kt in zip(places, self.kt, strict=True)])

    def persistence(self, kept):
        """lag_one and later, fitted on the places kept (bool array)."""
        lag_one = self._solve(self.terms, self.lag_one, kept)
        level, seasons = self._solve(self.terms[..., [0, 3]], self.later, kept)
        return lag_one, LATER_FACTOR * np.array([level, 0.0, 0.0, seasons])

    def width_over_atlas(self, kept):
        """Mean logarithm of the measured SD over that of the atlas, fitted on the stations kept."""
        kept = kept & self.ground
        return float(
            np.average(np.log(self.sd / self.atlas_sd)[kept].mean(axis=1), weights=self.weight[kept])
        )

    def ground_over_satellite(self, kept):
        """Median of measured over blended mean clearness, on the stations kept."""
        logs = np.log(self.kt / self.blend)[kept & self.ground].mean(axis=1)
        return float(np.exp(np.median(logs)) * constant("climate", "ground_over_satellite"))

    def constants(self, kept):
        """All constants that change with the places left out; dict by name."""
        lag_one, later = self.persistence(kept)
        return {
            "lag_one": lag_one.tolist(),
            "later": later.tolist(),
            "width_over_atlas": self.width_over_atlas(kept),
            "ground_over_satellite": self.ground_over_satellite(kept),
        }

    def width_by_temperature(self, kept):
        """Base and slope of the SD over that of the published curve on temperature, where no cell is near."""
        terms = np.stack([np.ones_like(self.temp_air), self.temp_air], axis=-1)
        return self._solve(terms, np.log(self.sd / self.curve_sd), self.ground & kept)

    def without(self, at):
        """Places kept when place `at` and all near it are left out; bool array."""
        return ~self.near[at]

    def _solve(self, terms, values, kept):
        known = kept[:, None] & np.isfinite(values)
        weight = np.sqrt(np.broadcast_to(self.weight[:, None], values.shape)[known])
        return np.linalg.lstsq(terms[known] * weight[:, None], values[known] * weight, rcond=None)[0]


def _statistics(place):
    scores = normal_scores(place.kt, place.month)
    autocorrelation = windowed_autocorrelation(scores, place.month)
    kt = np.array(place.means)
    ceiling = np.full(12, 0.82)
    location = place.latitude_deg, place.longitude_deg
    point, temp_air = atlas_point(*location), atlas_temperature(*location)
    atlas_sd = (
        np.full(12, np.nan) if point is None else shift_to_mean(point.kt_quantiles, kt, ceiling).std(axis=1)
    )
    atlas_sd = 0.25 * np.roll(atlas_sd, 1) + 0.5 * atlas_sd + 0.25 * np.roll(atlas_sd, -1)
    curve_sd = shift_to_mean(textbook_quantiles(kt), kt, ceiling).std(axis=1)
    sd = np.array([np.nanstd(place.kt[place.month == month]) for month in range(12)])
    later = autocorrelation[:, LATER[0] - 1 : LATER[-1]].mean(axis=1)
    return kt, sd, autocorrelation[:, 0], later, atlas_sd, curve_sd, temp_air, mean_clearness(*location).kt


def _terms(latitude, kt):
    centre, width = constant("climate", "persistence_belt")
    season = (np.roll(kt, 1) + kt + np.roll(kt, -1)) / 3.0
    belt = np.exp(-(((abs(latitude) - centre) / width) ** 2))
    return np.column_stack([np.ones(12), season, np.full(12, belt), np.full(12, kt.std())])


def print_fits(table):
    """Constants fitted on all places, and their errors at places left out."""
    every = np.ones(len(table.kt), bool)
    print("fitted on all:", {name: np.round(value, 3) for name, value in table.constants(every).items()})
    lag, later, width, level = [], [], [], []
    for at in range(len(table.kt)):
        fit = table.constants(table.without(at))
        lag.append(table.lag_one[at] - table.terms[at] @ fit["lag_one"])
        later.append(table.later[at] - table.terms[at] @ fit["later"] / LATER_FACTOR)
        width.append(np.log(table.sd[at] / table.atlas_sd[at]) - fit["width_over_atlas"])
        changed = fit["ground_over_satellite"] / constant("climate", "ground_over_satellite")
        level.append(np.log(table.blend[at] * changed / table.kt[at]))
    for name, errors in (("lag_one", lag), ("later", later)):
        for kind, chosen in (("stations", table.ground), ("satellites", ~table.ground)):
            if chosen.any():
                error = weighted_rms(np.array(errors)[chosen], table.weight[chosen])
                print(f"{name} at {kind}, left out: RMS {error:.3f}")
    ground, weight = table.ground, table.weight[table.ground]
    width, level = np.array(width)[ground], np.array(level)[ground]
    print(f"log SD over atlas, left out: months {weighted_rms(width, weight):.3f}, "
          f"stations {weighted_rms(width.mean(axis=1, keepdims=True), weight):.3f}")  # fmt: skip
    print(f"log blend over measured, left out: months {rms(level):.4f}, years {rms(level.mean(axis=1)):.4f}, "
          f"within the year {rms(level - level.mean(axis=1, keepdims=True)):.4f}")  # fmt: skip
    print("width_by_temperature:", table.width_by_temperature(every))


class Seasons:
    """Seasons of the blend of climatologies, fitted on the stations that are kept.

    Parameters
    ----------
    stations : list of stations.Station
    sources : pair of float64 arrays [180, 360, 12]
        GHI of POWER and of SSE [kWh/m2/day].
    """

    def __init__(self, stations, sources):
        self.sources = sources
        extra = np.array([monthly_extraterrestrial(latitude) for latitude in np.arange(-89.5, 90.0)])
        with np.errstate(all="ignore"):
            blocks = [block_means(ghi / extra[:, None, :]) for ghi in sources]
        self.rows = np.array([_season_rows(station, blocks) for station in stations])

    @classmethod
    def of(cls, stations, folder):
        """From the two files in ``climate/`` of a folder; None without them."""
        folder = Path(folder) / "climate"
        return cls(stations, (power(folder / POWER), sse(folder / SSE))) if folder.is_dir() else None

    def fit(self, kept):
        """Weight of POWER and depth by least squares on the stations kept (bool array); float64 [2]."""
        rows = self.rows[kept[: len(self.rows)]].reshape(-1, 3)
        return np.linalg.lstsq(rows[:, :2], rows[:, 2], rcond=None)[0]

    def clearness(self, kept):
        """Field of the blend with the seasons that the stations kept choose."""
        return block_means(blended(*self.sources, *self.fit(kept))[0])


def _season_rows(station, blocks):
    """Log POWER over SSE, log GHI, and log measured over SSE, each about its mean of the year; [12, 3]."""
    location = station.latitude_deg, station.longitude_deg
    first, second = (np.log(bilinear_mean(kt, *blocks_round(*location, BLOCK))) for kt in blocks)
    light = second + np.log(monthly_extraterrestrial(station.latitude_deg))
    rows = np.column_stack([first - second, light, np.log(station.means) - second])
    return rows - rows.mean(axis=0)


def print_seasons(stations, table):
    """SEASON_WEIGHT and SEASON_DEPTH of build_climatology.py, and the error of the atlas with both left out."""
    if table.seasons is None:
        return
    rows, fit = table.seasons.rows, table.seasons.fit
    left_out = np.array([fit(table.without(at)) for at in range(len(rows))])
    errors = rows[:, :, 2] - np.einsum("smk,sk->sm", rows[:, :, :2], left_out)
    print(f"weight of POWER and depth of the seasons: {fit(np.full(len(rows), True))}; with regions left out "
          f"{left_out.min(axis=0)} to {left_out.max(axis=0)}, RMS within the year {rms(errors):.4f}; "
          f"with POWER alone {rms(rows[:, :, 2] - rows[:, :, 0]):.4f}")  # fmt: skip
    for at, station in enumerate(stations):
        kept = table.without(at)
        with atlas_means(table.seasons.clearness(kept)):
            kt = mean_clearness(station.latitude_deg, station.longitude_deg).kt
        changed = table.ground_over_satellite(kept) / constant("climate", "ground_over_satellite")
        errors[at] = np.log(kt * changed / np.array(station.means))
    print(f"log blend over measured, level and seasons left out: months {rms(errors):.4f}, "
          f"years {rms(errors.mean(axis=1)):.4f}, "
          f"within the year {rms(errors - errors.mean(axis=1, keepdims=True)):.4f}")  # fmt: skip


def atlas_means(clearness):
    """Monthly means of the atlas replaced for a while; those of the file if `clearness` is None."""
    return nullcontext() if clearness is None else _replaced(clearness)


@contextmanager
def _replaced(clearness):
    field = climatology()
    before = field["clearness"]
    field["clearness"] = clearness
    try:
        yield
    finally:
        field["clearness"] = before


def ceilings(stations):
    """ceiling.over_clear: 99.5 % quantile of a month over the clear sky."""
    ratios = []
    for station in stations:
        temp_air = atlas_temperature(station.latitude_deg, station.longitude_deg)
        swing = daily_range(np.array(station.means))
        clear = clear_sky_clearness(station.latitude_deg, station.altitude_m, temp_air, swing)
        top = [np.nanquantile(station.kt[station.month == month], 0.995) for month in range(12)]
        ratios.append(top / clear)
    print(f"99.5 % quantile over clear sky: mean {np.mean(ratios):.3f}, SD {np.std(ratios):.3f}")


def years(stations):
    """one_year_sd: SD of log clearness between years, detrended, of the year and of the months less the year."""
    rows = []
    for station in stations:
        days = pd.Series(station.kt, pd.DatetimeIndex(station.dates))
        groups = days.groupby([days.index.year, days.index.month])
        table = groups.mean().where(groups.count() >= ENOUGH_DAYS).unstack()
        months = [_about_trend(table[month]) for month in range(1, 13)]
        rows.append([np.sqrt(np.mean(months)), np.sqrt(_about_trend(table.mean(axis=1, skipna=False)))])
    print("SD between years, RMS over stations: months, years", np.sqrt(np.mean(np.square(rows), axis=0)))


def _about_trend(values):
    """Variance of the logarithm about its straight line over the years."""
    log = np.log(values.dropna())
    return ((log - np.polyval(np.polyfit(log.index, log, 1), log.index)) ** 2).sum() / (len(log) - 2)


def choice(stations):
    """month_choice: means of the months that make a typical year, against those of all years."""
    logs = []
    for station in stations:
        days, _ = typical_days(station.dates, station.kt)
        logs.append(np.log(monthly_means(days) / np.array(station.means)))
    print("typical years of the stations' own months: RMS log of monthly means", rms(logs), "of the year's",
          rms(np.mean(logs, axis=1)))  # fmt: skip


def snow():
    """wet_days; snow.per_kt, per_sd: chance of 1 mm of precipitation, by maximum likelihood at Wageningen."""
    from scipy.optimize import minimize

    days, dry_below = wageningen_days(), constant("weather", "snow", "dry_below")
    by = days.groupby(days.index.month)["temp"]
    days["cold"] = (days["temp"] - by.transform("mean").clip(upper=dry_below)) / by.transform("std")
    winter = days[days.index.month.isin([11, 12, 1, 2, 3]) & days["kt"].notna()]
    most, wet = constant("weather", "snow", "most_sd"), np.where(winter["rain"] >= 1.0, 1.0, -1.0)
    frost, years_ = (winter["temp"] < 0.0).to_numpy(), len(days) / 365.0
    table = np.column_stack([np.ones(len(wet)), winter["kt"], winter["cold"].clip(-most, 0.0)])
    fit = minimize(lambda b: np.logaddexp(0.0, -wet * (table @ b)).sum(), np.zeros(3))
    made = (1.0 / (1.0 + np.exp(-table @ fit.x)))[frost].sum() / years_
    print(f"precipitation at Wageningen: base, per_kt, per_sd {fit.x}; on days of frost {made:.1f} a year, measured "
          f"{(wet[frost] > 0).sum() / years_:.1f}; log likelihood {-fit.fun:.1f}")  # fmt: skip
    months = [10, 11, 0, 1, 2]
    share = (days["rain"] >= 1.0).groupby(days.index.month).mean().to_numpy()[months]
    exponent = constant("climate", "wet_days")[1]
    usual = (atlas_precipitation(*WAGENINGEN)[months] ** exponent).sum()
    print(
        f"wet_days: factor {(share * MONTH_LENGTHS[months]).sum() / usual:.2f} with the exponent {exponent}"
    )
    entry = constants_of("weather")["snow"]["per_sd"]
    plain, high = entry["value"]
    for words, pair in (("both slopes", [plain, high]), ("its own slope left out", [plain, plain])):
        entry["value"] = pair
        days = expected_days(from_atlas(COL_DE_PORTE))
        print(f"snow days at Col de Porte, {words}: {days:.0f}, measured 50")
    entry["value"] = [plain, high]


def warmth():
    """temp_sd_* and hargreaves: typical years of pvlib."""
    rows, sd, root, clear = [], [], [], []
    for name in TYPICAL:
        weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
        mean, swing, spread = temperatures(weather)
        rows += [(1.0, np.ptp(mean), mean.mean() - value) for value in mean]
        sd += list(spread)
        root += list(np.sqrt(swing))
        clear += list(monthly_means(daily_clearness(Path(name), weather, [])))
    fit = np.linalg.lstsq(np.array(rows), np.array(sd), rcond=None)[0]
    print("temp_sd: base, per swing, per cold", fit, "rest", rms(np.array(sd) - np.array(rows) @ fit))
    print("kt / sqrt(range): mean", np.mean(np.array(clear) / root), "SD", np.std(np.array(clear) / root))


def weighted_rms(errors, weight):
    """Root of the weighted mean square over places; errors [places, months]."""
    square = np.nanmean(np.square(errors), axis=1)
    return float(np.sqrt(np.average(square, weights=weight)))


def rms(values):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
