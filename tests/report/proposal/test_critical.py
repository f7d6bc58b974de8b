"""What page 1 and the order of shedding say of critical loads."""

from types import SimpleNamespace

import pandas as pd
import pytest

from darkspell.report.proposal.chapters import system
from darkspell.report.proposal.chapters.year_ahead import critical
from darkspell.study import study_from
from study.example import spoilt

TIERS = {"loads.lamp.tier": "critical", "critical": {"shed_essential_below_soc_pct": 35}}


def results(nights, changes=TIERS, **more):
    """Results of a study as far as the paragraph reads them."""
    summary = {"critical_short_nights": {"value": 0.25, "place_low": 0.1, "place_high": 0.9} | more}
    table = pd.DataFrame({"critical_short_nights": nights})
    study = study_from(spoilt(changes))
    return SimpleNamespace(study=study, summary=summary, members=table, years=len(nights))


def words(found, is_own=True):
    return " ".join(block.text for block in critical(found, SimpleNamespace(is_own=is_own)))


def test_page_1_names_the_loads_their_level_and_their_nights():
    text = words(results([0, 0, 0, 1]))
    assert "lamp" in text.lower() and "35 %" in text and "0.25 nights" in text and "25 %" not in text
    assert "0.1" in text and "0.9" in text
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
