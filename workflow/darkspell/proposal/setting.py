"""How to set the monitor: values, reasons, and what the common wrong value does."""

from darkspell.monitor.reasons import LABELS
from darkspell.proposal import wording as say
from darkspell.proposal.tree import Paragraph, Section, Table


def section(results):
    """The setting sheet."""
    sheet = results.table("settings")
    worst = sheet.loc[sheet["harm_points"].idxmax()]
    blocks = [
        Paragraph(
            f"With these settings the reading stays within {sheet['error_fitted'].dropna().iloc[0]:.1f} points of "
            f"the truth for 95 hours of 100, on average over {int(sheet['n'].max())} years. The last column is what "
            "one common wrong value does to that figure on the same years, everything else as given here."
        )
    ]
    for group in dict.fromkeys(sheet["group"]):
        rows = sheet[sheet["group"] == group]
        blocks.append(
            Table(
                caption=say.sentence(group),
                header=["Setting", "Set to", "Now", "Why", "Common wrong value", "Does to the error, points"],
                rows=[_row(row) for _, row in rows.iterrows()],
                align="lrrlrr",
                note="95 % interval of the mean change in brackets."
                if rows["harm_points"].notna().any()
                else "",
            )
        )
    return Section(_heading(worst), blocks)


def _heading(worst):
    name = LABELS[worst["setting"]]
    if worst["harm_low"] > 0.5:
        return f"Set the monitor like this; the setting that matters most here is \u201c{name}\u201d"
    return "Set the monitor like this; no single setting matters much here"


def _row(row):
    harm = "" if row["harm_points"] != row["harm_points"] else _change(row)
    wrong = "" if row["wrong"] != row["wrong"] else _with_unit(row["wrong"], row["unit"])
    cells = (_with_unit(row[key], row["unit"]) for key in ("fitted", "as_set"))
    return [say.sentence(LABELS[row["setting"]]), *cells, row["reason"], wrong, harm]


def _with_unit(value, unit):
    unit = "" if unit == "-" else f"\u00a0{unit}"
    return f"{float(value):g}{unit}"


def _change(row):
    texts = [f"{row[key]:+.1f}".replace("-", "\u2212") for key in ("harm_points", "harm_low", "harm_high")]
    zero = {"+0.0", "\u22120.0"}
    middle, low, high = ("0" if text in zero else text for text in texts)
    return middle if low == high else f"{middle} ({low} to {high})"
