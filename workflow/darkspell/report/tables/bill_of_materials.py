"""Bill of materials: what the offer is made of, discount, tax and total.

Sums are decimal, each rounded to a hundredth, a half upwards as invoices do (common practice, no source): in binary
1.005 is a little less.
"""

from decimal import ROUND_HALF_UP, Decimal

COLUMNS = ["line", "kind", "description", "quantity", "unit", "unit_price", "total"]
SUMS = ("sum", "discount", "net", "tax", "total")


def bill_of_materials(study, array_wp, bank_ah):
    """Lines of the bill for one design, and its sums.

    Parameters
    ----------
    study : darkspell.study.Study
    array_wp : float
        Rated power of all arrays [Wp].
    bank_ah : float
        Rated capacity [Ah].

    Returns
    -------
    pandas.DataFrame
        `COLUMNS`; ``kind`` is material, labour or one of `SUMS`. Prices are in the study's currency, rounded to a
        hundredth line by line, so that the printed lines add up to the printed sums.
    """
    import pandas as pd

    bill = study.document.bill
    lines = []
    if bill is None or bill.price_list:
        lines += _from_prices(study.sizing.prices, study.bank.chemistry, array_wp, bank_ah)
    if bill is not None:
        lines += [
            (name, one.kind, one.description, one.quantity, one.unit, one.unit_price)
            for name, one in bill.lines.items()
        ]
    rows = [(*line, _rounded(_decimal(line[3]) * _decimal(line[5]))) for line in lines]
    return pd.DataFrame(rows + _sums(bill, rows), columns=COLUMNS)


def _from_prices(prices, chemistry, array_wp, bank_ah):
    """The price list that the designs are compared by, as lines."""
    lines = [
        ("array", "material", "array", array_wp, "Wp", prices.array_per_wp),
        ("bank", "material", "bank", bank_ah, "Ah", prices.bank_rate(chemistry)),
    ]
    return lines + ([("fixed", "material", "fixed", 1.0, "", prices.fixed)] if prices.fixed else [])


def _decimal(value):
    """A number as it is written, not its nearest binary fraction."""
    return Decimal(repr(float(value)))


def _rounded(amount):
    return float(amount.quantize(Decimal("0.01"), ROUND_HALF_UP))


def _sums(bill, rows):
    discount_pct, tax_pct = (bill.discount_pct, bill.tax_pct) if bill else (0.0, 0.0)
    total = sum((_decimal(row[-1]) for row in rows), Decimal(0))
    discount = _decimal(_rounded(-total * _decimal(discount_pct) / 100))
    net = total + discount
    tax = _decimal(_rounded(net * _decimal(tax_pct) / 100))
    amounts = {"sum": total, "discount": discount, "net": net, "tax": tax, "total": net + tax}
    sums = {name: float(amount) for name, amount in amounts.items()}
    kept = (
        {"sum", "total"} | ({"discount", "net"} if discount_pct else set()) | ({"tax"} if tax_pct else set())
    )
    percent = {"discount": discount_pct, "tax": tax_pct}
    return [
        (name, name, name, percent.get(name), "%" if name in percent else "", None, value)
        for name, value in sums.items()
        if name in kept
    ]


def total_of(study, array_wp, bank_ah):
    """What is paid for a design by the bill of materials, tax included.

    Parameters
    ----------
    study : darkspell.study.Study
    array_wp, bank_ah : float
        [Wp], [Ah].

    Returns
    -------
    float
        In the study's currency.
    """
    return float(bill_of_materials(study, array_wp, bank_ah)["total"].iloc[-1])
