"""Sentences for readers: each is a message, English in the source, that a catalogue may translate.

A catalogue is chosen for each document by `translated`; without one, and in all other output, messages stay English.
"""

from contextlib import contextmanager
from contextvars import ContextVar
from gettext import NullTranslations

_translations = ContextVar("translations", default=NullTranslations())  # noqa: B039 (it is never changed)


@contextmanager
def translated(translations):
    """Translate all messages that are asked for meanwhile, in this thread of work only.

    Parameters
    ----------
    translations : gettext.NullTranslations

    Yields
    ------
    gettext.NullTranslations
    """
    before = _translations.set(translations)
    try:
        yield translations
    finally:
        _translations.reset(before)


def _(message):
    """Translate a message into the language of the document at hand.

    Parameters
    ----------
    message : str
        English sentence, with names in braces for what is put in.

    Returns
    -------
    str
    """
    return _translations.get().gettext(message) if message else ""


def ngettext(one, many, count):
    """Translate a message that depends on a count.

    Parameters
    ----------
    one, many : str
        English sentence for one, for any other count.
    count : int

    Returns
    -------
    str
    """
    return _translations.get().ngettext(one, many, int(count))


def N_(message):
    """Mark a message of a constant for the catalogue; `_` translates it where it is used.

    Parameters
    ----------
    message : str

    Returns
    -------
    str
        The same.
    """
    return message
