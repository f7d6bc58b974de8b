"""Months, dates and prices as a document's language and locale write them."""

import re
from datetime import date
from functools import cache

from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.messages import _
from darkspell.report.document.language import current
from darkspell.report.document.number_texts import KEEP

LETTERS_BEFORE_DIGITS = re.compile(
    r"[^\W\d_](?=\d)"
)  # CHF2,260: the Unicode CLDR parts such a sign from its number


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
    """Names of the months in a language.

    Parameters
    ----------
    language : str

    Returns
    -------
    tuple of str, January first
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
