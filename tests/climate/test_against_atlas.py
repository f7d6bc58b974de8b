"""A record or twelve values of another place, unit or order of months are remarked."""

from types import SimpleNamespace

import numpy as np
import pytest

from climate.record.series import WAGENINGEN, WAGENINGEN_SERIES, read, wageningen
from darkspell.climate.against_atlas import differences
from darkspell.climate.from_record import from_record
from darkspell.climate.mean_clearness import mean_clearness

SITE = SimpleNamespace(latitude_deg=47.0, longitude_deg=8.0)


@pytest.fixture(scope="module")
def atlas():
    return mean_clearness(47.0, 8.0).kt


def test_means_near_the_atlas_are_not_remarked(atlas):
    assert differences(SITE, atlas, "The values") == []
    assert differences(SITE, 1.2 * atlas, "The values") == []


def test_the_year_by_hand(atlas):
    assert "-40 % on the year" in differences(SITE, 0.6 * atlas, "The values")[0]


def test_the_seasons_by_hand(atlas):
    """Half a year bright and half dull, by the same factor: the year hardly differs."""
    kt = atlas * np.exp(0.3 * np.where(np.arange(12) % 2 == 0, 1.0, -1.0))
    found = differences(SITE, kt, "The values")
    assert len(found) == 1 and "other seasons" in found[0]


def test_unmeasured_and_dark_months_have_no_say(atlas):
    kt = np.where(np.arange(12) == 6, 10.0 * atlas, atlas)
    assert differences(SITE, kt, "The values", np.arange(12) != 6) == []
    far = SimpleNamespace(latitude_deg=78.2, longitude_deg=15.6)
    polar = mean_clearness(78.2, 15.6).kt
    assert differences(far, np.where(np.isin(np.arange(12), [10, 11, 0]), 0.01, polar), "The values") == []


def test_a_record_with_latitude_and_longitude_exchanged_is_remarked(tmp_path):
    record = wageningen(tmp_path)
    assert not any("atlas:" in note for note in from_record(WAGENINGEN, record).notes)
    wrong = SimpleNamespace(**vars(WAGENINGEN) | {"latitude_deg": 5.67, "longitude_deg": 51.97})
    notes = " ".join(from_record(wrong, read(tmp_path, wrong, "wageningen.csv", **WAGENINGEN_SERIES)).notes)
    assert "The means of the record have other seasons than the built-in atlas" in notes
