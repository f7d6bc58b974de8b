"""What the appendix prints: figures as other tables write them, and the standards of the study's kind of place."""

import re
from fnmatch import fnmatchcase
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from darkspell.core.constants import ROOMS, sources
from darkspell.report import assumption_words
from darkspell.report.constant_words import WORDS, constant_words
from darkspell.report.proposal.chapters import appendix, cautions, monitor_comparison, whatifs
from darkspell.study import load_study, study_from
from study.example import spoilt

CONFIG = Path(__file__).parents[3] / "config"
TURNING = {"power_wp": 300, "tilt_deg": 0, "azimuth_deg": 0, "any_heading": True}


def entry(value, site, sampling, unit="h/year", mean=None):
    """An entry of summary.json."""
    return {
        "value": value, "mean": value if mean is None else mean, "unit": unit, "method": "invented",
        "place_low": site[0], "place_high": site[1], "simulation_low": sampling[0], "simulation_high": sampling[1],
        "year_low": 0.0, "year_high": 0.0,
    }  # fmt: skip


def row(key, made):
    """The row of one headline figure without its words."""
    return appendix.headlines({key: made}).rows[0][1:7]


def test_small_bounds_are_written_as_people_do():
    unit, best, mean, site, sampling, year = row(
        "lolh", entry(0.0307, (4.3e-5, 21.76), (0.018, 0.0515), mean=1.63)
    )
    assert (unit, best, mean) == ("h/year", "0.031", "1.6")
    assert (site, sampling, year) == ("under 0.001 to 22", "0.02 to 0.05", "0")


def test_shares_are_counted_in_units_that_need_no_power_of_ten():
    unit, best, _mean, site, *_rest = row("lolp", entry(3.5e-6, (4.9e-9, 0.0025), (2e-6, 6e-6), "-"))
    assert (unit, best, site) == ("in 1000 hours", "0.0035", "under 0.001 to 2.5")


def test_no_headline_figure_has_an_exponent_or_lies_outside_its_intervals():
    """Random figures over ten powers of ten, each within its site interval and that within the sampling error."""
    draw = np.random.default_rng(5)
    for _index in range(500):
        spread = draw.uniform(1.0, 1.2), draw.uniform(1.2, 40)
        value = 10 ** draw.uniform(-6, 4)
        inner, outer = ((value / factor, value * factor) for factor in spread)
        _unit, best, mean, *ends, _year = row("lolh", entry(value, outer, inner))
        assert not re.search(r"\de|×|⁻", " ".join((best, mean, *ends)))
        for low, _to, high in (text.rpartition(" to ") for text in ends):
            assert least(low or high) <= most(best) and least(best) <= most(high), (value, best, ends)


def least(text):
    return 0.0 if text == "under 0.001" else float(text.replace("\u202f", ""))


def most(text):
    return 0.001 if text == "under 0.001" else float(text.replace("\u202f", ""))


@pytest.mark.parametrize(
    "changes, there, absent",
    [
        (
            {"bank.chemistry": "agm"},
            ("IEC 60364-7-712", "IEC 62485-2"),
            ("62485-5", "13297", "7-721", "62619"),
        ),
        ({"bank.chemistry": "lfp"}, ("IEC 62485-5", "IEC 62619"), ("62485-2", "13297", "7-721")),
        (
            {"arrays.roof": {**TURNING, "mounting": "deck"}, "bank.chemistry": "agm"},
            ("ISO 13297", "ABYC E-10"),
            ("7-721", "article 551", "7-712", "62485", "23625"),
        ),
        (
            {"arrays.roof": {**TURNING, "mounting": "deck"}, "bank.chemistry": "lfp"},
            ("ISO 13297", "ISO 23625", "ABYC E-13"),
            ("7-721", "E-10", "62485"),
        ),
        (
            {"arrays.roof": {**TURNING, "mounting": "roof"}, "bank.chemistry": "lfp"},
            ("IEC 60364-7-721", "EN 1648", "IEC 62619"),
            ("13297", "ABYC", "7-712", "62485"),
        ),
        ({"arrays.roof": {**TURNING, "mounting": "open"}}, ("IEC 60364-7-721", "ISO 13297"), ("7-712",)),
    ],
)
def test_standards_are_those_of_the_kind_of_place(changes, there, absent):
    """Titles read in the publishers' catalogues: IEC and VDE; CEN and ISO at iTeh; title pages of ABYC."""
    titles = " ".join(cautions._standards(study_from(spoilt(changes))))
    assert all(title in titles for title in there), titles
    assert not [title for title in absent if title in titles]
    assert "IEC 62509" in titles


