"""Reference of the public functions, from their docstrings: ``python -m dev.api_reference`` writes it."""

import inspect
import re
import sys
from pathlib import Path
from textwrap import fill

import darkspell
from darkspell import api, plot
from darkspell.core.atomic_files import write_text
from darkspell.report.tables.hourly_dataset import VARIABLES

PATH = Path(darkspell.__file__).parent / "README.md"
HEAD = """\
# Public functions

`import darkspell` gives the functions below. They need no Snakemake and write no files. `config/first_study.ipynb` is
a notebook that uses all of them. A study is a YAML file, a mapping with the same keys, or what `read_study` returns;
`config/README.md` lists the keys. `results/README.md` gives unit and meaning of every column of the tables.
Invalid input raises `darkspell.core.errors.StudyError` with all faults in one message.

This page is written from the docstrings by `python -m dev.api_reference`.
"""
WIDTH = 118
SECTIONS = ("Parameters", "Returns", "Raises")


def reference():
    """The page; str."""
    parts = [HEAD, "## Studies and results\n"]
    parts += [_entry(f"darkspell.{name}", getattr(api, name)) for name in ("read_study", "simulate")]
    parts += ["## `Results`\n", _body(api.Results.__doc__, skip=("Parameters",))]
    parts += [_member(name, part) for name, part in vars(api.Results).items() if _shown(name, part)]
    parts += ["## Variables of `Results.hourly`\n", _variables(), "## Sizes, changes, measured years\n"]
    parts += [_entry(f"darkspell.{name}", getattr(api, name)) for name in ("size", "what_if", "replay")]
    parts += ["## Plots\n", _body(plot.__doc__)]
    parts += [_entry(f"darkspell.plot.{name}", part) for name, part in _plots()]
    return "\n\n".join(part.strip() for part in parts) + "\n"


def _plots():
    for name, part in vars(plot).items():
        if inspect.isfunction(part) and part.__module__ == plot.__name__ and not name.startswith("_"):
            yield name, part


def _shown(name, part):
    return not name.startswith("_") and bool(_function(part))


def _function(part):
    """The function behind a method or property; None where there is none."""
    part = getattr(part, "fget", None) or getattr(part, "func", None) or part
    return part if inspect.isfunction(part) else None


def _member(name, part):
    function = _function(part)
    if inspect.isfunction(part):
        words = str(inspect.signature(function)).replace("(self, ", "(").replace("(self", "(")
        return _headed(f"Results.{name}{words}", function.__doc__)
    return _headed(f"Results.{name}", function.__doc__)


def _entry(name, function):
    return _headed(f"{name}{inspect.signature(function)}", function.__doc__)


def _headed(title, text):
    return f"### `{title}`\n\n{_body(text)}"


def _body(text, skip=()):
    """A docstring in Markdown."""
    found = [_marked("\n".join(_split(text)[""])).strip()]
    for title, lines in _split(text).items():
        if title and title not in skip:
            items = _items(lines, named=title == "Parameters")
            wrapped = [fill(item, WIDTH, subsequent_indent="  ", break_long_words=False) for item in items]
            found.append("\n".join([f"{title}:\n", *wrapped]))
    return "\n\n".join(found)


def _split(text):
    """Lines of a numpy docstring by section, the text in front under an empty name."""
    found, title = {"": []}, ""
    for line in inspect.cleandoc(text).splitlines():
        if line in SECTIONS:
            title, found[line] = line, []
        elif not (title and re.fullmatch("-+", line)):
            found[title].append(line)
    return found


def _items(lines, named):
    """Entries of a section as items of a list, each with the lines that are indented below it."""
    entries = []
    for line in filter(str.strip, lines):
        if line.startswith(" "):
            entries[-1][1].append(line.strip())
        else:
            names, _, kind = line.partition(" : ")
            kind = f" ({kind})" if kind else ""
            entries.append((f"- `{names}`{kind}" if named else f"- {line}", []))
    return [_marked(": ".join([head, " ".join(words)] if words else [head])) for head, words in entries]


def _marked(text):
    return text.replace("``", "`")


def _variables():
    rows = "".join(f"| `{name}` | {unit} | {words} |\n" for name, (unit, words) in VARIABLES.items())
    return f"| variable | unit | meaning |\n|---|---|---|\n{rows}"


if __name__ == "__main__":
    write_text(PATH, reference())
    print(f"{PATH} is written", file=sys.stderr)
