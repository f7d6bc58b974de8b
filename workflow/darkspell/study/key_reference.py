"""List of every key of a study file, written from the models.

``python -m darkspell.study.key_reference > config/README.md``
"""

import sys

from pydantic_core import PydanticUndefined

from darkspell.study.key_tree import bare, bounds, choices, place_of
from darkspell.study.model import Study

HEAD = """\
# Study files

One YAML file is one study: one site, one client. The file's name without its ending is the name of the study. The
results go to `results/<name>/`.

    darkspell new config/mine.yaml      # write a commented study to start from
    darkspell check config/mine.yaml    # find mistakes, and size by hand formulas, at once
    darkspell run config/mine.yaml      # run the study
    snakemake --cores all --configfile config/mine.yaml    # the same with plain Snakemake

The studies in this folder are invented; the `note` of each says so.

    loads:
      fridge:                        # a name of your own: letters, digits, _ and -
        watts: 45                    # units are in the keys and in the tables below
        hours_per_day: 8
        tier: essential
        window: ["00:00", "24:00"]   # local standard time; a window may pass midnight
        months: [5, 6, 7, 8, 9, 10]

    whatifs:
      thrifty_fridge:                # a what-if is a list of changes: the path of a key, and its new value
        loads.fridge.watts: 30
      no_fridge:
        loads.fridge: null           # null removes an entry, or gives a key its default

A study may give differences from another file of its folder, and a file may make several studies:

    extends: base.yaml               # everything of base.yaml, but for what follows
    bank.capacity_ah: 400            # a dotted key, or a section with some of its keys
    loads:
      radio: null
    cross:                           # one study for each combination, here four: <file>_alps_lfp and so on
      site: {alps: {site.latitude_deg: 46.6}, coast: {site.latitude_deg: 54.1}}
      bank: {lfp: {bank.chemistry: lfp}, agm: {bank.chemistry: agm}}

A study of such a file is `<file>.yaml::<name>` where a command takes one. File names in a study (weather, logo) are
those in the folder of its own file.

A key that is not listed here is refused, and the message names the nearest key. A renamed key is refused with its
new name. `18:30` is read as a time and `no` as a word; write `true` or `false`. Repeated keys, anchors, aliases and
tags are refused. A list of twelve values runs from January to December; the range of a list applies to each of its
numbers.

This file is generated: `python -m darkspell.study.key_reference > config/README.md`.
"""
TABLE = "| key | unit | type | default | range | meaning |\n|---|---|---|---|---|---|"
TYPES = {"float": "number", "int": "whole number", "str": "text", "bool": "true / false"}
ENTRY_TYPES = {
    "whatifs": "mapping of dotted keys to values, by name",
    "arrays.<name>.tilt_by_date": "mapping of dates to numbers",
    "sizing.prices.bank_per_ah_by_chemistry": "mapping of chemistries to numbers",
}


def readme():
    """Text of the list, as Markdown."""
    parts, single = [HEAD], []
    for name, field in Study.model_fields.items():
        place = place_of(field)
        if place.sections:
            parts.append(_section(name, field, place))
        else:
            single.append(_row(name, field))
    parts.append("\n".join(["## Keys outside the sections\n", TABLE, *single]) + "\n")
    return "\n".join(parts)


def _section(name, field, place):
    prefix = f"{name}.<name>." if place.entries else f"{name}."
    need = "Required." if field.is_required() else f"May be left out: {_default(field)}."
    lines = [f"## {name}\n", f"{field.description} {need}\n"]
    for model in place.sections:
        if len(place.sections) > 1:
            lines.append(
                f"With `kind: {choices(model.model_fields['kind'])[0]}`: {model.__doc__.splitlines()[0]}\n"
            )
        lines += [TABLE, *_rows(prefix, model), ""]
    return "\n".join(lines)


def _rows(prefix, model):
    for name, field in model.model_fields.items():
        place = place_of(field)
        if place.sections:
            below = f"{prefix}{name}.<name>." if place.entries else f"{prefix}{name}."
            yield from _rows(below, place.sections[0])
        else:
            yield _row(f"{prefix}{name}", field)


def _row(key, field):
    unit = place_of(field).unit or " "
    allowed = bounds(field) or _length(field)
    cells = (f"`{key}`", unit, _type(key, field), _default(field), allowed, field.description)
    return "| " + " | ".join(cells) + " |"


def _type(key, field):
    words = choices(field)
    if words:
        return ", ".join(f"`{word}`" for word in words)
    annotation = bare(field.annotation)
    plain = TYPES.get(getattr(annotation, "__name__", ""))
    return plain or ENTRY_TYPES.get(key) or "list"


def _length(field):
    limits = [item.max_length for item in field.metadata if getattr(item, "max_length", None)]
    return f"up to {limits[0]} characters" if limits and bare(field.annotation) is str else " "


def _default(field):
    note = (field.json_schema_extra or {}).get("default_note")
    if note:
        return note
    if field.is_required():
        return "**required**"
    default = field.default
    if default is None:
        return "none"
    if default is PydanticUndefined or hasattr(default, "model_fields_set"):
        return "its defaults"
    if isinstance(default, bool):
        return "`true`" if default else "`false`"
    if default == "":
        return "empty"
    return f"`{default:g}`" if isinstance(default, int | float) else f"`{default}`".replace("'", '"')


if __name__ == "__main__":
    sys.stdout.write(readme())
