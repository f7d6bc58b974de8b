"""The tables of a study as one workbook for people: summary, loads and price sheets, then every table."""

from darkspell.report.workbook.book import workbook, workbook_of

__all__ = ["workbook", "workbook_of"]
