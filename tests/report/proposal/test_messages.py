"""Sentences of the documents: all marked as messages, and what a catalogue makes of them."""

import ast
import re
import string
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from gettext import NullTranslations
from pathlib import Path

import pytest

import darkspell
from darkspell.core.messages import _, ngettext, translated
from darkspell.report import units
from darkspell.report import wording as say
from darkspell.report.document import language as languages
from darkspell.report.document.language import Manner, written
from darkspell.report.document.localization import month_names
from darkspell.report.figures import schematic
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.build import facts_of
from darkspell.report.proposal.chapters import decision
from darkspell.report.proposal.options import options
from darkspell.report.proposal.sections import sections
from dev import messages

PACKAGE = Path(darkspell.__file__).parent
ALSO_IN = {"{count}"}  # a singular may write its number as a word


def test_the_template_has_every_message():
    """``python -m dev.messages`` writes it again."""
    with messages.TEMPLATE.open("rb") as file:
        held = {entry.id for entry in messages.read_po(file)}
    assert held == {entry.id for entry in messages.collected()}


def test_no_message_is_marked_within_an_f_string():
    """Extraction does not look into f-strings."""
    marks = set(messages.KEYWORDS)
    hidden = [
        f"{path}:{call.lineno}"
        for path in PACKAGE.rglob("*.py")
        for text in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(text, ast.JoinedStr)
        for call in ast.walk(text)
        if isinstance(call, ast.Call)
        and getattr(call.func, "attr", getattr(call.func, "id", "")) in marks
        and any(isinstance(part, ast.Constant) and isinstance(part.value, str) for part in call.args)
    ]
    assert not hidden


def placeholders(text):
    return {
        f"{{{name}{':' + spec if spec else ''}}}"
        for _, name, spec, _ in string.Formatter().parse(text)
        if name
    }


@pytest.mark.parametrize("language", messages.CATALOGUES)
def test_a_translation_has_the_placeholders_of_its_message(language):
    with (messages.LOCALES / messages.CATALOGUES[language]).open("rb") as file:
        for entry in messages.read_po(file, language):
            if not entry.id:
                continue
            ids, texts = map(messages._forms, (entry.id, entry.string))
            wanted = set().union(*map(placeholders, ids))
            for text in filter(None, texts):
                lacking = wanted - placeholders(text)
                assert placeholders(text) <= wanted and lacking <= (ALSO_IN if len(ids) > 1 else set()), text


def test_a_message_is_english_without_a_catalogue():
    assert _("Contents") == "Contents"
    assert ngettext("{count} day", "{count} days", 2) == "{count} days"
    assert say.count_of(1, "{count} day", "{count} days") == "one day"


class Upper(NullTranslations):
    def gettext(self, message):
        return message.upper()


def test_a_catalogue_ends_with_its_block():
    with translated(Upper()):
        assert _("Contents") == "CONTENTS"
    assert _("Contents") == "Contents"


def test_two_documents_of_one_process_do_not_share_a_language():
    def word(language):
        with written(Manner(language)), ThreadPoolExecutor(1) as pool:
            return pool.submit(_, "Contents").result(), _("Contents")

    outside, inside = word("de")
    assert outside == "Contents"
    assert word("en") == ("Contents", "Contents")
    assert inside in ("Inhalt", "Contents")


class Bracketed(NullTranslations):
    """A language in which every message stands in brackets, so that what is no message shows."""

    def gettext(self, message):
        return f"⟦{message}⟧"

    def ngettext(self, one, many, count):
        return self.gettext(one if count == 1 else many)


def unbracketed(text):
    """What of a text is outside brackets, without names in quotation marks."""
    kept, depth = "", 0
    for letter in text:
        depth += (letter == "⟦") - (letter == "⟧")
        kept += letter if depth == 0 and letter != "⟧" else ""
    return re.sub("“[^”]*”", "", kept)


@pytest.mark.parametrize("nights", [[0] * 30 + [2] * 10, [0] * 40, [1] * 4], ids=["some", "none", "trial"])
@pytest.mark.parametrize("meeting", [True, False])
def test_the_clients_document_holds_no_sentence_that_is_not_marked(
    make_results, monkeypatch, nights, meeting
):
    monkeypatch.setattr(languages, "catalogue", lambda language: Bracketed())
    results = make_results(nights, {"document.language": "de"}, meeting=meeting)
    assert not unmarked(proposal(results), results.study)


def unmarked(made, *studies, names=()):
    """Texts of a document that hold words of no message and of no name that a study gives."""
    allowed = {"kWh", "Wp", *names, *month_names("de")}
    for study in studies:
        about = study.document
        entries = [*study.loads, *study.arrays, *study.monitors, *study.chargers]
        allowed |= {about.title, about.client, about.prepared_by, about.note, study.site.name}
        allowed |= set(map(name_in_words, entries))
    found = []
    for text in made.texts():
        rest = unbracketed(text)
        for known in sorted(allowed, key=len, reverse=True):
            rest = rest.replace(known, "") if known else rest
        if re.search("[A-Za-z]{3,}", rest):
            found.append(rest)
    return found


