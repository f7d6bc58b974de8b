"""Whether PDFs can be written: their typesetter is the optional extra ``pdf``."""

from importlib.util import find_spec

WITHOUT = "No PDF: its typesetter is not installed. With pip install 'darkspell[pdf]' the next run writes it."


def installed():
    """Whether the extra ``pdf`` is installed.

    Returns
    -------
    bool
    """
    return find_spec("typst") is not None
