import re
from dataclasses import replace
from html.parser import HTMLParser
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from darkspell.hand_check import findings, hand_check
from darkspell.hand_check.warning import Finding
from darkspell.report import wording as say
from darkspell.report.document.document import Document, Letterhead
from darkspell.report.document.html import html
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters import decision, lifetime, year_ahead
from darkspell.report.proposal.chapters.autonomy import days_held
from darkspell.report.proposal.chapters.cautions import _air, cautions_of, is_hazard
from darkspell.report.proposal.chapters.offers import choose, own_offer
from darkspell.report.proposal.chapters.opening import expectation, nights_of
from darkspell.report.proposal.chapters.target import first_chance, judged
from darkspell.report.proposal.chapters.uncertainty import narrowing
from report.said import numbers

NIGHTS = np.tile([0] * 8 + [2, 5], 20)  # one year in five; two or five nights


class Page(HTMLParser):
    """Tags with attributes, and visible text."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self._hidden = [], [], None
        self.feed(text)
        self.text = " ".join(" ".join(self.words).split())

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._hidden = tag if tag in ("style", "script", "title") else self._hidden

    def handle_endtag(self, tag):
        self._hidden = None if tag == self._hidden else self._hidden

    def handle_data(self, data):
        if self._hidden is None:
            self.words.append(data)

    def all(self, *names):
        return [attrs for tag, attrs in self.tags if tag in names]


@pytest.fixture(scope="module")
def annexed(make_results):
    return Page(html(annex(make_results(NIGHTS))))


@pytest.fixture(scope="module")
def page(make_results):
    return Page(html(proposal(make_results(NIGHTS))))


def test_the_answer_comes_first_in_whole_events(make_results):
    first = expectation(nights_of(make_results(NIGHTS)))
    assert numbers(first) == [20] and "two to five" in first and "December" in first


def test_an_alternative_of_the_same_risk_is_called_neither_riskier_nor_safer(make_results):
    own = own_offer(make_results(NIGHTS))
    cheaper = replace(own, cost=own.cost - 100.0, is_own=False)
    assert year_ahead._name(own, cheaper).endswith("cheaper")
    assert year_ahead._name(own, replace(cheaper, value=own.value + 1.0)).endswith("cheaper, riskier")


def test_years_without_a_dark_night_show_no_certainty(make_results):
    """None of 100 years: under one in a hundred, not 0 %."""
    blocks = decision.opening(make_results(np.zeros(100, int)))
    rows = [row for block in blocks for row in getattr(block, "rows", [])]
    chance = next(row for row in rows if row[0].startswith("Chance that a coming year"))
    assert chance[1].replace("\u00a0", " ") == "under 1 %"
    results = make_results(np.zeros(100, int))
    offer = replace(own_offer(results), share_low=0.0, share_high=0.02)
    assert year_ahead._share(results, offer) == "under 1 % (0 % to 2 %)"


def test_the_answer_agrees_with_the_members(make_results):
    rng = np.random.default_rng(7)
    drawn = np.where(rng.random(500) < 0.3, rng.integers(1, 12, 500), 0)
    nights = nights_of(make_results(drawn))
    assert nights.share == np.count_nonzero(drawn) / 500
    assert nights.counts.sum() == drawn.sum()
    assert nights.low < nights.share < nights.high
    below = np.mean(drawn < nights.year_low), np.mean(drawn > nights.year_high)
    assert max(below) <= 0.1  # at most one year in ten beyond either end


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("client", ("licensed practitioner", "hydrogen", "IEC 62485-2")),
        (
            "annex",
            ("0.4 fewer (0.2 to 0.6)", "6 W instead of 10 W", "common practice, no source", "IEC 62485-2"),
        ),
    ],
)
def test_what_the_reader_must_find(page, annexed, kind, values):
    """Cautions and standards for the client; differences and sources in the annex."""
    text = {"client": page, "annex": annexed}[kind].text
    for value in values:
        assert value in text, value


def test_every_constant_of_the_study_has_its_source(annexed, make_results):
    from darkspell.report.proposal.chapters.appendix import constants_of

    found = constants_of(make_results(NIGHTS).study)
    names = {(one["room"], one["name"].split(".")[0]) for one in found}
    assert ("bank", "agm") in names and ("bank", "common") in names and ("weather", "snow") in names
    assert not names & {("bank", "lfp"), ("hand_check", "lfp"), ("log_analysis", "lanes")}
    for one in found:
        assert " ".join(f"{one['room']}: {one['name']}".split()) in annexed.text
        assert " ".join(one["source"].split()) in annexed.text


def test_the_page_asks_nothing_of_a_network_and_runs_nothing(page):
    assert not page.all("script", "iframe", "object", "form", "video")
    for attrs in page.all("img", "link", "a"):
        assert (attrs.get("src") or attrs.get("href")).startswith(("data:", "#"))
    policies = [a["content"] for a in page.all("meta") if a.get("http-equiv") == "Content-Security-Policy"]
    assert policies and policies[0].startswith("default-src 'none'")


def test_headings_are_in_order_and_the_language_is_named(page):
    assert page.all("html")[0]["lang"] == "en"
    levels = [int(tag[1]) for tag, _ in page.tags if tag in ("h1", "h2", "h3")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert max(np.diff(levels)) <= 1


def contrast(one, other):
    """Contrast ratio of two colours after WCAG 2.1."""

    def luminance(colour):
        parts = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
        linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
        return float(linear @ [0.2126, 0.7152, 0.0722])

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_colours_of_the_text_are_readable():
    """WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text."""
    from darkspell.report.document.html import html as room

    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # WebAIM's well-known near miss
    style = (room.__globals__["HERE"] / "page.css").read_text()
    for name, colour in (("ink", "#1b1b1b"), ("soft", "#555555")):
        assert f"--{name}: {colour[:4] if name == 'soft' else colour}" in style
        assert contrast(colour, "#ffffff") >= 4.5
    assert contrast(Letterhead().accent, "#ffffff") >= 4.5
    night = style.partition("prefers-color-scheme: dark")[2]
    ground = re.search(r"--ground: (#\w+)", night)[1]
    for name in ("ink", "soft"):
        assert contrast(re.search(rf"--{name}: (#\w+)", night)[1], ground) >= 4.5


@pytest.mark.parametrize("accent", ["#16437e", "#000000", "#7a2e0e", "#006400"])
def test_a_firms_colour_is_readable_in_the_dark_scheme(accent):
    """WCAG 2.1, success criterion 1.4.6: 7 to 1; by the test's own contrast, not the package's."""
    text = html(Document("t", [], [], [], letterhead=Letterhead(accent=accent)))
    assert contrast(re.search(r"--night-accent: (#\w+)", text)[1], "#181a1c") >= 7.0


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }} {% raw %}",
    "=cmd|' /C calc'!A0",
    "../../etc/passwd",
    "‮evil بيت 🏔️ 𝕏",
    "javascript:alert(1)",
)


@pytest.mark.parametrize("text", HOSTILE)
def test_what_a_client_types_is_data(make_results, text):
    changes = {f"document.{key}": text for key in ("title", "client", "prepared_by", "note")}
    changes |= {"site.name": text, "document.currency": text[:12].strip()}
    found = Page(html(proposal(make_results(NIGHTS, changes, text=f"# {text}\n"))))
    assert not found.all("script")
    assert all(link["href"].startswith("#") for link in found.all("a"))
    assert not [a for a in found.all("img") if not a["src"].startswith("data:")]
    assert not [a for _, a in found.tags if any(name.startswith("on") for name in a)]
    assert " ".join(text.replace("\u202e", "").split()) in found.text.replace("\u2068", "").replace(
        "\u2069", ""
    )
    assert "49" not in found.words[0]


def test_a_long_text_is_kept_and_can_wrap(make_results):
    long = "x" * 2000
    results = make_results(NIGHTS, {"document.note": long}, text="y" * 10_000)
    found = html(proposal(results))
    assert long in found and "y" * 10_000 in html(annex(results))
    assert "overflow-wrap: anywhere" in found


def test_a_loss_that_no_year_saw_names_the_number_of_years(make_results):
    assert numbers(expectation(nights_of(make_results(np.zeros(400, int))))) == [400]


def test_loss_in_every_year(make_results):
    first = expectation(nights_of(make_results(np.full(100, 3))))
    assert numbers(first) == [100] and "three" in first and "December" in first


def test_few_events_are_told_one_by_one(make_results):
    nights = np.zeros(300, int)
    nights[[5, 70]] = 4, 1
    assert "1 and 4 nights" in expectation(nights_of(make_results(nights)))


@pytest.mark.parametrize("nights", [0, 7])
def test_one_member_claims_nothing(make_results, nights):
    """No interval, no chance, and a warning that it was a trial."""
    results = make_results(np.array([nights]))
    found = Page(html(proposal(results)))
    assert "This was a trial with one year" in found.text
    assert np.isnan(own_offer(results).chance)
    assert "nan" not in found.text.replace("financ", "").split()


def test_the_recommended_design_meets_the_target_or_says_that_none_does(make_results):
    """The study's own 100 Ah misses; the grid's 200 Wp with 200 Ah is chosen."""
    recommended, alternative = choose(make_results(np.full(100, 3)))
    assert (recommended.array_wp, recommended.bank_ah, recommended.meets) == (200, 200, True)
    assert alternative.is_own and not alternative.meets
    recommended, _ = choose(make_results(np.full(100, 3), meeting=False))
    assert not recommended.is_own


def test_every_page_says_that_it_describes_the_size_asked_for_where_another_is_recommended(make_results):
    """Headings of the system, the year and the display, and the foot of the pages; not where it is the same size."""
    other, own = (proposal(make_results(nights)) for nights in (np.full(100, 3), NIGHTS * 0))
    told = [section.heading for section in other.sections if "not the recommended one" in section.heading]
    assert len(told) == 3 and "200 Wp with 100 Ah" in other.subject
    page_1 = " ".join(getattr(block, "text", "") for block in other.opening)
    assert "describe the size asked for, 200 Wp with 100 Ah, not the recommended one" in page_1
    box = other.sections[0].blocks[0]
    assert "not the recommended one" in box.heading and "200 Wp with 100 Ah" in box.items[0]
    assert own.subject == "" and not any("recommended" in section.heading for section in own.sections)


@pytest.mark.parametrize(("chance", "said"), [(0.85, "goes dark more often"), (0.97, "as surely")])
def test_page_1_says_why_the_dearer_design_is_recommended(make_results, chance, said):
    results = make_results(np.zeros(100, int))
    own = replace(own_offer(results), chance=0.96)
    cheaper = replace(own, cost=own.cost - 150.0, is_own=False, chance=chance)
    text = decision.reason(results, own, cheaper)
    assert said in text and 150 in numbers(text)
    assert "asked for this size" not in decision.reason(results, own, replace(cheaper, cost=own.cost + 1.0))


def test_page_1_gives_the_chance_of_a_coming_year_with_the_interval_of_the_long_run(make_results):
    results = make_results(NIGHTS)
    entry = results.summary["short_nights"] | {
        "value": 0.05,
        "mean": 0.1,
        "place_low": 0.01,
        "place_high": 0.3,
    }
    results = replace(results, summary=results.summary | {"years_with_short_nights": entry})
    text = " ".join(proposal(results).texts())
    assert "5 % (1 % to 30 %)" in text and "one year in 20" in text or "one winter in 20" in text


@pytest.mark.parametrize(
    ("value", "limit", "text"),
    [
        (0.249, 0.2, "0.25"),
        (0.2004, 0.2, "0.2004"),
        (0.16, 0.2, "0.16"),
        (0.1999, 0.2, "0.1999"),
        (0.2, 0.2, "0.20"),
    ],
)
def test_rounding_never_contradicts_a_verdict(value, limit, text):
    assert say.rounded(value, np.nan, np.nan, limit) == text


def test_no_design_meets_the_target(make_results):
    found = Page(html(annex(make_results(NIGHTS, meeting=False))))
    assert "None of the sizes compared meets the target" in found.text
    assert "No design meets it" in found.text


def test_no_whatifs(make_results):
    found = Page(html(annex(make_results(NIGHTS, whatifs=False))))
    assert "No changes were tried" in found.text


@pytest.mark.parametrize("statistic", ["lolp", "lolh", "eue_kwh"])
def test_other_targets_without_their_figure_claim_nothing(make_results, statistic):
    results = make_results(NIGHTS, {"target.statistic": statistic, "target.at_most": 0.01})
    results.sizing.columns = [name.replace("short_nights", statistic) for name in results.sizing.columns]
    own = own_offer(results)
    assert np.isnan(own.value) and not own.meets
    assert "nan" not in Page(html(proposal(results))).text.split()


def cautioned(results):
    """Cautions of a study by key."""
    return dict(cautions_of(results.study, hand_check(results.study, results.climate)))


@pytest.mark.parametrize(
    "chemistry, wanted, unwanted",
    [
        ("lfp", {"cold_charge", "management"}, {"gas", "acid", "lye"}),
        ("flooded", {"gas", "acid"}, {"cold_charge", "sealed", "lye"}),
        ("agm", {"gas", "sealed"}, {"cold_charge", "acid", "lye"}),
        ("nife", {"gas", "lye"}, {"acid", "cold_charge", "frost"}),
    ],
)
def test_cautions_go_with_the_chemistry(make_results, chemistry, wanted, unwanted):
    results = make_results(NIGHTS, {"bank.chemistry": chemistry})
    found = cautioned(results)
    assert wanted | {"overcurrent", "short_circuit", "daylight", "heights"} <= set(found)
    assert not unwanted & set(found)
    text = Page(html(proposal(results))).text
    assert all(" ".join(one.split()) in text for one in found.values())


@pytest.mark.parametrize(
    ("volume", "printed"), [(0.04, "0.1"), (0.24, "0.3"), (2.64, "2.7"), (3.0, "3"), (3.2, "4")]
)
def test_the_air_that_a_bank_needs_is_rounded_up(volume, printed):
    assert _air(volume) == printed


def test_cautions_go_with_the_equipment(make_results):
    plain = set(cautioned(make_results(NIGHTS)))
    assert "no_mains" in plain and not plain & {"mains", "carbon_monoxide", "alarms", "moving"}
    changes = {
        "inverter": {"power_w": 600}, "generator": {"charge_w": 500, "start_soc_pct": 35},
        "loads.smoke_alarm": {"watts": 1, "hours_per_day": 24, "tier": "essential"}, "arrays.roof.any_heading": True,
    }  # fmt: skip
    assert {"mains", "carbon_monoxide", "alarms", "moving"} <= set(cautioned(make_results(NIGHTS, changes)))


@pytest.mark.parametrize(
    ("key", "hazard"),
    [
        ("arrays.roof.modules_in_series", True),
        ("chargers.engine.charger_a", True),
        ("bank.capacity_ah", False),
        ("climate.snow_days", False),
    ],
)
def test_only_hazards_stand_among_the_cautions(key, hazard):
    assert is_hazard(Finding(key, 1.0, "", "", "")) is hazard


def test_a_heated_bank_is_said_to_stand_in_the_cold_all_the_same(make_results):
    """The air's coldest month, 8 degC in this study, and the pad's 20 degC."""
    changes = {"bank.chemistry": "lfp", "bank.heater": {"power_w": 30, "setpoint_c": 20}}
    text = cautioned(make_results(NIGHTS, changes))["cold_charge"]
    assert "8 °C" in text and "20 °C" in text


def test_cold_strings_are_worked_out(make_results):
    """Two modules of 40 V, -0.28 %/K, at -15 degC: 80 V x (1 + 0.0028 x 40) = 89 V (arithmetic)."""
    changes = {
        "arrays.roof.module_voc_v": 40,
        "arrays.roof.modules_in_series": 2,
        "site.record_low_temperature_c": -15,
        "controller.input_voltage_max_v": 75,
    }
    results = make_results(NIGHTS, changes)
    text = cautioned(results)["string_voltage"]
    assert "89 V" in text and "75 V" in text
    keys = [
        one.key
        for one in findings(results.study, hand_check(results.study, results.climate))
        if is_hazard(one)
    ]
    assert "arrays.roof.modules_in_series" in keys


def test_figures_are_taken_in_where_they_are(make_results, tmp_path):
    picture = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect id="a" width="9" height="9"/></svg>'
    (tmp_path / "autonomy.svg").write_text(picture)
    words = {"title": "It lasts", "caption": "Days.", "alt": "A <falling> curve"}
    captions = {"autonomy": words, "months": words, "whatifs": words}
    results = replace(make_results(NIGHTS), figures=tmp_path, captions=captions)
    images = Page(html(annex(results))).all("img")
    assert [image["alt"] for image in images] == ["A <falling> curve"]
    assert images[0]["src"].startswith("data:image/svg+xml;base64,")


def test_days_held():
    days, curve = np.arange(1, 6), np.array([1.0, 0.96, 0.94, 0.8, 0.2])
    assert [days_held(days, curve, level) for level in (0.95, 0.9, 0.5, 0.1)] == [2, 3, 4, 5]
    assert days_held(days, curve - 0.5, 0.9) == 0


def test_the_doubt_is_told_with_its_parts(make_results, tmp_path):
    """Parts, interval of the place and that of the next source come from uncertainty.csv; without it no claim."""
    row = {
        "figure": "short_nights", "value": 1.0, "place_low": 0.2, "place_high": 4.0, "place_share_sampling": 0.3,
        "place_share_climate": 0.4, "place_share_loads": 0.2, "place_share_bank": 0.1, "year_share_weather": 0.5,
        "year_share_climate": 0.3, "year_share_loads": 0.1, "year_share_bank": 0.1,
        "next_low": 0.5, "next_high": 2.0, "next_source": "measured",
    }  # fmt: skip
    assert "Too few losses" in narrowing(make_results(NIGHTS))
    pd.DataFrame([row]).to_csv(tmp_path / "uncertainty.csv", index=False)
    results = replace(make_results(NIGHTS), folder=tmp_path)
    text = narrowing(results)
    for part in (
        "the climate source (40 %)",
        "the number of years (30 %)",
        "the bank (10 %)",
        "the weather (50 %)",
        "daily sunshine",
        "engine.members",
    ):
        assert part in text
    assert {0.2, 4, 0.5, 2} <= set(numbers(text))


def test_a_study_of_whole_pieces_makes_one_offer_of_pieces(make_results, tmp_path):
    """The own design misses; page 1 offers the chosen pieces, not the grid's size."""
    rows = [
        ("chosen", "pane", 4, "case", 2, "small", 65.0, np.nan, 600.0, 100.0, 1960.0, "target", "short_nights",
         0.3, 0.02, 5.3, True, 0.81),
        ("cheaper", "pane", 2, "case", 2, "small", 65.0, np.nan, 300.0, 100.0, 1640.0, "target", "short_nights",
         3.6, 0.5, 26.0, False, 0.1),
    ]  # fmt: skip
    names = (
        "place module modules block blocks controller tilt_deg azimuth_deg array_wp bank_ah cost requirement "
        "statistic value low high meets probability_met"
    )
    pd.DataFrame(rows, columns=names.split()).to_csv(tmp_path / "catalogue_designs.csv", index=False)
    recommended, alternative = choose(replace(make_results(np.full(100, 3)), folder=tmp_path))
    assert (recommended.array_wp, recommended.bank_ah, recommended.cost) == (600, 100, 1960)
    assert recommended.pieces and alternative.is_own


