"""The template: its comments offer keys that exist, with values that a study takes."""

import re

import pytest
import yaml

from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES
from darkspell.study.key_tree import find
from darkspell.study.loader import study_from
from darkspell.study.template import study_text
from darkspell.study.yaml_reader import read_yaml

COMMENTED = re.compile(r"^( *)# ( *)([a-z_]+):( .*|)$")


def offered(text):
    """Dotted keys behind a # in a study's text, with their values."""
    path, found = [], []
    for line in text.splitlines():
        plain = re.match(r"^( *)([a-z_]+):", line)
        hidden = COMMENTED.match(line)
        if plain:
            depth, name = len(plain[1]), plain[2]
        elif hidden:
            depth, name = len(hidden[1]) + len(hidden[2]), hidden[3]
        else:
            continue
        path = [(d, n) for d, n in path if d < depth] + [(depth, name)]
        if hidden:
            found.append(([n for _, n in path], yaml.safe_load(hidden[4] or "null")))
    return found


def leaves(parts, value):
    """The key, and those inside its value."""
    yield parts
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves([*parts, name], inner)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_voltages_and_capacities_offered_fit_the_chemistry(chemistry):
    """Behind a hash or not: each is a valid choice."""
    text = study_text("x.yaml", chemistry, 47.0, 8.0)
    given = {".".join(parts): value for parts, value in offered(text)}
    names = "controller.absorption_voltage_v", "bank.second_capacity_pct", "bank.second_rate_h"
    study = study_from(read_yaml(text)).with_changes({name: given[name] for name in names})
    assert study.absorption_v == pytest.approx(
        chemistry_numbers(chemistry, study.system.nominal_voltage_v).setpoint, abs=0.01
    )


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_every_key_behind_a_hash_exists(chemistry):
    """`turns`, `people` and the tier `always` were offered long after they had other names."""
    text = study_text("x.yaml", chemistry, 47.0, 8.0)
    keys = [parts for one, value in offered(text) for parts in leaves(one, value)]
    assert len(keys) > 60
    for parts in keys:
        assert find(parts) is not None, ".".join(parts)
    assert "always:" not in text
