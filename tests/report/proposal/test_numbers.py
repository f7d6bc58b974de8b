"""Every number that a proposal or its annex prints comes from a table, the summary, the study or a constant."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from darkspell.core.constants import sources
from darkspell.design.life_cycle_cost import first_cost
from darkspell.hand_check import findings, hand_check
from darkspell.report.document.tree import Box, Figure, Listing, Paragraph, Section, Table
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters.opening import nights_of
from darkspell.report.proposal.chapters.target import own_chance

NIGHTS = np.array([0] * 160 + [1] * 10 + [2] * 10 + [3] * 10 + [5] * 10)
NUMBER = re.compile(r"(?<![\w.\-\u2013])[+\u2212]?\d[\d\u202f]*(?:\.\d+)?(?![\w]|\.\d)")
# Numbers that are part of a name or of a way of speaking, not results.
SPOKEN = {
    "8 years of 10, 9 times in 10, one year in ten": {"8", "9", "10", "19", "20"},
    "95 % and 80 % intervals; full and empty; parts of a hundred": {"95", "80", "5", "100", "0", "90"},
    "hours of a year and of a day": {"8760", "24"},
    "volts above which direct current kills at a touch": {"60"},
}
STANDARD = re.compile(
    r"(?:IEC|ISO|ISO/TS|NFPA|ABYC|UL|EN)\s[\w\-. ]*?\d[\d\-]*|articles? [\d() a-zA-Z,]+|E-\d+"
)


def numbers_of(values):
    """All finite numbers in nested mappings, lists, tables and texts of numbers."""
    if isinstance(values, pd.DataFrame):
        return np.concatenate(
            [np.zeros(0), *(values[name].to_numpy(float) for name in values.select_dtypes("number"))]
        ).tolist()
    if isinstance(values, dict):
        return [n for value in values.values() for n in numbers_of(value)]
    if isinstance(values, list | tuple):
        return [n for value in values for n in numbers_of(value)]
    if isinstance(values, str):
        return [float(token) for token in re.findall(r"\d+(?:\.\d+)?", values)]
    if isinstance(values, int | float | np.number) and not isinstance(values, bool):
        return [float(values)]
    return []


def pool(results):
    """Values that a proposal may print, with what a reader's units make of them: per cent, parts of a hundred."""
    study, check = results.study, hand_check(results.study, results.climate)
    nights = nights_of(results)
    months = results.month("short_nights")["mean"]
    tables = [results.sizing, results.months, results.autonomy, results.whatifs, results.monitors]
    given = [
        study.resolved(),
        results.summary,
        first_cost(study),
        study.array_wp,
        len(results.sizing),
        results.years,
    ]
    given += [
        results.parameter_draws,
        nights.share,
        nights.low,
        nights.high,
        nights.year_low,
        nights.year_high,
    ]
    given += [own_chance(results), (months / months.sum()).tolist(), months.nlargest(2).sum() / months.sum()]
    given += [one["value"] for one in sources()] + list(map(str, findings(study, check)))
    given += [results.study_text, 100 * results.climate.annual_mean_sd, str(results.climate.source)]
    given += [str(note) for note in results.climate.notes] + [float(check.temp_air.min())]
    given += [study.bank.capacity_ah * study.system.nominal_voltage_v / 1000.0, results.whatifs.to_json()]
    base = np.array(numbers_of([*tables, *given]) + [n for t in tables for n in numbers_of(t)], float)
    base = base[np.isfinite(base)]
    return np.unique(np.concatenate([base, 100 * base, 100 - base, 100 - 100 * base, 1 / base[base > 0]]))


PRINTED = r"(?:under 0\.001|just under 0|[+\u2212-]?\d[\d\u202f]*(?:\.\d+)?)"
WITH_INTERVAL = re.compile(
    rf"(?<![\d.,])({PRINTED})(?: [^\d(.;:]{{0,50}}| %)? "
    rf"\((?:95 %[^:()]*: )?({PRINTED}) ?%? ?(?:to|\u2013) ?({PRINTED})"
)