@pytest.mark.parametrize(
    ("chance", "found"),
    [
        (0.8, "meets"),
        (0.79, "likely"),
        (0.5, "likely"),
        (0.49, "unlikely"),
        (0.049, "misses"),
        (np.nan, "unsure"),
    ],
)
def test_the_verdict_follows_the_chance_that_is_asked_for(chance, found):
    """80 % are asked for: a design at 79 % is never called on target."""
    assert judged(chance, 0.8) == found


@pytest.mark.parametrize(
    ("larger", "next_high", "words", "not_words"),
    [
        ("climate", 4.0, ["sunshine measured nearby first", "about 0.2 to 4"], []),
        ("climate", 9.0, ["sunshine measured nearby first"], ["would be"]),
        ("loads", 9.0, ["better sunshine data would hardly help"], ["first"]),
        ("loads", 4.0, ["loads for a week first"], ["0.2 to 4"]),
        ("not told apart", 4.0, ["which helps more is not known"], ["first", "0.2 to 4", "hardly"]),
    ],
)
def test_advice_ranks_data_only_where_the_draws_do(
    make_results, tmp_path, larger, next_high, words, not_words
):
    row = dict(figure="short_nights", value=1.0, place_low=0.2, place_high=9.0, next_source="monthly",
               next_low=0.2, next_high=next_high, place_share_climate=0.5, place_share_loads=0.004,
               larger_share=larger)  # fmt: skip
    pd.DataFrame([row]).to_csv(tmp_path / "uncertainty.csv", index=False)
    text = year_ahead.surer(replace(make_results(NIGHTS), folder=tmp_path))
    assert all(part in text for part in [*words, "cause 50 % of", "loads below 1 %"])
    assert not any(part in text for part in not_words)


