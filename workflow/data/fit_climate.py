"""Print the constants of the climate room again, from a folder of measured daily sunshine.

    python workflow/data/fit_climate.py FOLDER

FOLDER holds one CSV a station with columns ``date, ghi_MJ_m2_d``. The files are not part of the project
(their terms differ); what is fitted on them are facts. Wageningen comes from the package pcse and three
typical years from pvlib; the persistence is not fitted on these four but tried on them.
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd
from fit_doubt import doubts, rare
from fit_weight import weights
from judge_climate import climates
from stations import STATIONS, read_all, wageningen_days

from darkspell.climate.atlas import annual_irradiation, atlas_point, atlas_temperature
from darkspell.climate.distribution import shift_to_mean, typical_quantiles
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.from_record import from_record
from darkspell.climate.persistence import lag_one, normal_scores, windowed_autocorrelation
from darkspell.climate.site_climate import PROBABILITIES
from darkspell.climate.typical_year import daily_clearness, monthly_means, smoothed_quantiles, temperatures
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.validation.judge import without_uncertainty
from darkspell.validation.typical_year import typical_days
from darkspell.weather.daily_clearness import daily_clearness as synthetic_clearness

TYPICAL = ("703165TY.csv", "723170TYA.CSV", "12839.tm2")
ENOUGH_DAYS = 25
MONTH_OF_DAY = Calendar(start_month=1).month_of_day


def main(folder):
    """Print every fit, and how the stations left out judge them."""
    records = {station.name: station for station in read_all(folder)}
    stations = {name: pd.Series(records[name].kt, pd.DatetimeIndex(records[name].dates)) for name in STATIONS}
    with np.printoptions(precision=3, suppress=True, linewidth=150):
        means(stations)
        lags(stations)
        seasons(records)
        years(records)
        choice(records)
        widths(records)
        short_records(stations)
        warmth()
        snow()
        weights(list(records.values()))
        doubts(list(records.values()))
        rare(list(records.values()))


def atlas_shapes():
    """Corrected atlas quantiles of each station; {name: [12, Q]}."""
    return {name: atlas_point(*place).kt_quantiles for name, place in STATIONS.items()}


def by_month(kt):
    """Mean clearness of the twelve months over all years; [12]."""
    return kt.groupby(kt.index.month).mean().to_numpy()


def means(stations):
    """annual_mean_sd: corrected atlas against measured monthly means, and halves of a record against each other."""
    print(
        "\nMeans: annual GHI atlas raw, annual field, corrected / measured; log ratios of monthly clearness"
    )
    logs, halves = [], []
    for name, kt in stations.items():
        latitude, longitude = STATIONS[name]
        point, extra, measured = (
            atlas_point(latitude, longitude),
            monthly_extraterrestrial(latitude),
            by_month(kt),
        )
        annual = (measured * extra).mean()
        corrected = point.kt_quantiles.mean(axis=1)
        log = np.log(corrected / measured)
        logs.append(log)
        now = (corrected * extra).mean() / annual
        field = annual_irradiation(latitude, longitude) / annual
        dark = np.argsort(extra)[:4]
        dull = np.mean([(q < 0.3).mean() for q in point.kt_quantiles[dark]])
        true = (kt[np.isin(kt.index.month, dark + 1)].dropna() < 0.3).mean()
        print(f"{name[:14]:14s} {now / point.correction:.2f} {field:.2f} {now:.2f}", log)
        print(f"    P(kt<.3) in the four darkest months {dull:.2f}, measured {true:.2f}")
        first, second = np.array_split(np.unique(kt.index.year), 2)
        halves.append(
            np.log(by_month(kt[kt.index.year <= first[-1]]) / by_month(kt[kt.index.year > first[-1]]))
        )
    logs, halves = np.array(logs), np.array(halves)
    print(
        "RMS of log ratio",
        rms(logs),
        "of its mean over the year",
        rms(logs.mean(axis=1)),
        "mean",
        logs.mean(),
    )
    print("half a record against the other: SD of one, by month", rms(halves) / np.sqrt(2.0),
          "of the year's mean", rms(halves.mean(axis=1)) / np.sqrt(2.0))  # fmt: skip


def lags(stations):
    """lag_one_*: least squares of the lag-1 autocorrelation, judged leaving one station out."""
    print("\nPersistence: normal-score autocorrelation by lag 1 2 3 5 10 20")
    centre, width = constant("climate", "lag_one_belt")
    own = []
    for name, kt in stations.items():
        z = normal_scores(kt.to_numpy(), kt.index.month.to_numpy())
        own.append(lag_one(z))
        print(f"{name[:14]:14s}", np.array([np.nanmean(z[lag:] * z[:-lag]) for lag in (1, 2, 3, 5, 10, 20)]))
    own, latitude = np.array(own), np.abs([place[0] for place in STATIONS.values()])
    belt = np.column_stack([np.ones(own.size), np.exp(-(((latitude - centre) / width) ** 2))])
    for label, table in (("one value", belt[:, :1]), ("belt", belt)):
        print(f"{label}: coefficients", solve(table, own), "error leaving one out", rms(left_out(table, own)))
    for name in TYPICAL:
        weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
        kt = daily_clearness(Path(name), weather, [])
        own = lag_one(normal_scores(kt, MONTH_OF_DAY))
        print(f"{name}: latitude {weather.latitude:.1f}, lag-1 of the record", round(own, 3))


def seasons(records):
    """fast_phi, slow_weight by month, and whether the usual lag-1 gains by a wave of the year."""
    print("\nSeasons: autocorrelation round January, April, July, October, and the fitted parts by month")
    centre, width = constant("climate", "lag_one_belt")
    own, terms = [], []
    for name, record in records.items():
        acf = windowed_autocorrelation(normal_scores(record.kt, record.month), record.month)
        climate = from_record(record, record)
        print(f"{name[:14]:14s}", acf[::3][:, [0, 1, 2, 4, 8, 11]].round(2).tolist())
        print("    fast_phi", climate.fast_phi, "slow_weight", climate.slow_weight)
        own.append(np.roll(acf[:, 0], 0 if record.latitude_deg >= 0 else 6))  # from midwinter
        belt = np.exp(-(((abs(record.latitude_deg) - centre) / width) ** 2))
        year = 2.0 * np.pi * np.arange(12) / 12.0
        waves = [np.cos(year), np.sin(year), np.cos(2.0 * year), np.sin(2.0 * year)]
        terms.append(np.column_stack([np.ones(12), np.full(12, belt), *waves]))
    own, terms = np.array(own), np.array(terms)
    for label, count in (("none", 2), ("of the year", 4), ("of half the year", 6)):
        errors = []
        for out in range(len(own)):
            others = np.delete(terms[..., :count], out, axis=0).reshape(-1, count)
            fit = solve(others, np.delete(own, out, axis=0).ravel())
            errors.append(own[out] - terms[out, :, :count] @ fit)
        print(f"lag-1 by month, waves {label}: error leaving one out {rms(errors):.4f}")


def widths(records):
    """width_base, width_belt, width_sd: SD of daily clearness over that of the model at the measured means."""
    print("\nWidths: log of measured SD over that of the usual shape, by month")
    dark = []
    for name, record in records.items():
        latitude = record.latitude_deg
        atlas = atlas_point(latitude, record.longitude_deg).kt_quantiles
        usual = typical_quantiles(atlas, np.array(record.means), latitude).std(axis=1)
        own = np.array([np.nanstd(record.kt[record.month == month]) for month in range(12)])
        log = np.log(own / usual)
        dark.append(log[np.argsort(monthly_extraterrestrial(latitude))[:4]].mean())
        print(f"{name[:14]:14s}", log)
    print("four darkest months: mean", np.mean(dark), "SD over stations", np.std(dark, ddof=1))


def solve(table, wanted):
    """Least squares."""
    return np.linalg.lstsq(table, wanted, rcond=None)[0]


def left_out(table, wanted):
    """Error at each station of the fit without it."""
    rows = np.arange(wanted.size)
    return np.array([wanted[i] - table[i] @ solve(table[rows != i], wanted[rows != i]) for i in rows])


def years(records):
    """interannual_sd: SD of log clearness between years, detrended, and what daily persistence makes of it."""
    print(
        "\nYears: SD of log clearness of a month, and of the year as a whole: measured, fitted, usual persistence"
    )
    rows = []
    for name, record in records.items():
        days = pd.Series(record.kt, pd.DatetimeIndex(record.dates))
        groups = days.groupby([days.index.year, days.index.month])
        table = groups.mean().where(groups.count() >= ENOUGH_DAYS).unstack()
        told = [np.sqrt(np.mean([_about_trend(table[month]) for month in range(1, 13)]))]
        told.append(np.sqrt(_about_trend(table.mean(axis=1, skipna=False))))
        for source in ("fitted", "monthly"):
            members, climate = np.arange(1000), without_uncertainty(climates(record)[source])
            drawn = synthetic_clearness(climate, Calendar(1), members, members, 3)
            months = np.array([drawn[:, MONTH_OF_DAY == month].mean(axis=1) for month in range(12)])
            told += [np.sqrt(np.log(months).var(axis=1).mean()), np.log(months.mean(axis=0)).std()]
        rows.append(np.array(told)[[0, 2, 4, 1, 3, 5]])
        print(f"{name[:14]:14s}", rows[-1])
    print("RMS over stations", np.sqrt(np.mean(np.square(rows), axis=0)))


def _about_trend(values):
    """Variance of the logarithm about its straight line over the years."""
    log = np.log(values.dropna())
    return ((log - np.polyval(np.polyfit(log.index, log, 1), log.index)) ** 2).sum() / (len(log) - 2)


def choice(records):
    """month_choice: means of the months that make a typical year, against those of all years."""
    logs = []
    for record in records.values():
        days, _ = typical_days(record.dates, record.kt)
        logs.append(np.log(monthly_means(days) / np.array(record.means)))
    print("\nTypical years of the records' own months: RMS log of the months' means", rms(logs), "of the year's",
          rms(np.mean(logs, axis=1)))  # fmt: skip


def short_records(stations):
    """atlas_share_of_shape, lag_one_short_record and _trust: what one year tells of the long record."""
    print("\nOne year: lag-1 of the record, mean and SD of single years")
    shapes, errors = atlas_shapes(), {share: [] for share in (0.0, 0.33, 0.5, 0.67, 1.0)}
    for name, kt in stations.items():
        month = kt.index.month.to_numpy()
        singles, centre = [], by_month(kt)
        true = np.array([quantiles_of(kt[month == m].dropna()) for m in range(1, 13)])
        for year in np.unique(kt.index.year)[::2]:
            one = kt[(kt.index.year == year) & ~((month == 2) & (kt.index.day == 29))].to_numpy()
            if len(one) < 365 or np.isfinite(one).sum() < 350:
                continue
            singles.append(lag_one(normal_scores(one, MONTH_OF_DAY)))
            own = shift_to_mean(smoothed_quantiles(one, monthly_means(one)), centre)
            atlas = shift_to_mean(shapes[name], centre)
            for share, found in errors.items():
                found.append(np.abs(share * atlas + (1.0 - share) * own - true)[:, :15].mean())
        print(
            f"{name[:14]:14s}",
            lag_one(normal_scores(kt.to_numpy(), month)),
            np.mean(singles),
            np.std(singles),
        )
    print("mean error of the dullest 30 % by share of the atlas:")
    print({share: round(float(np.mean(found)), 4) for share, found in errors.items()})


def snow():
    """snow.base, per_kt, per_sd of the sky room: whether it rains or snows 1 mm, by maximum likelihood."""
    from scipy.optimize import minimize

    days = wageningen_days()
    by = days.groupby(days.index.month)["temp"]
    days["apart"] = (days["temp"] - by.transform("mean")) / by.transform("std")
    winter = days[days.index.month.isin([11, 12, 1, 2, 3]) & days["kt"].notna()]
    most, wet = constant("weather", "snow", "most_sd"), np.where(winter["rain"] >= 1.0, 1.0, -1.0)
    frost, years_ = (winter["temp"] < 0.0).to_numpy(), len(days) / 365.0
    print("\nRain or snow of 1 mm or more at Wageningen, November to March: base, per_kt, per_sd")
    for label, ends in (("below the usual alone", (-most, 0.0)), ("one straight line", (-most, most))):
        table = np.column_stack([np.ones(len(wet)), winter["kt"], winter["apart"].clip(*ends)])
        found = minimize(lambda b, t=table: np.logaddexp(0.0, -wet * (t @ b)).sum(), np.zeros(3))
        made = (1.0 / (1.0 + np.exp(-table @ found.x)))[frost].sum() / years_
        print(f"{label}: {found.x}, log likelihood {-found.fun:.1f}; on days of frost {made:.1f} a year, measured "
              f"{(wet[frost] > 0).sum() / years_:.1f}")  # fmt: skip


def warmth():
    """temp_sd_* and hargreaves: typical years of pvlib."""
    print("\nTemperature: SD of daily means by swing of the year and by cold of the month; sqrt(range)")
    rows, sd, root, clear = [], [], [], []
    for name in TYPICAL:
        weather = read_weather_file(find_weather_file(f"pvlib:{name}"))
        mean, swing, spread = temperatures(weather)
        print(name, "file - atlas", mean - atlas_temperature(weather.latitude, weather.longitude))
        rows += [(1.0, np.ptp(mean), mean.mean() - value) for value in mean]
        sd += list(spread)
        root += list(np.sqrt(swing))
        clear += list(monthly_means(daily_clearness(Path(name), weather, [])))
    found = solve(np.array(rows), np.array(sd))
    print("base, per swing, per cold", found, "rest", rms(np.array(sd) - np.array(rows) @ found))
    print("kt / sqrt(range): mean", np.mean(np.array(clear) / root), "SD", np.std(np.array(clear) / root))


def quantiles_of(days):
    """Quantiles at our probabilities; [Q]."""
    return np.quantile(days, PROBABILITIES, method="hazen")


def rms(values):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
