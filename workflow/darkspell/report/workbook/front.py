"""The first sheets of a workbook: summary, loads and price."""

import pandas as pd

from darkspell.loads.budget import appliances_from
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.bill_of_materials import FROM_PRICES, bill_of
from darkspell.report.proposal.chapters.decision import recommendation
from darkspell.report.proposal.chapters.offers import choose
from darkspell.report.tables.columns import CURRENCY, PLACE, SAMPLING, SEE_UNIT, TEXT
from darkspell.report.tables.load_budget import load_budget
from darkspell.report.wording import chance, given
from darkspell.statistics.registry import HEADLINES

ENDS = (
    ("place", PLACE),
    ("year", "80 % interval of a coming year"),
    ("simulation", SAMPLING),
)
SUMS = {"sum": "Sum", "discount": "Discount", "net": "Sum after discount", "total": "Total"}


def front_sheets(results):
    """Summary, loads and price, each a table with its heads.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    dict of (pandas.DataFrame, list of tuple of str)
        By name of the sheet: rows, and words and unit of each column.
    """
    sheets = {"Summary": _summary(results), "Loads": _loads(results)}
    offer, _other = choose(results)
    if not offer.pieces:
        sheets["Price"] = _price(results)
    return sheets


def said(results):
    """What page 1 recommends, and the chance that it meets the target; pairs of label and text.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    offer, _other = choose(results)
    yield "Recommended", recommendation(results, offer)
    if offer.chance == offer.chance:
        what = "every target" if offer.is_own and results.study.target.additional else "the target"
        yield "Chance", f"{chance(offer.chance)} that this site meets {what}"


def _summary(results):
    heads = [("headline", TEXT), ("unit", TEXT), ("best guess for this site", SEE_UNIT)]
    names = ["headline", "unit", "value"]
    for key, words in ENDS:
        heads += [(f"{end} end of the {words}", SEE_UNIT) for end in ("low", "high")]
        names += [f"{key}_low", f"{key}_high"]
    rows = []
    for key, headline in HEADLINES.items():
        entry = results.summary.get(key)
        if entry:
            words = f"{headline.words[0].upper()}{headline.words[1:]}"
            rows.append([words, _unit(entry), *(entry.get(name) for name in names[2:])])
    table = pd.DataFrame(rows, columns=names)
    return table.astype({name: float for name in names[2:]}), heads


def _unit(entry):
    return "share" if entry["unit"] == "-" else entry["unit"]


def _loads(results):
    table = load_budget(results.study, results.climate, appliances_from(results.study))
    table["load"] = [given(name_in_words(name)) for name in table["load"]]
    table = table.rename(columns=lambda name: name.removesuffix("_wh_day"))
    months = list(table.columns[5:-1])
    heads = [
        ("load", TEXT), ("power of one", "W"), ("how many", "pieces"), ("hours of use on a day of use", "h"),
        ("priority", TEXT), *((name, "Wh/day") for name in months),
        ("year", "kWh"),
    ]  # fmt: skip
    return table, heads


def _price(results):
    bill = bill_of(results)
    lines = [given(FROM_PRICES.get(row.description, row.description)) for row in bill.itertuples()]
    named = {**SUMS, "tax": results.study.document.bill.tax_name if results.study.document.bill else "Tax"}
    bill["description"] = [
        given(named.get(kind, text)) for kind, text in zip(bill["kind"], lines, strict=True)
    ]
    heads = [
        ("item", TEXT), ("material, labour, or which sum", TEXT), ("quantity", SEE_UNIT),
        ("unit of the quantity", TEXT), ("price of one unit, without tax", CURRENCY), ("price", CURRENCY),
    ]  # fmt: skip
    return bill.drop(columns="line")[
        ["description", "kind", "quantity", "unit", "unit_price", "total"]
    ], heads
