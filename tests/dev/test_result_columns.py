"""The README of the results lists tables, columns and statistics as the registries have them."""

from dev.result_columns import README, files, statistics, tables


def test_the_readme_is_up_to_date():
    """If not: python -m dev.result_columns."""
    text = README.read_text(encoding="utf-8")
    for part in (files(asked=False), files(asked=True), tables(), statistics()):
        assert part in text
