"""What is paid for: the bill of materials of the recommended design."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import plain
from darkspell.report.proposal.chapters.offers import choose
from darkspell.report.tables.bill_of_materials import SUMS, bill_of_materials

FROM_PRICES = {
    "array": N_("Array, with controller and frame"),
    "bank": N_("Battery bank"),
    "fixed": N_("Fixed cost of the installation"),
}


def there(results):
    """Whether the study asks for a bill.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return results.study.document.bill is not None


def section(results):
    """The section with the bill.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    about = results.study.document
    lines = bill_of(results)
    total = money(lines["total"].iloc[-1], about.currency, cents=True)
    blocks = [_table(lines, about)]
    if about.valid_until is None:
        blocks.append(Paragraph(_("How long these prices are valid is not stated here."), "note"))
    return Section(_("What it costs: {total} in all").format(total=total), blocks)


def bill_of(results):
    """Bill of the design that page 1 recommends; `pandas.DataFrame`.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    offer, _other = choose(results)
    return bill_of_materials(results.study, offer.array_wp, offer.bank_ah)


def _table(lines, about):
    rows = [_sum(row, about) if row.kind in SUMS else _line(row, about) for row in lines.itertuples()]
    return Table(
        caption=_("Bill of materials"),
        header=[_("Item"), _("Quantity"), _("Unit price"), _("Price")],
        rows=rows,
        align="lrrr",
        marked=len(rows) - 1,
        note=_("Prices of single lines are without tax."),
    )


def _line(row, about):
    name = FROM_PRICES.get(row.description) if row.line in FROM_PRICES else None
    text = _(name) if name else say.given(row.description)
    labour = _("{item} (labour)") if row.kind == "labour" else "{item}"
    quantity = f"{plain(row.quantity)} {say.given(row.unit)}".strip()
    prices = (money(price, about.currency, cents=True) for price in (row.unit_price, row.total))
    return [labour.format(item=text), quantity, *prices]


def _sum(row, about):
    words = {
        "sum": _("Sum"),
        "discount": _("Discount"),
        "net": _("Sum after discount"),
        "tax": say.given(about.bill.tax_name),
        "total": _("Total"),
    }
    share = f"{plain(row.quantity)} %" if row.unit else ""
    return [words[row.kind], share, "", money(row.total, about.currency, cents=True)]
