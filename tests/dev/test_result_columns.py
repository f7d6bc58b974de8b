"""The README of the results lists the statistics as the registry has them."""

from dev.result_columns import README, section


def test_the_readme_is_up_to_date():
    """If not: python -m dev.result_columns."""
    assert README.read_text(encoding="utf-8").endswith(section())