def options_of(make_results):
    """An offer of two options in German, a small bank and a large one."""
    changes = {"document.language": "de", "document.title": "Hut"}
    often, seldom = [0] * 30 + [2] * 10, [0] * 39 + [1]
    return [make_results(often, changes), make_results(seldom, changes | {"bank.capacity_ah": 300})]


def test_an_offer_of_options_holds_no_sentence_that_is_not_marked(make_results, monkeypatch):
    monkeypatch.setattr(languages, "catalogue", lambda language: Bracketed())
    many = options_of(make_results)
    studies = [one.study for one in many]
    names = {"Bank, capacity", *(str(study.name) for study in studies)}
    assert not unmarked(replace(options(many), appendix=[]), *studies, names=names)


def test_an_offer_of_options_is_whole_in_german(make_results):
    made = options(options_of(make_results))
    assert all(section.language == "" for section in made.sections)
    assert "Variante A" in " ".join(made.texts()) and made.title == "Hut: zwei Varianten"


def test_the_annex_holds_no_sentence_that_is_not_marked(make_results, monkeypatch):
    """Without the keys of the study, the constants with their sources, and the methods of the headline figures."""
    monkeypatch.setattr(languages, "catalogue", lambda language: Bracketed())
    results = make_results([0] * 30 + [2] * 10, {"document.language": "de"})
    made = annex(results)
    whatifs = {"Thrifty lamp", "No radio", "made by hand"}
    names = {*whatifs, *(f"{word}, " for word in ("Lamp", "Radio"))}
    assert not unmarked(replace(made, appendix=made.appendix[:1]), results.study, names=names)


def test_the_annex_is_whole_in_german(make_results):
    made = annex(make_results([0] * 30 + [2] * 10, {"document.language": "de"}))
    assert all(section.language == "" for section in (*made.sections, *made.appendix))


@pytest.mark.parametrize("language", messages.CATALOGUES)
def test_a_catalogue_is_complete(language):
    assert messages.missing(language) == []


def test_the_clients_document_is_whole_in_german(make_results):
    """No message of the default study's document falls back to English."""
    results = make_results([0] * 30 + [2] * 10, {"document.language": "de"})
    manner = languages.manner_of(results.study.document)
    with written(manner):
        sections(results, "client")
        decision.opening(results)
        facts_of(results.study)
        schematic.page(results)
    assert not manner.missing
    made = proposal(results)
    assert all(section.language == "" for section in made.sections)
    assert "Wir empfehlen" in " ".join(made.texts()) or "Keine verglichene Größe" in " ".join(made.texts())


def test_german_writes_numbers_months_and_dates_its_way(make_results):
    changes = {"document.language": "de", "document.date": "2026-11-25", "target.at_most": 0.25}
    made = proposal(make_results([0] * 30 + [2] * 10, changes))
    texts = " ".join(made.texts())
    assert "25. November 2026" in texts and "0,25 Nächte" in texts
    assert "Dezember" in texts and "December" not in texts


@pytest.mark.parametrize(
    "celsius, metric, us",
    # NIST Special Publication 811 (2008), B.8: t/°F = 1.8 t/°C + 32
    [(0.0, "0 °C", "32 °F"), (100.0, "100 °C", "212 °F"), (-40.0, "−40 °C", "−40 °F")],
)
def test_temperatures_in_both_units(celsius, metric, us):
    assert units.temperature(celsius) == metric
    with written(Manner(units="us")):
        assert units.temperature(celsius) == us


def test_lengths_and_volumes_in_us_units():
    """NIST Special Publication 811 (2008), B.8: a foot is 0.3048 m, a US gallon 3.785 412 l."""
    with written(Manner(units="us")):
        assert units.height(304.8) == "1000 ft"
        assert units.volume_value(3.785412) == pytest.approx(1.0, rel=1e-6)
        assert units.price_of_volume(1.0) == pytest.approx(3.785412, rel=1e-6)
        assert units.air_flow_value(1.0) == pytest.approx(35.3147, rel=1e-5)


def test_values_of_keys_in_us_units():
    """As above: 5 °C is 41 °F, 304.8 m are 1000 ft; other units stay."""
    with written(Manner(units="us")):
        assert units.key_value(5.0, "°C") == (41.0, "°F") and units.key_value(304.8, "m") == (1000, "ft")
        assert units.key_value(7.5, "Ah") == (7.5, "Ah")
    assert units.key_value(5.0, "°C") == (5.0, "°C")


@pytest.mark.parametrize("chemistry, unit", [("lfp", "°F"), ("flooded", "ft³ of air")])
def test_the_clients_document_in_us_units_names_no_metric_one(make_results, chemistry, unit):
    results = make_results([0] * 30 + [2] * 10, {"document.units": "us", "bank.chemistry": chemistry})
    texts = " ".join(proposal(results).texts())
    assert unit in texts and " ft)" in texts
    assert not re.search(r"°C|degC| m³|\d m\)", texts)
