"""YAML as a careful reader takes it: 18:30 stays a time, no stays a word, nothing is said twice."""

import re
from difflib import get_close_matches

import yaml

from darkspell.core.errors import StudyError
from darkspell.study.typing_slips import line_cure

LARGEST_FILE = 1_000_000
DEEPEST = 12
CURES = {  # by words of the parser's own message
    "mapping values are not allowed": "put a text with a colon in it between quotes, and look at the indents",
    "'\\t'": "indent with spaces, not with tabs",
    "expected <block end>": "keys of one section begin in one column",
    "expected ',' or ']'": "close the list with ] on the line before",
    "expected ',' or '}'": "close the mapping with } on the line before",
    "found another document": "a study is one document; remove the line ---",
    "could not find expected ':'": "a key ends with a colon and a space",
}


class _Reader(yaml.SafeLoader):
    """SafeLoader without YAML 1.1's guesses; only null, true, false and decimal numbers are not texts.

    Base-60 integers (18:30 = 1110), octal (010 = 8), yes/no, dates and merge keys are gone; anchors,
    aliases, tags and repeated keys are refused.
    """

    yaml_implicit_resolvers = {}
    depth = 0

    def compose_node(self, parent, index):
        event = self.peek_event()
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _fault(event, "anchors (&) and aliases (*) are not read; write the value out")
        if getattr(event, "tag", None):
            raise _fault(event, f"the tag {event.tag!r} is not read; remove it")
        self.depth += 1
        if self.depth > DEEPEST:
            raise _fault(event, f"more than {DEEPEST} levels of nesting; a study has four or five")
        node = super().compose_node(parent, index)
        self.depth -= 1
        return node

    def construct_mapping(self, node, deep=False):
        mapping, seen = {}, {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                raise _fault(key_node, "a key must be a single word")
            name = key_node.value
            if name in mapping:
                raise _fault(
                    key_node, f"the key {name!r} is here again, first on line {seen[name]}; keep one"
                )
            seen[name] = key_node.start_mark.line + 1
            mapping[name] = self.construct_object(value_node, deep=True)
        return mapping

    def construct_whole(self, node):
        text = self.construct_scalar(node)
        if len(text) > 40:
            raise _fault(node, "a number of more than 40 digits")
        return int(text, 10)

    def construct_decimal(self, node):
        text = self.construct_scalar(node).lower()
        return float(text.replace(".inf", "inf").replace(".nan", "nan"))

    def construct_map(self, node):
        return self.construct_mapping(node)


_NUMBER = r"[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?"
for _tag, _pattern, _first in (
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+", list("-+0123456789")),
    ("float", rf"{_NUMBER}|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)", list("-+0123456789.")),
):
    _Reader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(rf"^(?:{_pattern})$"), _first)
_Reader.add_constructor("tag:yaml.org,2002:int", _Reader.construct_whole)
_Reader.add_constructor("tag:yaml.org,2002:float", _Reader.construct_decimal)
_Reader.add_constructor("tag:yaml.org,2002:map", _Reader.construct_map)


def _cure(problem, text, mark):
    """What to do about a fault: seen in its line or the line before it, or known from the parser's words."""
    if mark is not None:
        lines = text.splitlines()
        for number in (mark.line, mark.line - 1):
            cure = line_cure(lines[number]) if 0 <= number < len(lines) else ""
            if cure:
                return f"; line {number + 1}: {cure}"
    return next((f"; {cure}" for words, cure in CURES.items() if words in problem), "")


def _fault(place, text):
    return StudyError(f"line {place.start_mark.line + 1}: {text}")


def read_yaml(text):
    """One YAML document as dictionaries, lists, texts and numbers.

    Parameters
    ----------
    text : str
        The document. Mapping keys are always texts, also those that look like numbers.

    Returns
    -------
    object

    Raises
    ------
    darkspell.core.errors.StudyError
        With the line, for anything that is not plain YAML.
    """
    try:
        return yaml.load(text, Loader=_Reader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = f"line {mark.line + 1}, column {mark.column + 1}: " if mark else ""
        problem = error.problem or error.context
        raise StudyError(f"{where}not readable as YAML ({problem}){_cure(problem, text, mark)}") from None
    except yaml.YAMLError as error:
        if "\0" in text:
            line = text[: text.index("\0")].count("\n") + 1
            raise StudyError(f"line {line}: not readable as YAML (a NUL character); remove it") from None
        raise StudyError(f"not readable as YAML ({' '.join(str(error).split())[:200]})") from None
    except (ValueError, OverflowError):
        raise StudyError(r"not readable as YAML (an escape such as \U00110000 names no character)") from None


def tree_of(text):
    """Nodes of a YAML document that `read_yaml` reads, with the lines and the words as written.

    Parameters
    ----------
    text : str

    Returns
    -------
    yaml.Node or None
    """
    return yaml.compose(text, Loader=_Reader)


def read_file(path):
    """Text of a study file, or one clear message; see `read_yaml` for the errors.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    object

    Raises
    ------
    darkspell.core.errors.StudyError
        If the file cannot be read, is too large, or is not valid YAML.
    """
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise StudyError(f"{path}: is a folder; give the study file in it")
        if size > LARGEST_FILE:
            raise StudyError(
                f"{path}: {size / 1e6:.1f} MB is no study file; the most is {LARGEST_FILE / 1e6:g} MB"
            )
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, ValueError) as error:
        raise StudyError(f"{path}: {_why(error, path)}") from None
    try:
        return read_yaml(text)
    except StudyError as error:
        raise StudyError(f"{path}: {error}") from None


def _why(error, path):
    if isinstance(error, FileNotFoundError):
        there = {one.stem: one for one in path.parent.glob("*.y*ml")} if path.parent.is_dir() else {}
        near = get_close_matches(path.stem, there, n=1)
        if near:
            return f"no such file; did you mean {there[near[0]]}?"
        return "no such file; check the path, or make one with: darkspell new <path>"
    if isinstance(error, UnicodeDecodeError):
        return f"byte {error.start + 1} is not UTF-8; save the file as UTF-8 text"
    return f"cannot be read ({getattr(error, 'strerror', None) or error})"