def test_a_coming_year_counts_all_years_and_a_bad_one_has_its_chance(make_results):
    """Of 500 years 30 are dark, of which 10 have 20 nights: of 50 years one has as many. Too few years: no claim."""
    nights = np.zeros(500, int)
    nights[:300:10], nights[:100:10] = 2, 20
    own = replace(own_offer(make_results(nights)), share_high=0.42)
    text = year_ahead.expectation(make_results(nights), own)
    assert "every night of a typical winter" in text and "dark in one winter in 17, mostly on" in text
    assert (
        "One winter in 50 has 20 nights or more" in text and "(one chance in 40): four winters in ten" in text
    )
    few = make_results(nights[:100])
    assert "in 50" not in year_ahead.expectation(few, own_offer(few))
    often = make_results(np.full(500, 3))
    assert "typical" not in year_ahead.expectation(often, own_offer(often))


def test_a_change_without_a_price_is_said_to_have_none(make_results, tmp_path):
    names = (
        "first_cost bank_life_years replacements life_cycle_cost yearly_cost yearly_cost_low yearly_cost_high"
    )
    rows = [
        ("study", "", 500, 6.0, 2.5, 900, 60, 50, 70),
        ("whatif", "lithium", np.nan, 12.0, 1.0, *[np.nan] * 4),
    ]
    table = pd.DataFrame(rows, columns=["kind", "whatif", *names.split()])
    table.to_csv(tmp_path / "costs.csv", index=False)
    section = lifetime.section(replace(make_results(NIGHTS), folder=tmp_path))
    shown = section.blocks[-1]
    assert shown.rows[1][1:] == ["no price", "12.0", "1.0", "no price", "no price"]
    assert "has no price for a bank of the other chemistry" in shown.note
    table.head(1).to_csv(tmp_path / "costs.csv", index=False)
    shown = lifetime.section(replace(make_results(NIGHTS), folder=tmp_path)).blocks[-1]
    assert shown.rows == [["As studied", "500", "6.0", "2.5", "900", "60"]] and "no price" not in shown.note


def test_designs_are_compared_by_the_chance_of_the_target_that_all_of_them_know():
    """The grid knows the first target only; all targets together have the smaller chance."""
    both = {"value": 0.91, "each": {"target": 0.954, "dark_december": 0.96}}
    assert first_chance(SimpleNamespace(summary={"probability_met": both})) == 0.954
    assert first_chance(SimpleNamespace(summary={"probability_met": {"value": 0.91}})) == 0.91
