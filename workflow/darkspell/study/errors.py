"""Every fault of a study in words: key, value, unit, what is allowed, the cure."""

import json
import re
from difflib import get_close_matches

from darkspell.study.base import NAME_PATTERN, Faults
from darkspell.study.error_words import KINDS, NICKNAMES, PATTERNS, REMOVED, SYNONYMS, TYPES
from darkspell.study.key_tree import bounds, choices, every_key, find, known_keys, place_of
from darkspell.study.model import Study
from darkspell.study.renamed_keys import RENAMED_VALUES, new_name
from darkspell.study.typing_slips import number_cure, word_cure

FULL = 20  # faults in full; the rest is counted
LONGEST = 280  # characters of one fault
LISTED = 500  # faults that are looked through for old names

_FOLLOWS = "default_factory_not_called"  # a default that could not follow from a key already reported
_NUMBERS = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")


def faults_of(error):
    """Faults in a pydantic ValidationError of a study.

    Parameters
    ----------
    error : pydantic.ValidationError

    Returns
    -------
    list of str
        One sentence or two each, beginning with the dotted key.
    """
    items = _without_consequences(error.errors(include_url=False))
    faults = [fault for item in items[:FULL] for fault in _sentences(item)]
    # Beyond these only the number counts; a search for the nearest key would take minutes.
    return faults + [f"{_dotted(_path(item['loc']), '')}: is not allowed" for item in items[FULL:]]


def _without_consequences(items):
    """Errors without those that only follow from another: a default, and a key given under its old name."""
    renamed = {
        _dotted([*_path(item["loc"])[:-1], new.rpartition(".")[2]], "")
        for item in items[:LISTED]
        if item["type"] == "extra_forbidden" and (new := new_name(_path(item["loc"])))
    }
    return [
        item
        for item in items
        if item["type"] != _FOLLOWS
        and not _other_type(item)
        and not (item["type"] == "missing" and _dotted(_path(item["loc"]), "") in renamed)
    ]


def report(name, faults):
    """Faults as one message of a screen at most, headed by the name of the file.

    Parameters
    ----------
    name : str
        Of the file.
    faults : list of str

    Returns
    -------
    str
        The first `FULL` faults, each cut to `LONGEST` characters, and how many more there are.
    """
    if len(faults) == 1:
        return f"{name}: {_cut(faults[0])}"
    lines = [f"{name}: {len(faults)} faults", *(f"  - {_cut(fault)}" for fault in faults[:FULL])]
    if len(faults) > FULL:
        lines.append(f"  and {len(faults) - FULL} more; correct these first")
    return "\n".join(lines)


def _cut(fault):
    """One fault on one line of bounded length."""
    fault = " ".join(fault.split())
    return fault if len(fault) <= LONGEST else f"{fault[: LONGEST - 60]} ... {fault[-55:]}"


def shown(value, unit=""):
    """A value as the user wrote it, shortened, with its unit.

    Parameters
    ----------
    value : object
    unit : str

    Returns
    -------
    str
    """
    if isinstance(value, dict):
        return "a mapping" if value else "a mapping without entries"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if value is None:
        return "nothing"
    if isinstance(value, float):
        text = f"{value:.12g}"
    elif isinstance(value, str):
        text = json.dumps(value if len(value) <= 40 else value[:37] + "...", ensure_ascii=False)
    else:
        text = json.dumps(value, default=str)[:40]
    measured = unit and isinstance(value, int | float) and not isinstance(value, bool)
    return f"{text} {unit}" if measured and unit != "-" else text


