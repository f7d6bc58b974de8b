"""Power of a year against pvlib's whole chain (`dev.whole_chain`), with measured global light alone."""

import numpy as np
import pytest

from darkspell.core.calendar import Calendar
from dev.whole_chain import RECORDS, TILTS, ours, theirs


@pytest.mark.parametrize("tilt", TILTS)
@pytest.mark.parametrize("name", RECORDS)
def test_a_year_of_power_from_global_light_alone(name, tilt):
    """The year within 3 %, December to February within 8 %.

    Of the 2.7 % that are missing upright at Sand Point the split of global light explains all: with our split in
    theirs the year is 1.0 % too high. That record has no measured beam: with pvlib's own splits its chain misses 3.0
    to 9.8 % (Erbs 7.0 upright), all but DISC, whose author's model made the record's beam.
    """
    winter = np.isin(Calendar(1).month_of_hour, [11, 0, 1])
    mine, other = ours(name, tilt), theirs(name, tilt)
    assert mine.sum() == pytest.approx(other.sum(), rel=0.03)
    assert mine[winter].sum() == pytest.approx(other[winter].sum(), rel=0.08)