def test_a_gauge_that_errs_twice_as_much_most_of_the_time_is_not_called_as_good():
    """Within five points below half charge, but seven points worse over all hours."""
    rows = [
        ("shunt", "low_charge_error_p95_pct", 6.9), ("gauge", "low_charge_error_p95_pct", 9.9),
        ("shunt", "reading_error_p95_pct", 6.4), ("gauge", "reading_error_p95_pct", 13.6),
        ("shunt", "missed_warning_h", 0.0), ("gauge", "missed_warning_h", 0.0),
    ]  # fmt: skip
    kinds = pd.DataFrame(rows, columns=["kind", "statistic", "mean"]).assign(
        mean_low=lambda made: made["mean"], mean_high=lambda made: made["mean"],
        difference=0.0, low=0.0, high=0.0, verdict="not told apart", n=256,
    )  # fmt: skip
    assert monitor_comparison.verdict(kinds)[0] == ["shunt"]


def test_a_change_that_changes_nothing_is_named_so(make_results):
    """A step of a sweep with the study's own values; of two keys only the one that differs is named."""
    study = make_results(np.zeros(50, int)).study
    same = {"bank.capacity_ah": study.bank.capacity_ah}
    assert whatifs._change(study, same) == "none: as studied"
    words = whatifs._change(study, {**same, "load_uncertainty_pct": 33})
    assert "33" in words and "apacity" not in words


def test_every_constant_is_named_in_words():
    """All rooms that an annex may list; no pattern of words without a constant."""
    rows = [
        one
        for one in sources([room for room in ROOMS if room not in ("pipeline", "log_analysis")])
        if not one["name"].startswith(appendix.SLIPS)
    ]
    assert not [one["name"] for one in rows if constant_words(one["room"], one["name"]) == one["name"]]
    unused = [
        pattern
        for room, patterns in WORDS.items()
        for pattern in patterns
        if not any(one["room"] == room and fnmatchcase(one["name"], pattern) for one in rows)
    ]
    assert not unused


@pytest.mark.parametrize("path", sorted(CONFIG.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_key_left_open_is_named_in_words(path):
    """Of each example study: a sentence of its own, no key's name, no computer's list or truth value."""
    study = load_study(path)
    rows = appendix._assumptions(study).rows
    assert len(rows) > 20
    for what, value, key in rows:
        assert "_" not in what and what, key
        assert not re.search(r"[\[\]_{]|^(true|false|True|False|None)$", value), (key, value)
        pattern, _names = assumption_words._pattern(key.partition(" (")[0])
        assert pattern in assumption_words.MEANINGS, key


def test_keys_that_change_nothing_are_not_listed():
    keys = " ".join(key for key, _value in appendix.left_open(study_from(spoilt({}))))
    assert "critical." not in keys and "angstrom" not in keys and "fuel_years" not in keys


@pytest.mark.parametrize(
    "key, value, words",
    [
        ("loads.lamp.months", list(range(1, 13)), "all months"),
        ("loads.lamp.window", ["18:00", "23:00"], "18:00 to 23:00"),
        ("arrays.roof.soiling_pct", [3.0] * 12, "3 % in every month"),
        ("arrays.roof.any_heading", False, "no"),
        ("arrays.roof.glass", "anti_reflective", "anti-reflective"),
        ("bank.indoor_min_c", -5.0, "−5 °C"),
        ("sizing.prices.fixed", 900, "900 CHF"),
    ],
)
def test_values_are_written_for_people(key, value, words):
    assert assumption_words.value_words(key, value, "CHF") == words