def unknown(parts, kind=None):
    """Message on a key that does not exist: the nearest key, or the keys that exist.

    Parameters
    ----------
    parts : sequence of str
        The key, split at its dots.
    kind : str, optional
        Of the monitor or charger that it was given to.

    Returns
    -------
    str
    """
    name, here = parts[-1], known_keys(parts[:-1])
    renamed = new_name(parts)
    if renamed:
        return f"was renamed; write {renamed}"
    if kind and name in here:
        return f"is no key of kind: {kind}; remove it, or change kind"
    same = SYNONYMS.get(str(name).lower())
    begun = sorted((key for key in here if key.startswith(str(name))), key=len)
    near = [same] if same in here else begun[:1] if len(str(name)) > 2 else []
    near = near or get_close_matches(str(name).lower(), here, n=1, cutoff=0.55)
    if near:
        return f"unknown key; did you mean {near[0]}?"
    elsewhere = [key for key, _, _ in every_key() if key.rpartition(".")[2] == name]
    if elsewhere:
        return f"unknown here; did you mean {elsewhere[0]}?"
    return f"unknown key; known here: {', '.join(here)}" if here else "unknown key; remove it"


def _sentences(item):
    parts = _path(item["loc"])
    if item["type"] in ("union_tag_invalid", "union_tag_not_found"):
        parts = [*parts, "kind"]
    own = item.get("ctx", {}).get("error")
    if isinstance(own, Faults):
        return [f"{_dotted(parts, key)}: {text}" for key, text in own.pairs]
    return [f"{_dotted(parts, '')}: {_sentence(item, parts)}"]


def _path(loc):
    """Key as written: pydantic adds the kind of a monitor and a mark for faulty names."""
    parts = [str(part) for part in loc if part != "[key]" and not _is_internal(part)]
    if len(parts) > 3 and parts[2] in KINDS.get(parts[0], ()):
        del parts[2]
    return parts


def _other_type(item):
    """Whether an error says only that a list is no text, or a text no list, where both are allowed."""
    wrong = {"string_type": "constrained-str", "list_type": "list[constrained-str]"}.get(item["type"])
    is_list = isinstance(item["input"], list)
    return wrong in item["loc"] and is_list == (item["type"] == "string_type")


def _is_internal(part):
    """Whether a part of a path is the validator's own name of one of several types."""
    return isinstance(part, str) and (part == "constrained-str" or part.startswith("list["))


def _dotted(parts, key):
    if key.startswith("."):
        return key[1:]
    dotted = "".join(f"[{int(part) + 1}]" if part.isdecimal() else f".{part}" for part in parts).lstrip(".")
    return ".".join(part for part in (dotted, key) if part) or "study file"


def _sentence(item, parts):
    kind, value = item["type"], item["input"]
    field_parts = [part for part in parts if not part.isdecimal() or parts[0] == "whatifs"]
    tag = _kind(item["loc"])
    place = _of_kind(field_parts, tag) or find(field_parts)
    unit = place.unit if place and place.unit != "HH:MM" else ""
    if kind == "extra_forbidden":
        return unknown(parts, tag)
    if kind == "union_tag_not_found":
        return f"is missing; add it ({', '.join(KINDS[parts[0]])}). {place.field.description}"
    if kind == "union_tag_invalid":
        return _wrong_kind(parts[0], value.get("kind"))
    if kind == "missing":
        return _missing(place, unit)
    if item["loc"] and item["loc"][-1] == "[key]":
        return _no_name(item)
    if kind == "value_error":
        return f"{shown(value, unit)} {item['ctx']['error']}" if _plain(value) else str(item["ctx"]["error"])
    return f"{shown(value, unit)} is not allowed; {_allowed(item, place, unit)}"


def _kind(loc):
    """Kind of the monitor or charger that an error is in, as the validator adds it to the key; None without."""
    return loc[2] if len(loc) > 3 and loc[2] in KINDS.get(loc[0], ()) else None


def _of_kind(parts, kind):
    """Place of a key of a monitor or charger of some kind; None where it has none."""
    if kind is None or len(parts) != 3:
        return None
    models = place_of(Study.model_fields[parts[0]]).sections
    model = next(one for one in models if kind in choices(one.model_fields["kind"]))
    field = model.model_fields.get(parts[2])
    return place_of(field) if field else None


def _wrong_kind(section, given):
    """Message on a kind that is none of a section's."""
    if section == "chargers" and str(given).lower() in ("generator", "genset"):
        return f"{shown(given)} is not allowed; a generator has a section of its own: generator"
    return f"{shown(given)} is not allowed; {_options(given, KINDS[section])}"