def _said(text):
    """Least and greatest number that a text may mean."""
    near = {"under 0.001": (0.0, 0.001), "just under 0": (-0.001, 0.0)}
    return near[text] if text in near else 2 * (float(text.replace("\u2212", "-").replace("\u202f", "")),)


def outside(texts):
    """Numbers printed outside the interval that follows them in brackets, and how many were looked at."""
    found = [m for text in texts for m in WITH_INTERVAL.finditer(re.sub(r"\s+", " ", text))]
    found = [m for m in found if "in 1000 hours" not in m[0]]  # a unit
    read = [(m[0], *map(_said, m.groups())) for m in found]
    return [text for text, value, low, high in read if value[1] < low[0] or high[1] < value[0]], len(found)


@pytest.mark.parametrize("nights", [NIGHTS, np.zeros(200, int), np.arange(200) % 7])
def test_no_number_is_printed_outside_its_interval(make_results, nights):
    results = make_results(nights)
    for make in (proposal, annex):
        wrong, looked_at = outside(make(results).texts())
        assert not wrong and looked_at >= (10 if make is annex else 0)


def test_a_number_outside_its_interval_is_noticed():
    """As two annexes had it."""
    assert outside(["it is full again within 5 days (95 % interval: 5.5 to 6.4) in half the cases"])[0]
    assert outside(["0.0001 (under 0.001 to 0.02)", "7 (7.3 to 7.4)"]) == (["7 (7.3 to 7.4"], 2)


def is_printed_from(token, values):
    """Whether a number is one of the values, rounded to its own decimals or to its own significant digits."""
    text = token.replace("\u202f", "").replace("\u2212", "-").lstrip("+")
    shown, decimals = abs(float(text)), len(text.partition(".")[2])
    step = 10.0**-decimals
    if not decimals and len(text.lstrip("-")) > 2:
        step = 10.0 ** (len(text) - len(text.rstrip("0")))
    return bool((np.abs(np.abs(values) - shown) <= 0.5 * step + 1e-9).any())


def prose(document):
    """Headings, paragraphs, lists and boxes, without tables, figures and quoted files."""
    for part in (Section("", document.opening), *document.sections):
        yield part.heading
        for block in part.blocks:
            if isinstance(block, Paragraph):
                yield block.text
            elif isinstance(block, Listing | Box):
                yield from block.items
            elif isinstance(block, Table):
                yield from (cell for row in block.rows for cell in row)
                yield block.note
            elif isinstance(block, Figure):
                yield block.caption


def strangers(document, values):
    """Numbers of a document that are in no table, with their sentences."""
    spoken = set().union(*SPOKEN.values())
    found = []
    for text in prose(document):
        for token in NUMBER.findall(STANDARD.sub("", text)):
            if token not in spoken and not is_printed_from(token, values):
                found.append((token, text))
    return found


@pytest.mark.parametrize("make", [proposal, annex])
@pytest.mark.parametrize("chemistry", ["agm", "lfp"])
def test_every_number_comes_from_a_table(make_results, make, chemistry):
    results = make_results(NIGHTS, {"bank.chemistry": chemistry})
    assert strangers(make(results), pool(results)) == []


def test_a_number_of_its_own_is_noticed(make_results):
    """The check sees a figure that was typed into a sentence."""
    results = make_results(NIGHTS)
    document = proposal(results)
    changed = replace(
        document, opening=[*document.opening, Paragraph("It costs 77.31 EUR and lasts 4187 days.")]
    )
    assert [token for token, _ in strangers(changed, pool(results))] == ["77.31", "4187"]


def test_the_check_can_fail(make_results):
    """Random numbers with one decimal from 100 to 9999 are noticed 9 times in 10 or more; short ones seldom are."""
    values = pool(make_results(NIGHTS))
    random = np.random.default_rng(1).uniform(100, 9999, 500)
    assert np.mean([is_printed_from(f"{number:.1f}", values) for number in random]) < 0.1
