"""Every number of a study has both bounds, and each bound is kept."""

from types import UnionType
from typing import Union, get_args, get_origin

import pytest
from pydantic import TypeAdapter, ValidationError

from darkspell.study.key_tree import bare, bounds, every_key


def numbers(annotation):
    """The type of number in a key's type, or None."""
    kind = bare(annotation)
    if get_origin(kind) in (list, dict):
        return numbers(get_args(kind)[-1])
    if get_origin(kind) in (Union, UnionType):
        return next((found for part in get_args(kind) if (found := numbers(part))), None)
    return kind if kind in (int, float) else None


NUMERIC = {key: field for key, _, field in every_key() if numbers(field.annotation)}


def test_there_are_numbers():
    """The walk finds keys of all kinds: plain, optional, in lists, in mappings, below names."""
    wanted = {"bank.capacity_ah", "loads.<name>.peak_watts", "site.horizon_deg", "loads.<name>.months"}
    assert wanted | {"arrays.<name>.tilt_by_date", "occupancy.guests.<name>.more_pct"} <= set(NUMERIC)


@pytest.mark.parametrize("key", NUMERIC)
def test_every_number_has_both_bounds(key):
    """The words that the reference and the messages use name a lower and an upper bound."""
    words = bounds(NUMERIC[key])
    assert " to " in f" {words} " and "at least" not in words, words


@pytest.mark.parametrize("key", NUMERIC)
def test_numbers_far_outside_are_refused(key):
    """1e308 and its negative, at every depth of the key's type."""
    field = NUMERIC[key]
    kind = bare(field.annotation)
    for number in (1e308, -1e308):
        number = int(number) if numbers(field.annotation) is int else number
        value = (
            [number]
            if get_origin(kind) is list
            else {"01-01": number}
            if get_origin(kind) is dict
            else number
        )
        with pytest.raises(ValidationError):
            TypeAdapter(field.rebuild_annotation(), config={"strict": True}).validate_python(value)
