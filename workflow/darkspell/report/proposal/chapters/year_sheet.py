"""The expected year on one sheet to leave on board."""

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report import wording as say
from darkspell.report.document.html import templates
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.tables.expected_year import GROUPS

QUESTIONS = {
    "depth": "How deep does it go?",
    "recovery": "How soon is it full again?",
    "use": "How much passes through?",
}


def year_sheet(results):
    """The sheet as an HTML page that needs nothing but itself.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    str
    """
    study, table = results.study, results.table("expected_year")
    groups = [
        (QUESTIONS[name], _rows(table[(table["group"] == name) & (table["month"] == 0)])) for name in GROUPS
    ]
    dawn = table[table["quantity"] == "at dawn"]
    months = [
        (MONTH_NAMES[month - 1], *_pair(dawn[dawn["month"] == month]))
        for month in dict.fromkeys(dawn["month"])
    ]
    bank = study.bank
    return (
        templates()
        .get_template("year_sheet.html.j2")
        .render(
            title=say.given(study.document.title),
            place=say.given(study.site.name),
            bank=f"{bank.capacity_ah:g} Ah, {study.system.nominal_voltage_v} V",
            by=say.given(study.document.prepared_by),
            note=say.given(study.document.note) if study.document.note else "",
            years=int(table["n"].max()),
            planning=f"{bank.planning_depth_pct:g}",
            monitor=say.given(name_in_words(study.monitor)),
            groups=groups,
            months=months,
            half=(len(months) + 1) // 2,
        )
    )


def _rows(table):
    """Rows of one group: quantity with unit, in the bank, on the monitor."""
    rows = []
    for quantity in dict.fromkeys(table["quantity"]):
        here = table[table["quantity"] == quantity]
        unit = here["unit"].iloc[0]
        name = say.sentence(quantity) + ("" if unit == "-" else f", {unit}")
        rows.append((name, *_pair(here)))
    return rows


def _pair(rows):
    rows = rows.set_index("source")
    return tuple(_band(rows.loc[source]) for source in ("bank", "monitor"))


def _band(row):
    """``60 (36 to 90)``: the middle year, and eight years of ten."""
    digits = 1 if row["unit"] == "days" and row["p90"] < 10 else 0
    step = 1 if row["p90"] < 1000 else 10 if row["p90"] < 10_000 else 100
    low, middle, high = (say.number(round(row[key] / step) * step if step > 1 else row[key], digits)
                         for key in ("p10", "p50", "p90"))  # fmt: skip
    return middle, low if low == high else f"{low} to {high}"
