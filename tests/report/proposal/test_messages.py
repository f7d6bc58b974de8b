"""Sentences of the documents: all marked as messages, and what a catalogue makes of them."""

import ast
import string
from concurrent.futures import ThreadPoolExecutor
from gettext import NullTranslations
from pathlib import Path

import pytest

import darkspell
from darkspell.core.messages import _, ngettext, translated
from darkspell.report import wording as say
from darkspell.report.document.localization import Manner, written
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
