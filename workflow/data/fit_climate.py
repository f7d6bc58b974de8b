"""Print the constants of the climate room again, from a folder of measured daily sunshine.

    python workflow/data/fit_climate.py FOLDER

FOLDER holds one CSV a station with columns ``date, ghi_MJ_m2_d``. The files are not part of the project
(their terms differ); what is fitted on them are facts. Wageningen comes from the package pcse and three
typical years from pvlib; the persistence is not fitted on these four but tried on them.
"""

import sys
from pathlib import Path

import judge_climate
import numpy as np
import pandas as pd
from scipy.special import ndtr

from darkspell.climate.atlas import annual_irradiation, atlas_point, atlas_temperature
from darkspell.climate.extraterrestrial import daily_extraterrestrial, monthly_extraterrestrial
from darkspell.climate.model import PROBABILITIES
from darkspell.climate.persistence import fast_phi_of_record, lag_one, normal_scores, usual_lag_one
from darkspell.climate.shape import shift_to_mean
from darkspell.climate.typical_year import daily_clearness, monthly_means, smoothed_quantiles, temperatures
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.constants import constant

STATIONS = {
    "de_bilt_1980_2019": (52.10, 5.18), "graz_2000_2021": (47.08, 15.45),
    "swift_current_1967_2018": (50.27, -107.73), "la_estanzuela_1966_1992": (-34.33, -57.70),
    "hyderabad_1975_1999": (17.53, 78.27), "carrington_1990_2017": (47.51, -99.13),
    "lushnje_1961_1984": (40.94, 19.69), "tifton_1996_2021": (31.48, -83.53),
    "ona_1992_2009": (27.26, -82.55), "palmira_1966_1984": (3.48, -76.37),
    "kadoma_1977_1990": (-18.32, 29.88), "pergamino_1967_2007": (-33.93, -60.55),
}  # fmt: skip
TYPICAL = ("703165TY.csv", "723170TYA.CSV", "12839.tm2")
ENOUGH_DAYS = 25


def main(folder):
    """Print every fit."""
    stations = {name: read_station(Path(folder) / f"{name}.csv", *place) for name, place in STATIONS.items()}
    with np.printoptions(precision=3, suppress=True, linewidth=150):
        means(stations)
        lags(stations)
        years(stations)
        short_records(stations)
        warmth()
        judge_climate.judge({name: (STATIONS[name][0], kt) for name, kt in stations.items()}, atlas_shapes())


def read_station(path, latitude, longitude):
    """Daily clearness of a station; a pandas Series by day, NaN where the record is at fault."""
    table = pd.read_csv(path, parse_dates=["date"]).drop_duplicates("date").set_index("date")
    ghi = table["ghi_MJ_m2_d"].asfreq("D") / 3.6
    kt = ghi / daily_extraterrestrial(latitude, np.minimum(ghi.index.day_of_year.to_numpy(), 365))
    return kt.where((kt > 0.0) & (kt <= constant("climate", "highest_daily_kt")))


def atlas_shapes():
    """Corrected atlas quantiles of each station; {name: [12, Q]}."""
    return {name: atlas_point(*place).kt_quantiles for name, place in STATIONS.items()}


def by_month(kt):
    """Mean clearness of the twelve months over all years; [12]."""
    return kt.groupby(kt.index.month).mean().to_numpy()


def means(stations):
    """world_sd: corrected atlas against measured monthly means, and halves of a record against each other."""
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
        phi = (fast_phi_of_record(kt, weather.latitude), usual_lag_one(weather.latitude))
        print(
            f"{name}: latitude {weather.latitude:.1f}, fast_phi of the record and usual lag-1", np.array(phi)
        )


def solve(table, wanted):
    """Least squares."""
    return np.linalg.lstsq(table, wanted, rcond=None)[0]


def left_out(table, wanted):
    """Error at each station of the fit without it."""
    rows = np.arange(wanted.size)
    return np.array([wanted[i] - table[i] @ solve(table[rows != i], wanted[rows != i]) for i in rows])


def years(stations):
    """year_sd: variance of log monthly means, less a trend, beyond what the daily persistence makes."""
    print("\nYears: SD of log monthly clearness measured, made by persistence, excess variance")
    for name, kt in stations.items():
        z = normal_scores(kt.to_numpy(), kt.index.month.to_numpy())
        probability = ndtr(judge_climate.latent(lag_one(z), 2000, 90)[:, 60:])
        groups = kt.groupby([kt.index.year, kt.index.month])
        table = groups.mean().where(groups.count() >= ENOUGH_DAYS).unstack()
        measured, made = [], []
        for month in range(1, 13):
            log = np.log(table[month].dropna())
            rest = log - np.polyval(np.polyfit(log.index, log, 1), log.index)
            measured.append((rest**2).sum() / (len(rest) - 2))
            shape = quantiles_of(kt[kt.index.month == month].dropna())
            made.append(np.log(np.interp(probability, PROBABILITIES, shape).mean(axis=1)).var())
        print(
            f"{name[:14]:14s}", np.sqrt([np.mean(measured), np.mean(made)]), np.mean(measured) - np.mean(made)
        )


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
            singles.append(lag_one(normal_scores(one, judge_climate.MONTH_OF_DAY)))
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
