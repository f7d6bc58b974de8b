"""Messages of the documents and their catalogues: ``python -m dev.messages``.

It collects all marked messages of the package in ``darkspell.pot``, brings the catalogue of each language up to date
with them, and counts what a catalogue lacks. A translator fills the empty ``msgstr`` of ``<language>.po``; for a new
language add its file to ``CATALOGUES`` of `darkspell.report.document.language`.
"""

import argparse
import re
import sys
from io import BytesIO

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from darkspell.core.atomic_files import write_text
from darkspell.core.jit_cache import PACKAGE
from darkspell.report.document.language import CATALOGUES, LOCALES

# What marks a message, and which arguments hold it; as in `pybabel extract --keyword`.
KEYWORDS = {
    "_": None,
    "N_": None,
    "ngettext": (1, 2),
    "count_of": (2, 3),
    "counted": (2, 3),
    "whole_range": (3, 4),
}
TEMPLATE = LOCALES / "darkspell.pot"
WIDTH = 110
KEPT = ("MIME-Version", "Content-Type", "Content-Transfer-Encoding", "Plural-Forms", "Language:")
HEADER = re.compile(r'^"[A-Z][\w-]+: .*\\n"\n', re.MULTILINE)


def collected():
    """All messages that the package marks; `Catalog`.

    Returns
    -------
    babel.messages.catalog.Catalog
    """
    made = Catalog(fuzzy=False)
    rows = extract_from_dir(PACKAGE, [("**.py", "python")], keywords=KEYWORDS)
    for name, _line, message, comments, context in sorted(rows, key=lambda row: row[:2]):
        made.add(message, None, [(name, None)], auto_comments=comments, context=context)
    return made


def missing(language):
    """Messages that the catalogue of a language lacks.

    Parameters
    ----------
    language : str

    Returns
    -------
    list of str
        In the order of the sources; of two forms the singular.
    """
    held, lacking = _read(language), []
    for message in collected():
        if message.id:
            entry = held.get(message.id)
            if entry is None or entry.fuzzy or not all(_forms(entry.string)):
                lacking.append(_forms(message.id)[0])
    return lacking


def _forms(text):
    return text if isinstance(text, list | tuple) else (text,)


def _read(language):
    with (LOCALES / CATALOGUES[language]).open("rb") as file:
        return read_po(file, language)


def written(catalog):
    """A catalogue as a file's text: without dates and line numbers, which would change with every line of code.

    Parameters
    ----------
    catalog : babel.messages.catalog.Catalog

    Returns
    -------
    str
    """
    file = BytesIO()
    catalog.header_comment = "# Messages of darkspell's documents; see `python -m dev.messages`."
    write_po(file, catalog, WIDTH, sort_by_file=True, include_lineno=False, ignore_obsolete=True)
    text = file.getvalue().decode()
    return HEADER.sub(lambda line: line[0] if line[0][1:].startswith(KEPT) else "", text)


def main(words=None):
    """Renew template and catalogues; exit code 0.

    Parameters
    ----------
    words : list of str, optional
    """
    asked = argparse.ArgumentParser("python -m dev.messages", description=__doc__.partition("\n")[0])
    asked.add_argument("--missing", metavar="LANGUAGE", help="write nothing; list what this catalogue lacks")
    given = asked.parse_args(words)
    if given.missing:
        if given.missing not in CATALOGUES:
            print(f"{given.missing}: no such catalogue; there is {', '.join(CATALOGUES)}", file=sys.stderr)
            return 1
        lacking = missing(given.missing)
        print("\n".join([*lacking, f"{len(lacking)} of {len(collected())} messages are missing"]))
        return 0
    template = collected()
    write_text(TEMPLATE, written(template))
    for language in CATALOGUES:
        catalog = _read(language)
        catalog.update(template, no_fuzzy_matching=True, update_header_comment=False)
        write_text(LOCALES / CATALOGUES[language], written(catalog))
        print(f"{language}: {len(missing(language))} of {len(template)} messages are missing")
    return 0


if __name__ == "__main__":
    sys.exit(main())
