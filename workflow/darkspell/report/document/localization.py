"""How a document is written: the language of its sentences, of its numbers and dates, and its currency.

Sentences are messages, see `darkspell.core.messages`; a catalogue such as ``locale/de.po`` translates them.
A chapter that lacks a message is printed whole in English (`whole`).
"""

import re
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, partial
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.messages import _, translated
from darkspell.report.document.tree import (
    Box,
    Figure,
    Listing,
    Paragraph,
    Rich,
    Subheading,
    Table,
)

LOCALES = Path(__file__).with_name("locale")
CATALOGUES = {"de": "de.po"}  # by language; files of the folder `LOCALES`
# A decimal point between digits; not within versions, names or keys (1.2.3, v1.2, a.1).
DECIMAL = re.compile(r"(?<![\w.])(\d[\d\u202f]*)\.(\d+)(?![\w]|\.\d)")
LETTERS_BEFORE_DIGITS = re.compile(
    r"[^\W\d_](?=\d)"
)  # CHF2,260: the Unicode CLDR parts such a sign from its number
NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:%|°[CF]|k?Wh?|Wp|Ah?|m?V)(?!\w))|(?<=\d) (?=×)|(?<=×) (?=\d)")
KEEP = "\u2060"  # after a point that parts thousands: no decimal point; taken out at the end


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
    about : darkspell.study.site.Document

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


def month_name(month):
    """Name of a calendar month in the language of the document at hand.

    Parameters
    ----------
    month : int
        1 to 12.

    Returns
    -------
    str
    """
    language = current().language
    return MONTH_NAMES[int(month) - 1] if language == "en" else month_names(language)[int(month) - 1]


def month_short(month):
    """Name of a month in at most four letters, for axes: ``Jan``.

    Parameters
    ----------
    month : int
        1 to 12.

    Returns
    -------
    str
    """
    return month_name(month)[:3]


@cache
def month_names(language):
    """Names of the months in a language; tuple of str, January first.

    Parameters
    ----------
    language : str
    """
    from babel.dates import get_month_names

    names = get_month_names("wide", "stand-alone", language)
    return tuple(names[month] for month in range(1, 13))


def month_and_day(month, day):
    """A day of the year: ``12 December``, ``12. Dezember``.

    Parameters
    ----------
    month, day : int

    Returns
    -------
    str
    """
    return _("{day} {month}").format(day=day, month=month_name(month))


def local_date(text, language):
    """A date such as 2026-11-25 written out.

    Parameters
    ----------
    text : str
    language : str

    Returns
    -------
    str
    """
    from babel.dates import format_date

    return format_date(date.fromisoformat(text), format="long", locale=language)


def money(amount, currency, cents=False):
    """A price as the document's locale writes it: ``€2,985``, ``2.985 €``.

    Parameters
    ----------
    amount : float
    currency : str
        Code of ISO 4217, or any label.
    cents : bool
        Whether to print the currency's smaller unit.

    Returns
    -------
    str
    """
    from babel import Locale
    from babel.numbers import format_currency, format_decimal

    locale = Locale.parse(current().numbers)
    if currency in locale.currencies:
        shape = None if cents else _without_cents(locale)
        text = format_currency(amount, currency, shape, locale=locale, currency_digits=cents)
        text = LETTERS_BEFORE_DIGITS.sub("\\g<0>\u00a0", text)
    else:
        label = "".join(letter for letter in currency if letter.isprintable())
        text = f"{format_decimal(amount, '#,##0.00' if cents else '#,##0', locale=locale)}\u00a0{label}"
    return text.replace(".", f".{KEEP}") if locale.number_symbols["latn"]["group"] == "." else text


def _without_cents(locale):
    return re.sub(r"\.0+", "", locale.currency_formats["standard"].pattern)


def local_number(text, language):
    """A text with the decimal points of its numbers as a language writes them.

    Parameters
    ----------
    text : str
    language : str

    Returns
    -------
    str
    """
    from babel import Locale

    symbols = Locale.parse(language).number_symbols["latn"]
    if symbols["decimal"] != "." and not isinstance(text, Rich):
        text = DECIMAL.sub(rf"\g<1>{symbols['decimal']}\g<2>", text)
    return text.replace(KEEP, "") if KEEP in text else text


def localised(document, language):
    """The document with its numbers so written; what is quoted letter for letter stays as it is.

    Thousands are parted by a narrow space in every language, as ISO 80000-1 has it; those of prices as the language
    does. The client's own words (title, facts, Markdown) and the study's keys and values in the appendix stay as they
    were typed.

    Parameters
    ----------
    document : Document
    language : str
        Language code of ISO 639, such as "en".
    """
    turn = partial(local_number, language=language)
    return replace(
        document,
        opening=[_block(block, turn) for block in document.opening],
        sections=[_section(section, turn) for section in document.sections],
    )


def unparted(document):
    """The document with no line broken between a number and its unit; for the writers.

    Parameters
    ----------
    document : Document

    Returns
    -------
    Document
    """

    def turn(text):
        return text if isinstance(text, Rich) else NUMBER_AND_UNIT.sub("\u00a0", text)

    return replace(
        document,
        opening=[_block(block, turn) for block in document.opening],
        sections=[_section(section, turn) for section in document.sections],
        appendix=[_section(section, turn) for section in document.appendix],
    )


def _section(section, turn):
    blocks = [_block(block, turn) for block in section.blocks]
    return replace(section, heading=turn(section.heading), blocks=blocks)


def _block(block, turn):
    if isinstance(block, Paragraph | Subheading):
        return replace(block, text=turn(block.text))
    if isinstance(block, Box):
        return Box(turn(block.heading), [turn(item) for item in block.items])
    if isinstance(block, Listing):
        items = [_block(item, turn) if isinstance(item, Listing) else turn(item) for item in block.items]
        return replace(block, items=items)
    if isinstance(block, Table):
        rows = [[turn(cell) for cell in row] for row in block.rows]
        header = [turn(cell) for cell in block.header]
        return replace(block, rows=rows, header=header, caption=turn(block.caption), note=turn(block.note))
    if isinstance(block, Figure):
        return replace(block, title=turn(block.title), caption=turn(block.caption), alt=turn(block.alt))
    return block
