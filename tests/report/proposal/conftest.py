"""Results of an invented study, small and made by hand, to be bent by the tests."""

import json

import numpy as np
import pandas as pd
import pytest

from darkspell.climate import site_climate
from darkspell.report.results import Results
from darkspell.study import study_from
from study.example import spoilt

WORLDS = 10


@pytest.fixture(scope="session")
def make_results(tmp_path_factory):
    """Function of nights by member, changes of the study, and whether there are what-ifs or a design."""
    folder = tmp_path_factory.mktemp("figures")
    climates = {}

    def make(nights, changes=None, whatifs=True, meeting=True, text="study: {}\n"):
        study = study_from(spoilt(changes or {}), folder / "invented.yaml")
        key = json.dumps(study.resolved()["site"])
        if key not in climates:
            climates[key] = site_climate(study, folder)
        nights = np.asarray(nights)
        return Results(
            study,
            climates[key],
            text,
            members=_members(nights),
            months=_months(nights),
            autonomy=_autonomy(),
            sizing=_sizing(meeting),
            whatifs=_whatifs() if whatifs else pd.DataFrame(),
            monitors=_monitors(),
            summary=_summary(nights),
            figures=folder,
            captions={},
        )

    return make


def _members(nights):
    count = nights.size
    return pd.DataFrame(
        {
            "member": np.arange(count),
            "parameter_draw": np.arange(count) % WORLDS,
            "short_nights": nights,
            "eue_kwh": nights * 0.3,
        }
    )


def _months(nights):
    """All nights in December and January, three to one; everything else a constant."""
    share = {12: 0.75, 1: 0.25}
    rows = []
    for statistic, value in (
        ("short_nights", None),
        ("dawn_soc_true_pct", 88),
        ("dawn_soc_reported_pct", 90),
        ("max_depth_reported_pct", 30),
        ("days_with_full_charge", 20),
    ):
        for month in range(1, 13):
            mean = nights.mean() * share.get(month, 0.0) if value is None else value
            rows.append((month, statistic, "-", mean, mean, mean, mean, mean, mean, nights.size))
    names = "month statistic unit mean place_low place_high p10 p50 p90 n".split()
    return pd.DataFrame(rows, columns=names)


def _autonomy():
    days = np.arange(1, 61)
    rows = []
    for month in range(1, 13):
        for kind, half in (("with_sun", 20 if month == 12 else 50), ("dark", 6)):
            chance = np.where(days <= half, 1.0 - 0.002 * days, 0.3)
            rows.append(
                pd.DataFrame(
                    {
                        "start_month": month,
                        "kind": kind,
                        "days": days,
                        "probability": chance,
                        "low": chance - 0.01,
                        "high": np.minimum(chance + 0.01, 1.0),
                        "n": 100,
                    }
                )
            )
    return pd.concat(rows)


def _sizing(meeting):
    rows = [(array, bank) for array in (100, 200) for bank in (100, 200)]
    table = pd.DataFrame(rows, columns=["array_wp", "bank_ah"])
    table["short_nights"] = [9.0, 4.0, 2.0, 0.5]
    table["short_nights_low"] = table["short_nights"] * 0.7
    table["short_nights_high"] = table["short_nights"] * 1.4
    table["cost"] = table["array_wp"] + 3 * table["bank_ah"]
    table["meets_target"] = [False, False, False, meeting]
    table["probability_met"] = [0.0, 0.01, 0.1, 0.97 if meeting else 0.3]
    table["chosen"] = table["meets_target"]
    return table


def _whatifs():
    rows = []
    for name, changes, difference, low, high, verdict in (
        ("thrifty_lamp", {"loads.lamp.watts": 6}, -0.4, -0.6, -0.2, "real"),
        ("no_radio", {"loads.radio": None}, -0.05, -0.2, 0.1, "not told apart"),
    ):
        rows.append(
            (
                name,
                json.dumps(changes),
                "short_nights",
                "nights/year",
                1.0,
                1.0 + difference,
                difference,
                low,
                high,
            )
            + (verdict,)
        )
    names = "whatif changes statistic unit study_value whatif_value difference low high verdict".split()
    return pd.DataFrame(rows, columns=names)


def _monitors():
    rows = [
        ("shunt", "shunt", "reading_error_p95_pct", "%", 3.0, 2.6, 3.5, 1.5, 5.0),
        ("shunt", "shunt", "missed_warning_h", "h/year", 12.0, 9.0, 16.0, 0.0, 30.0),
    ]
    names = "monitor kind statistic unit mean mean_low mean_high year_low year_high".split()
    return pd.DataFrame(rows, columns=names)


def _summary(nights):
    one = nights.size == 1
    mean = float(nights.mean())

    def entry(value, unit, low, high, year_low, year_high):
        bounds = (None, None) if one else (low, high)
        return {
            "value": value,
            "unit": unit,
            "place_low": bounds[0],
            "place_high": bounds[1],
            "year_low": year_low,
            "year_high": year_high,
            "method": "made by hand",
            "n": int(nights.size),
        }

    return {
        "short_nights": entry(mean, "nights/year", 0.8 * mean, 1.2 * mean + 0.05, 0.0, 4.0),
        "annual_max_depth_true": entry(71.0, "%", 68.0, 74.0, 40.0, 71.0),
        "annual_max_depth_reported": entry(66.0, "%", 63.0, 69.0, 38.0, 66.0),
        "demand_kwh": entry(50.0, "kWh/year", 48.0, 52.0, 44.0, 57.0),
    }
