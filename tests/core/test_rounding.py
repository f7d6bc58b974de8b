"""Numbers as they are written and shown."""

import pytest

from darkspell.core.rounding import readable


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1320.4, "1,320"), (999.9, "1,000"), (12.34, "12.3"), (0.0, "0"), (6.11e-07, "<0.0001"), (0.00012, "0.00012"),
        (-5e-05, ">-0.0001"), (-15.12, "-15.1"), (2.5e6, "2,500,000"),
    ],
)  # fmt: skip
def test_a_terminal_shows_no_powers_of_ten(value, text):
    assert readable(value) == text
