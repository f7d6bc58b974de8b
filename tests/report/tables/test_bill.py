"""Sums of the bill of materials against decimal arithmetic done apart from it, and by hand."""

import random
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from darkspell.report.tables.bill_of_materials import bill_of_materials, total_of
from darkspell.study import study_from
from study.example import spoilt

CENT = Decimal("0.01")


def study_with(bill, prices=None):
    """The example's study with a bill of materials."""
    changes = {"document.bill": bill}
    if prices:
        changes["sizing.prices"] = prices
    return study_from(spoilt(changes), Path("invented.yaml"))


def amounts(table):
    """Totals of a bill by its lines, exact decimals."""
    return {row.line: Decimal(repr(row.total)) for row in table.itertuples()}


def half_up(exact):
    """A fraction rounded to hundredths, a half away from zero: without the `decimal` context's own division."""
    hundredths = abs(exact) * 100
    whole = hundredths.numerator // hundredths.denominator
    whole += hundredths - whole >= Fraction(1, 2)
    return Decimal(whole if exact >= 0 else -whole) * CENT


def by_hand(lines, discount_pct, tax_pct):
    """Line totals, discount and tax of (quantity, price) given as texts."""
    totals = [half_up(Fraction(quantity) * Fraction(price)) for quantity, price in lines]
    discount = half_up(-Fraction(sum(totals)) * Fraction(discount_pct) / 100)
    tax = half_up(Fraction(sum(totals) + discount) * Fraction(tax_pct) / 100)
    return totals, discount, tax


def test_a_bill_worked_out_on_paper():
    """150 Wp at 1.10, 200 Ah at 4.50, 900 fixed, 12 h at 55; 5 % off, 20 % tax: paper and pencil."""
    bill = {
        "lines": {
            "work": {"description": "Work", "kind": "labour", "quantity": 12, "unit": "h", "unit_price": 55}
        },
        "discount_pct": 5,
        "tax_pct": 20,
    }
    study = study_with(bill, {"array_per_wp": 1.1, "bank_per_ah": 4.5, "fixed": 900})
    table = bill_of_materials(study, 150.0, 200.0)
    assert amounts(table) == {
        "array": Decimal("165.0"),
        "bank": Decimal("900.0"),
        "fixed": Decimal("900.0"),
        "work": Decimal("660.0"),
        "sum": Decimal("2625.0"),
        "discount": Decimal("-131.25"),
        "net": Decimal("2493.75"),
        "tax": Decimal("498.75"),
        "total": Decimal("2992.5"),
    }
    assert total_of(study, 150.0, 200.0) == 2992.5


@pytest.mark.parametrize("seed", range(40))
def test_sums_are_those_of_exact_arithmetic(seed):
    draw = random.Random(seed)
    lines = [
        (
            f"{draw.randint(1, 999)}{draw.choice(['', '.5', '.25', '.125'])}",
            f"{draw.randint(0, 99999) / 1000:.3f}",
        )
        for _ in range(draw.randint(1, 12))
    ]
    discount, tax = draw.choice(["0", "2.5", "7", "33.3"]), draw.choice(["0", "7.7", "19", "20"])
    bill = {
        "price_list": False,
        "lines": {
            f"line_{at}": {"description": "A part", "quantity": float(quantity), "unit_price": float(price)}
            for at, (quantity, price) in enumerate(lines)
        },
        "discount_pct": float(discount),
        "tax_pct": float(tax),
    }
    printed = amounts(bill_of_materials(study_with(bill), 100.0, 100.0))
    totals, off, tax_due = by_hand(lines, discount, tax)
    assert [printed[f"line_{at}"] for at in range(len(lines))] == totals
    assert printed["sum"] == sum(totals)
    assert printed.get("discount", Decimal(0)) == off and printed.get("tax", Decimal(0)) == tax_due
    assert printed["total"] == sum(totals) + off + tax_due


def test_half_a_cent_goes_up_as_on_invoices():
    """1.005 is a little less in binary, and would be printed as 1.00."""
    bill = {"price_list": False, "lines": {"a": {"description": "A", "quantity": 1, "unit_price": 1.005}}}
    assert round(1 * 1.005, 2) == 1.0
    assert Decimal("1.005").quantize(CENT, ROUND_HALF_UP) == Decimal("1.01")
    assert amounts(bill_of_materials(study_with(bill), 100.0, 100.0))["total"] == Decimal("1.01")
