"""JSON Schema of the study file (draft 2020-12), made from the models: editors complete and check YAML with it.

It says what keys, types, units and ranges there are. What follows from several keys together, such as hours that do
not fit into their window, only `darkspell check` can say.
"""

import json

from pydantic.json_schema import GenerateJsonSchema

from darkspell.study.base import NAME_PATTERN
from darkspell.study.log_format import KINDS as COLUMNS
from darkspell.study.model import Study
from darkspell.study.typing_slips import COMPASS, LETTERS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
STEPS = {
    "type": "object",
    "properties": {
        "from": {"type": "number"},
        "to": {"type": "number"},
        "steps": {"type": "integer", "minimum": 2},
    },
    "required": ["from", "to", "steps"],
    "additionalProperties": False,
}
DIRECTION = {"type": "string", "description": "A compass word.", "examples": [*COMPASS, *LETTERS]}
POSITION = {"type": "integer", "minimum": 1}
# Forms that a key takes as well as that of its model; each has a validator that runs before the model's.
ALSO = {
    "azimuth_deg": DIRECTION, "array_wp": STEPS, "bank_ah": STEPS,
    "missing": {"type": "array", "items": {"type": ["string", "number"]}},
    "time_column": {"anyOf": [POSITION, {"type": "array", "items": {"type": ["string", "integer"]}, "maxItems": 6}]},
    **{f"{kind}_column": POSITION for kind in COLUMNS},
}  # fmt: skip
SINGLE = {"azimuths_deg": DIRECTION}  # forms of the elements of a list


class _Generator(GenerateJsonSchema):
    """Defaults that are models are left out: they would be whole sections."""

    def encode_default(self, default):
        return {} if hasattr(default, "model_fields_set") else super().encode_default(default)


def schema():
    """Schema of a study file.

    Returns
    -------
    dict
        Keys as in `config/README.md`, each with meaning, unit and default. A file with ``extends`` or ``cross`` may
        leave out what another file says, and use dotted keys.
    """
    whole = Study.model_json_schema(schema_generator=_Generator)
    parts = whole.pop("$defs")
    for part in (whole, *parts.values()):
        _section(part)
    differences, fewer = _partial(whole), {f"Part{name}": _partial(part) for name, part in parts.items()}
    differences["properties"] = _of_files() | differences["properties"]
    differences["patternProperties"] = {r"^[a-z_]+\..+$": {"description": "A dotted key and its value."}}
    several = {"anyOf": [{"required": ["extends"]}, {"required": ["cross"]}]}
    return {
        "$schema": DRAFT,
        "title": "darkspell study",
        "type": "object",
        "if": several,
        "then": {"$ref": "#/$defs/Differences"},
        "else": {"$ref": "#/$defs/Study"},
        "$defs": {"Study": whole, "Differences": differences} | parts | fewer,
    }


def _partial(part):
    """A section of which only differences are given: nothing is required, and a kind need not be named."""
    if isinstance(part, list):
        return [_partial(one) for one in part]
    if not isinstance(part, dict):
        return part
    found = {}
    for key, value in part.items():
        if key == "$ref":
            value = value.replace("#/$defs/", "#/$defs/Part")
        if key not in ("required", "discriminator"):
            found["anyOf" if key == "oneOf" else key] = _partial(value)
    return found


def _of_files():
    """Keys that say which files and differences a study is made of, see `darkspell.study.study_files`."""
    changes = {"type": "object", "description": "Dotted keys and their values; null removes an entry."}
    choices = {"type": "object", "patternProperties": {NAME_PATTERN: changes}, "additionalProperties": False}
    return {
        "extends": {
            "type": "string",
            "description": "Study file in this folder that this file differs from.",
        },
        "cross": {
            "type": "object",
            "description": "Lists of named changes; each combination of one of every list is a study.",
            "additionalProperties": choices,
        },
    }


def _section(part):
    """Words of the model made those of a reader, and further forms of keys added, in place."""
    part.pop("title", None)
    required = set(part.get("required", ()))
    for name, entry in part.get("properties", {}).items():
        entry.pop("title", None)
        note, unit = entry.pop("default_note", ""), entry.pop("unit", "")
        more = f" [{unit}]" if unit else ""
        more += f" Default: {note}." if note else ""
        entry["description"] = entry.get("description", "") + more
        if not entry.get("default", True):  # an empty mapping, list or text, None, false, zero
            entry.pop("default") if entry["default"] in (None, "", [], {}) else None
        if "patternProperties" in entry:
            entry["additionalProperties"] = False
        if "items" in entry and name in SINGLE:
            entry["items"] = {"anyOf": [entry["items"], SINGLE[name]]}
        forms = [ALSO[name]] if name in ALSO else []
        if name not in required:
            forms.append({"type": "null"})
        part["properties"][name] = _with_forms(entry, forms)


def _with_forms(entry, forms):
    """A key's schema that takes further forms; meaning and default stay outside, where editors look for them."""
    if not forms:
        return entry
    outside = {key: entry.pop(key) for key in ("description", "default") if key in entry}
    inside = entry.pop("anyOf", None) if set(entry) == {"anyOf"} else None
    return outside | {
        "anyOf": [*(inside or [entry]), *(form for form in forms if form not in (inside or []))]
    }


def schema_text():
    """The schema as JSON."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"
