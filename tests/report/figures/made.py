"""Small hand-made tables of a study, the shape of what the pipeline leaves behind."""

import json

import numpy as np
import pandas as pd
import xarray as xr

from darkspell.core.calendar import Calendar
from darkspell.study.loader import study_from

STUDY = {
    "document": {"title": "A test", "client": "Nobody", "prepared_by": "Nobody"},
    "site": {"name": "Somewhere (invented)", "latitude_deg": 50.0, "longitude_deg": 8.0},
    "climate": {"source": "monthly", "clearness_index": [0.4] * 12, "temp_air_c": [8.0] * 12},
    "system": {"nominal_voltage_v": 12},
    "arrays": {"roof": {"power_wp": 200, "tilt_deg": 45, "azimuth_deg": 180}},
    "controller": {"kind": "mppt"},
    "bank": {"chemistry": "agm", "capacity_ah": 100},
    "loads": {"lamp": {"watts": 10, "hours_per_day": 4, "tier": "essential"}},
    "target": {"statistic": "short_nights", "at_most": 1},
    "sizing": {"array_wp": [100, 200, 300], "bank_ah": [100, 200], "prices": {"array_per_wp": 1, "bank_per_ah": 3}},
}  # fmt: skip
PERCENTS = (5, 10, 25, 50, 75, 90, 95)


def a_study(**sections):
    """The study above, with sections changed."""
    return study_from(STUDY | sections)


def winter(calendar):
    """1 in the darkest month of the hemisphere, 0 in the brightest, by calendar month; [12]."""
    darkest = 11 if calendar.start_month == 7 else 5
    return (1 + np.cos(2 * np.pi * (np.arange(12) - darkest) / 12)) / 2


def months(calendar, unserved=0.0, n=200):
    """months.csv: deepest, and most unserved, in the darkest month."""
    rows = []
    for month in calendar.month_order:
        dark = winter(calendar)[month]
        loss = unserved * dark**4
        values = {
            "eue_essential_kwh": (loss, 0.5 * loss, 1.6 * loss + 0.003, 0, 0, 2 * loss),
            "max_depth_true_pct": _around(15 + 45 * dark),
            "max_depth_reported_pct": _around(14 + 42 * dark),
            "dawn_soc_true_pct": _around(90 - 36 * dark),
            "dawn_soc_reported_pct": _around(91 - 30 * dark),
            "array_kwh": _around(10.0),
            "spilled_kwh": _around(20.0 * (1 - dark)),
            "demand_kwh": _around(12.0),
            "eue_kwh": _around(2.0 * loss),
        }
        rows += [(month + 1, name, "%", *numbers, n) for name, numbers in values.items()]
    names = ["month", "statistic", "unit", "mean", "place_low", "place_high", "p10", "p50", "p90", "n"]
    return pd.DataFrame(rows, columns=names).assign(value=lambda table: table["mean"])


def _around(value):
    return value, value - 1, value + 1, 0.7 * value, value, min(100.0, 1.2 * value)


def autonomy(calendar, lasts_dark=5, falls=0.004):
    """autonomy.csv: dark, a sharp fall; with sun, a slow one in the dark half of the year."""
    days, rows = np.arange(1, 61), []
    for month in range(1, 13):
        sun = np.clip(1 - falls * winter(calendar)[month - 1] * days, 0, 1)
        dark = (days <= lasts_dark + (month % 2)).astype(float)
        for kind, share in (("dark", dark), ("with_sun", sun)):
            bounds = np.clip(share - 0.01, 0, 1), np.clip(share + 0.01, 0, 1)
            rows += [(month, kind, *row, 200) for row in zip(days, share, *bounds, strict=True)]
    return pd.DataFrame(rows, columns=["start_month", "kind", "days", "probability", "low", "high", "n"])


def sizing(study, scale=4e4):
    """sizing.csv: the statistic falls with array and bank."""
    from darkspell.design.grid_costs import priced

    name = study.target.statistic
    grid = [(a, b, scale / (a * b)) for a in study.sizing.array_wp for b in study.sizing.bank_ah]
    table = pd.DataFrame(grid, columns=["array_wp", "bank_ah", name])
    table[f"{name}_low"], table[f"{name}_high"] = 0.7 * table[name], 1.4 * table[name]
    table["probability_met"] = (table[name] <= study.target.at_most).astype(float)
    return priced(table, study)


def whatifs(changes):
    """whatifs.csv: name to difference with bounds."""
    rows = []
    for name, (difference, low, high) in changes.items():
        verdict = "not told apart" if low <= 0 <= high else "real"
        for statistic, unit in (("short_nights", "nights/year"), ("lolh", "h/year"),
                                ("eue_kwh", "kWh/year"), ("max_depth_true_pct", "%")):  # fmt: skip
            rows.append((name, "{}", statistic, unit, 3.0, 3 + difference, difference, low, high, verdict))
    names = [
        "whatif",
        "changes",
        "statistic",
        "unit",
        "study_value",
        "whatif_value",
        "difference",
        "low",
        "high",
    ]
    return pd.DataFrame(rows, columns=[*names, "verdict"])


def monitors(study):
    """monitors.csv with one row that the figures read, a monitor."""
    rows = [
        (name, one.kind, "reading_error_p95_pct", "%", 4 + 3 * k, 3.5 + 3 * k, 4.5 + 3 * k, 2.0 + 3 * k, 7.0 + 3 * k)
        for k, (name, one) in enumerate(study.monitors.items())
    ]  # fmt: skip
    names = ["monitor", "kind", "statistic", "unit", "mean", "mean_low", "mean_high", "year_low", "year_high"]
    return pd.DataFrame(rows, columns=names)


def hourly(calendar, spread=20.0):
    """hourly.nc: the median falls to 54 % in the darkest month, one in ten `spread` below it, read 6 high."""
    dark = winter(calendar)[calendar.month_of_hour][:, None]
    offsets = np.array([-1.2, -1, -0.5, 0, 0.4, 0.7, 0.8]) * spread
    true = np.clip(90 - 36 * dark + offsets * dark, 0, 100)
    dims = ("time", "percentile")
    values = {"soc_true": (dims, true), "soc_reported": (dims, np.clip(true + 6 * dark, 0, 100))}
    return xr.Dataset(values, coords={"time": np.arange(8760), "percentile": list(PERCENTS)})


def lay_out(folder, study, *, loss=0.5, n=200, changes=None, scale=4e4, falls=0.004, spread=20.0):
    """Write the tables of a study into a folder; returns the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    calendar = Calendar(study.site.start_month)
    changes = {"bigger_bank": (-2.0, -2.6, -1.5), "no_lamp": (0.1, -0.2, 0.4)} if changes is None else changes
    months(calendar, loss, n).to_csv(folder / "months.csv", index=False)
    draws = pd.DataFrame({"member": np.arange(n), "parameter_draw": np.arange(n) % 10, "short_nights": 0})
    draws.to_csv(folder / "members.csv", index=False)
    autonomy(calendar, falls=falls).to_csv(folder / "autonomy.csv", index=False)
    sizing(study, scale).to_csv(folder / "sizing.csv", index=False)
    whatifs(changes).to_csv(folder / "whatifs.csv", index=False)
    monitors(study).to_csv(folder / "monitors.csv", index=False)
    hourly(calendar, spread).to_netcdf(folder / "hourly.nc")
    own = {"value": 3.0, "place_low": 2.4, "place_high": 3.7}
    names = ("short_nights", "lolp", "lolh", "eue_kwh")
    (folder / "summary.json").write_text(json.dumps(dict.fromkeys(names, own)), encoding="utf-8")
    return folder
