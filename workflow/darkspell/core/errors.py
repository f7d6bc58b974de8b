"""The one exception that a user is meant to read."""

import unicodedata

BIDI_CONTROLS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


class StudyError(Exception):
    """Bad input, with a message that the user can act on: key or row, value, and cure."""


def printable(text):
    """Text for a terminal, without characters that move its cursor or turn its direction; line ends stay.

    Parameters
    ----------
    text : object
        A message; file names and values in it are the user's.

    Returns
    -------
    str
    """
    return "".join(
        letter
        for letter in str(text)
        if letter in "\n\t" or (letter not in BIDI_CONTROLS and unicodedata.category(letter) != "Cc")
    )
