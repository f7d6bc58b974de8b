"""The tree of keys, read from the models: to find a key, to name its neighbours, to list them all."""

from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Literal, Union, get_args, get_origin

from darkspell.study.base import Section
from darkspell.study.model import Study


@dataclass(frozen=True)
class Place:
    """What a study may have at one key.

    Parameters
    ----------
    field : pydantic.fields.FieldInfo
        The key, or the mapping that an entry belongs to.
    sections : tuple of type
        Section models allowed here; none for a plain value.
    entries : bool
        True where the keys below are names of the user's own (loads, arrays, ...).
    """

    field: object
    sections: tuple
    entries: bool

    @property
    def unit(self):
        """Unit of the value, "" without one."""
        return (self.field.json_schema_extra or {}).get("unit", "")

    @property
    def keys(self):
        """Known keys below this place."""
        return tuple(dict.fromkeys(name for model in self.sections for name in model.model_fields))


def bare(annotation):
    """A type without Annotated and without None.

    Parameters
    ----------
    annotation : type

    Returns
    -------
    type
    """
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (Union, UnionType):
        rest = [part for part in get_args(annotation) if part is not type(None)]
        return bare(rest[0]) if len(rest) == 1 else annotation
    return annotation


def _sections(annotation):
    annotation = bare(annotation)
    if get_origin(annotation) in (Union, UnionType):
        return tuple(model for part in get_args(annotation) for model in _sections(part))
    return (annotation,) if isinstance(annotation, type) and issubclass(annotation, Section) else ()


def place_of(field):
    """What the key tree knows of a field.

    Parameters
    ----------
    field : pydantic.fields.FieldInfo

    Returns
    -------
    Place
    """
    annotation = bare(field.annotation)
    if get_origin(annotation) is dict:
        return Place(field, _sections(get_args(annotation)[1]), True)
    return Place(field, _sections(annotation), False)


def find(parts):
    """Place of a dotted key.

    Parameters
    ----------
    parts : sequence of str
        The key, split; names of loads, arrays and monitors included.

    Returns
    -------
    Place or None
        None where no such key exists.
    """
    place, known = None, Study.model_fields
    parts = list(parts)
    while parts:
        name = parts.pop(0)
        if name not in known:
            return None
        place = place_of(known[name])
        if place.entries and parts:
            parts.pop(0)
            place = Place(place.field, place.sections, False)
        known = {
            name: field for model in reversed(place.sections) for name, field in model.model_fields.items()
        }
    return place


def known_keys(parts):
    """Known keys below a key; those of the whole study for no parts.

    Parameters
    ----------
    parts : sequence of str
        The key, split at its dots.
    """
    if not parts:
        return tuple(Study.model_fields)
    place = find(parts)
    return place.keys if place and not place.entries else ()


def bounds(field):
    """Allowed range of a number, or of each number in a list, in words.

    Parameters
    ----------
    field : pydantic.fields.FieldInfo

    Returns
    -------
    str
        Empty without a range.
    """
    low = high = ""
    for item in _constraints(field):
        if getattr(item, "gt", None) is not None:
            low = f"more than {_figure(item.gt)}"
        if getattr(item, "ge", None) is not None:
            low = _figure(item.ge)
        if getattr(item, "le", None) is not None:
            high = _figure(item.le)
    if low and high:
        return f"{low}, up to {high}" if low.startswith("more") else f"{low} to {high}"
    return low if low.startswith("more") or not low else f"at least {low}"


def _constraints(field):
    """Constraints on the value, or on the elements of a list or mapping."""
    annotation = bare(field.annotation)
    if get_origin(annotation) not in (list, dict):
        return field.metadata
    element = get_args(annotation)[-1]
    return [part for item in getattr(element, "__metadata__", ()) for part in getattr(item, "metadata", ())]


def _figure(number):
    return f"{number:,.16g}"


def choices(field):
    """Allowed words or numbers of a Literal.

    Parameters
    ----------
    field : pydantic.fields.FieldInfo

    Returns
    -------
    sequence
        Empty for other types.
    """
    annotation = bare(field.annotation)
    return get_args(annotation) if get_origin(annotation) is Literal else ()


def every_key(model=Study, prefix=""):
    """All keys in order; names of the user's own are ``<name>``.

    Parameters
    ----------
    model : type
        Section model to start from.
    prefix : str
        Put before each key.
    """
    for name, field in model.model_fields.items():
        place = place_of(field)
        yield f"{prefix}{name}", model, field
        below = f"{prefix}{name}.<name>." if place.entries else f"{prefix}{name}."
        for section in place.sections:
            yield from every_key(section, below)
