"""What the proposal says of monitors: which one, how to set it, and the sheet to leave on board."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from darkspell.core.calendar import Calendar
from darkspell.monitor.settings_explanations import GROUPS
from darkspell.report.proposal.chapters import monitor_comparison, monitor_settings
from darkspell.report.proposal.chapters.year_sheet import alarm, year_sheet
from darkspell.report.tables.expected_year import expected_year
from report.said import numbers


@pytest.fixture
def made(make_results, tmp_path):
    """Results whose further tables are made by hand."""
    return replace(make_results(np.zeros(20, int)), folder=tmp_path)


def kinds(gauge=9.0, pack=1.2, comfort="real"):
    """A table of kinds by hand."""
    rows = []
    for kind, error in (("shunt", 0.5), ("gauge", gauge), ("pack", pack)):
        for name in ("reading_error_p95_pct", "off_10_points_h", "missed_warning_h", "false_alarm_h"):
            value = error if name.startswith("reading") else 10.0
            said = "" if kind == "shunt" else comfort
            rows.append((kind, name, value, value - 0.1, value + 0.1, 5.0, 4.0, 6.0, said, 32))
    names = "kind statistic mean mean_low mean_high difference low high verdict n".split()
    return pd.DataFrame(rows, columns=names)


def test_the_verdict_follows_the_numbers():
    """Within 5 points of the best both serve; beyond, not as the only one; false comfort only where it is told."""
    best, said = monitor_comparison.verdict(kinds())
    assert best == ["shunt", "pack"]
    assert any("gauge" in text for text in said)
    assert any(numbers(text)[:2] == [4, 6] for text in said)
    low = kinds().query("statistic == 'off_10_points_h'").assign(statistic="low_charge_error_p95_pct")
    low["mean"] = [0.5, 20.0, 12.0]
    best, _ = monitor_comparison.verdict(pd.concat([kinds(gauge=0.6, pack=0.6), low]))
    assert best == ["shunt"]  # hours near full do not hide an error at low charge
    best, said = monitor_comparison.verdict(kinds(gauge=0.2, comfort="not told apart"))
    assert best == ["gauge", "shunt", "pack"] and not any(numbers(text)[:2] == [4, 6] for text in said)


@pytest.mark.parametrize(("chemistry", "has_pack"), [("agm", False), ("flooded", False), ("lfp", True)])
def test_only_banks_that_have_electronics_are_offered_them(make_results, chemistry, has_pack):
    study = make_results(np.zeros(20, int), {"bank.chemistry": chemistry}).study
    assert ("pack" in set(monitor_comparison.offered(study, kinds())["kind"])) is has_pack


def settings():
    """A setting sheet by hand."""
    rows = []
    for group, pairs in GROUPS.items():
        for name, unit in pairs:
            row = [
                group,
                name,
                unit,
                10.0,
                10.0,
                5.0,
                "A reason.",
                2.0,
                2.0,
                1.0,
                1.0,
                0.0,
                -1.0,
                1.0,
                0.0,
                0.0,
                0.0,
                32,
            ]
            if name == "capacity_set_ah":
                row[3:6], row[8], row[10:17] = (
                    (172.5, 150.0, 140.0),
                    5.0,
                    (41.0, 3.0, 2.0, 4.0, 40.0, 20.0, 60.0),
                )
            if name == "warn_below_soc_pct":
                row[5], row[7:17] = "", [np.nan] * 10
            rows.append(row)
    names = (
        "group setting unit fitted as_set wrong reason error_fitted error_wrong missed_warning_fitted_h "
        "missed_warning_wrong_h "
        "error_increase_points error_increase_low error_increase_high missed_warning_increase_h "
        "missed_warning_increase_low_h missed_warning_increase_high_h n"
    )
    return pd.DataFrame(rows, columns=names.split())


def drift():
    """A table of drift by hand."""
    rows = []
    for group, share, low, high in (
        ("0", 60.0, -0.4, 0.4),
        ("2-3", 39.0, -3.0, 1.0),
        ("30+", 1.0, -10.0, -3.0),
    ):
        middle = 0.5 * (low + high)
        rows.append(
            (
                "panel",
                "days_since_full",
                group,
                100,
                share,
                low - 1,
                low,
                low / 2,
                middle,
                high / 2,
                high,
                high + 1,
            )
        )
    names = "monitor by group hours share_pct p5 p10 p25 p50 p75 p90 p95".split()
    return pd.DataFrame(rows, columns=names)


def test_sections_say_what_the_tables_hold(made, tmp_path):
    settings().to_csv(tmp_path / "monitor_settings.csv", index=False)
    kinds().to_csv(tmp_path / "monitor_kinds.csv", index=False)
    drift().to_csv(tmp_path / "monitor_error_percentiles.csv", index=False)
    sheet = monitor_settings.section(made)
    tables = [block for block in sheet.blocks if hasattr(block, "rows")]
    assert [table.caption for table in tables][:3] == [
        "What the bank is",
        "How full is decided",
        "When to warn",
    ]
    assert sheet.heading.endswith("matters most here is \u201ccapacity\u201d")
    assert tables[0].rows[0] == ["Capacity", "172.5\u00a0Ah", "150\u00a0Ah", "A reason."]
    harms = {row[0]: row[1:] for row in tables[3].rows}
    assert harms["Capacity"] == ["140\u00a0Ah", "+3.0 (+2.0 to +4.0)", "+40 (+20 to +60)"]
    assert harms["Charge efficiency"][1:] == ["0 (\u22121.0 to +1.0)", "0"] and "Warn below" not in harms
    section = monitor_comparison.section(made)
    assert section.heading.startswith("For this bank, a well-set shunt is the most accurate")
    last = section.blocks[-1]
    assert last.rows[-1] == ["30+", "1.0", "\u221210 to \u22123"]


def write_year(folder):
    """expected_year.csv of twenty years by hand."""
    count = 20
    members = {
        name: np.linspace(low, high, count)
        for name, low, high in (
            ("max_depth_true_pct", 40, 60), ("max_depth_reported_pct", 41, 61),
            ("longest_full_charge_interval_days", 10, 20), ("longest_full_charge_interval_reported_days", 10, 20),
            ("full_charges", 100, 100), ("full_charges_reported", 100, 100),
            ("discharge_throughput_ah", 3650, 3650), ("discharge_counted_ah", 3650, 3650),
        )
    }  # fmt: skip
    dawn = np.full((count, 12), 80.0)
    months = {"dawn_soc_true_pct": dawn, "dawn_soc_reported_pct": dawn - 3}
    expected_year(members, months, Calendar(7), 150.0, 150.0).to_csv(
        folder / "expected_year.csv", index=False
    )


def test_the_year_sheet_shows_the_middle_and_the_band(made, tmp_path):
    write_year(tmp_path)
    page = year_sheet(made)
    # Depths of 40 to 60 % have 42 and 58 as tenth and ninth tenth; the display shows 100 less (arithmetic).
    assert "42 to 58" in page and ">50<" in page.replace(" ", "") and "http" not in page.split("<body")[1]
    assert page.count("80<") >= 12 and page.count("77<") >= 12


def test_the_year_sheet_has_letterhead_paper_and_a_dark_scheme(made, make_results, tmp_path):
    """What the proposal takes of the firm, the sheet takes too; without a firm it has none of it."""
    firm = {"name": "A <firm>", "address": ["1 Street"], "registration": "No. 7", "accent_colour": "#123456"}
    write_year(tmp_path)
    changes = {"document.firm": firm, "document.reference": "R-9", "document.paper": "letter"}
    page, bare = (
        year_sheet(replace(one, folder=tmp_path)) for one in (make_results(np.zeros(20, int), changes), made)
    )
    for text in ("A &lt;firm&gt;", "1 Street", "No. 7", "R-9", "--accent: #123456", "size: letter"):
        assert text in page and text not in bare, text
    assert "size: A4" in bare and "prefers-color-scheme: dark" in bare
    assert "<script" not in page


def test_the_alarm_of_the_year_sheet_rarely_speaks_without_a_change(made):
    """On years drawn anew from the same distribution it speaks in 5 % or less, within sampling error."""
    rng = np.random.default_rng(5)

    def lowest(count):
        return 100 * rng.beta(3, 4, count)

    members = pd.DataFrame({"max_depth_reported_pct": 100 - lowest(1000), "parameter_draw": 0})
    level, share = alarm(replace(made, members=members))
    fresh = lowest(20_000)
    assert (fresh < float(level)).mean() <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 1000)
    assert float(share.split()[0]) <= 5