def _no_name(item):
    asked = _asked(item, "")
    return (
        f"is not allowed here; give {asked}"
        if asked
        else "is no name; use letters, digits, _ and -, at most 40"
    )


def _asked(item, otherwise):
    """What a pattern asks for, in words."""
    pattern = item.get("ctx", {}).get("pattern", NAME_PATTERN)
    fitting = (words for text, words in PATTERNS.items() if re.search(pattern, text))
    return otherwise if pattern == NAME_PATTERN else next(fitting, otherwise)


def _plain(value):
    return isinstance(value, int | float | str) and not isinstance(value, bool)


def _missing(place, unit):
    if place is None:
        return "is missing; add it"
    options = choices(place.field)
    rest = f" ({', '.join(map(str, options))})" if options else f" [{unit}]" if unit else ""
    return f"is missing; add it{rest}. {place.field.description}"


def _allowed(item, place, unit):
    kind, ctx = item["type"], item.get("ctx", {})
    if kind in _NUMBERS:
        return _range(kind, ctx, place, unit)
    if kind == "literal_error" and place:
        renamed = (
            RENAMED_VALUES.get((_path(item["loc"])[-1], item["input"])) if _plain(item["input"]) else None
        )
        return (
            f"it was renamed; write {renamed}" if renamed else _options(item["input"], choices(place.field))
        )
    clock = place is not None and place.unit == "HH:MM"
    if kind == "string_type" and clock:
        return f"give {PATTERNS['18:30']}"
    if kind == "list_type" and clock:
        return 'give a list of two times, as in ["17:00", "23:00"]'
    cure = _typing_cure(item, unit)
    if cure:
        return cure
    if kind in ("model_type", "model_attributes_type", "dict_type") and str(item["input"]).lower() in REMOVED:
        return f"give {TYPES[kind]}; null in a change removes an entry"
    if kind in TYPES:
        limits = place and bounds(place.field)
        return f"give {TYPES[kind]}" + (f", {limits} {unit}".rstrip(" -") if limits else "")
    if kind == "string_pattern_mismatch":
        return f"give {_asked(item, item['msg'])}"
    lengths = {"too_short": "at least", "too_long": "at most", "string_too_short": "at least"}
    bound = ctx.get("min_length", ctx.get("max_length"))
    if bound is not None:
        thing = "character" if kind.startswith("string") else "entry"
        thing = thing if bound == 1 else {"character": "characters", "entry": "entries"}[thing]
        return f"give {lengths.get(kind, 'at most')} {bound} {thing}"
    return item["msg"]


def _typing_cure(item, unit):
    """What was probably meant by a text where a number, a time or true is asked for; "" if unknown."""
    kind, value = item["type"], item["input"]
    if not isinstance(value, str):
        return ""
    if kind in ("float_type", "int_type"):
        turned = str(item["loc"][-1]).startswith("azimuth") and value.isalpha()
        return (
            "give 0 to 360 deg, or a compass word such as south or SSW; any_heading: true if it may face any way"
            if turned
            else number_cure(value, unit)
        )
    word = word_cure(value) if kind == "bool_type" else ""
    return f"give true or false; did you mean {word}?" if word else ""


def _range(kind, ctx, place, unit):
    words = {"greater_than": "more than", "greater_than_equal": "at least", "less_than": "below"}
    limits = bounds(place.field) if place else ""
    limits = limits or f"{words.get(kind, 'at most')} {next(iter(ctx.values())):,g}"
    unit = "" if unit in ("", "-") else f" {unit}"
    return f"give {limits}{unit}. {place.field.description}" if place else f"give {limits}{unit}"


def _options(value, options):
    word = str(value).lower()
    near = get_close_matches(word, [str(option) for option in options], n=1)
    near = [NICKNAMES[word]] if NICKNAMES.get(word) in options else near
    guess = f"; did you mean {near[0]}?" if near else ""
    return f"give one of {', '.join(map(str, options))}{guess}"
