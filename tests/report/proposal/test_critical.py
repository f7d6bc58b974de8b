"""What page 1 and the order of shedding say of critical loads."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from darkspell.report.proposal.chapters import system
from darkspell.report.proposal.chapters.year_ahead import critical
from darkspell.study import study_from
from study.example import spoilt

TIERS = {"loads.lamp.tier": "critical", "critical": {"shed_essential_below_soc_pct": 35}}


def results(nights, changes=TIERS):
    """Results of a study as far as the paragraph reads them; parameter draws of two years."""
    table = pd.DataFrame({"critical_short_nights": nights, "parameter_draw": np.arange(len(nights)) // 2})
    return SimpleNamespace(study=study_from(spoilt(changes)), members=table, years=len(nights))


def words(found, is_own=True):
    return " ".join(block.text for block in critical(found, SimpleNamespace(is_own=is_own)))


def test_page_1_names_the_loads_their_level_and_their_nights():
    """In the unit of the essential loads' answer: how many coming years have such a night."""
    text = words(results([0, 0, 0, 1]))
    assert "lamp" in text.lower() and "35 %" in text and "one year in four" in text
    assert "nights a year" not in text and "95 % interval" in text
    assert "never" in words(results([0] * 4)) and "4 synthetic years" in words(results([0] * 4))
    assert "size asked for" in words(results([0, 1]), is_own=False)


def test_without_critical_loads_nothing_is_said():
    assert words(results([0, 1], {})) == ""


@pytest.mark.parametrize(
    ("changes", "said", "not_said"),
    [
        (TIERS, ["35 %", "45 %", "50 %", "essential or critical"], "others are essential"),
        ({}, ["50 %", "others are essential"], "critical"),
        ({"loads.radio.tier": "essential"}, ["All loads are essential"], "critical"),
    ],
)
def test_the_order_of_shedding_is_said_with_its_levels(changes, said, not_said):
    text = system._order(study_from(spoilt(changes)))
    assert all(word in text for word in said) and not_said not in text
