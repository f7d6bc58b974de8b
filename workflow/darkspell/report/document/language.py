"""The language of a document: how it is written, its catalogue, and sections that are whole in one language.

Sentences are messages, see `darkspell.core.messages`; a catalogue such as ``locale/de.po`` translates them.
A chapter that lacks a message is printed whole in English (`whole`).
"""

from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from functools import cache
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path

from darkspell.core.messages import _, translated
from darkspell.report.document.tree import Paragraph

LOCALES = Path(__file__).with_name("locale")
CATALOGUES = {"de": "de.po"}  # by language; files of the folder `LOCALES`


@dataclass(frozen=True)
class Manner:
    """How the document at hand is written.

    Parameters
    ----------
    language : str
        Of the sentences, as in BCP 47.
    numbers : str
        Language whose way of writing numbers, dates and prices is used.
    units : {"metric", "us"}
    missing : set of str
        Messages asked for that the language's catalogue lacks.
    """

    language: str = "en"
    numbers: str = "en"
    units: str = "metric"
    missing: set = field(default_factory=set, compare=False)


PLAIN = Manner()
_manner = ContextVar("manner")


def current():
    """Manner of the document at hand; English and metric where none is being written."""
    return _manner.get(PLAIN)


@contextmanager
def written(manner):
    """Write all that follows in a manner.

    Parameters
    ----------
    manner : Manner

    Yields
    ------
    Manner
    """
    before = _manner.set(manner)
    try:
        with translated(catalogue(manner.language)):
            yield manner
    finally:
        _manner.reset(before)


def manner_of(about):
    """Manner that a study asks for.

    Parameters
    ----------
    about : darkspell.study.document.Document

    Returns
    -------
    Manner
    """
    return Manner(about.language, about.locale, about.units)


class _Missing(NullTranslations):
    """End of every catalogue: a message that it lacks stays English and is recorded."""

    def gettext(self, message):
        current().missing.add(message)
        return message

    def ngettext(self, one, many, count):
        current().missing.add(one)
        return one if count == 1 else many


@cache
def catalogue(language):
    """Translations of one language; all that it lacks stays English.

    Parameters
    ----------
    language : str

    Returns
    -------
    gettext.NullTranslations
    """
    if language == "en":
        return NullTranslations()
    from babel.messages.mofile import write_mo  # only documents in another language need these
    from babel.messages.pofile import read_po

    compiled = BytesIO()
    with (LOCALES / CATALOGUES[language]).open("rb") as file:
        write_mo(compiled, read_po(file, language))
    compiled.seek(0)
    found = GNUTranslations(compiled)
    found.add_fallback(_Missing())
    return found


def labels(language):
    """Words that the writers themselves print, in a document's language.

    Parameters
    ----------
    language : str

    Returns
    -------
    dict of str
    """
    with written(Manner(language)):
        return {
            "contents": _("Contents"),
            "appendix": _("Appendix"),
            "table": _("Table"),
            "figure": _("Figure"),
            "logo": _("Logo"),
            "enlarge": _("Enlarge this figure"),
            "smaller": _("Show it whole"),
            "update": _("Update this field to list the contents."),
        }


def in_one_language(make):
    """What a function makes, all in the document's language, or all in English where a message is missing.

    Parameters
    ----------
    make : callable
        Without arguments.

    Returns
    -------
    made : object
    complete : bool
        Whether it is in the document's language.
    """
    manner = current()
    with written(replace(manner, missing=set())) as tried:
        made = make()
    if not tried.missing:
        return made, True
    manner.missing.update(tried.missing)
    with written(replace(manner, language="en")):
        return make(), False


def whole(make):
    """A section in one language: in English with a note where the catalogue lacks one of its sentences.

    Parameters
    ----------
    make : callable
        Without arguments; returns a `Section`.

    Returns
    -------
    Section
    """
    section, complete = in_one_language(make)
    if complete:
        return section
    note = Paragraph(_("This section is not translated yet; it is printed in English."), "note")
    return replace(section, blocks=[note, *section.blocks], language="en")
