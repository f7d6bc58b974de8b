"""How to set the monitor: values, reasons, and what the common wrong value does."""

import numpy as np

from darkspell.core.messages import _
from darkspell.monitor.settings_explanations import LABELS
from darkspell.report import wording as say
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.reworded import reworded


def section(results):
    """The setting sheet.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    sheet = results.table("monitor_settings")
    declared = bool(results.study._given.get("monitors"))
    harmed = sheet[sheet["error_increase_points"].notna()]
    worst = harmed.loc[harmed["error_increase_points"].idxmax()]
    set_now = sheet[sheet["error_fitted"].notna()].iloc[0]
    blocks = [
        Paragraph(
            _(
                "With these settings the reading stays within {error_fitted:.1f} points of the true "
                "charge 95 % of the time, and misses a warning for {missed_warning_fitted_h} hours a "
                "year, on average over {max} years.{as_set}"
            ).format(
                error_fitted=set_now["error_fitted"],
                missed_warning_fitted_h=_plain(set_now["missed_warning_fitted_h"]),
                max=int(sheet["n"].max()),
                as_set=_as_set(set_now, declared),
            )
        )
    ]
    for group in dict.fromkeys(sheet["group"]):
        rows = sheet[sheet["group"] == group]
        blocks.append(
            Table(
                caption=say.sentence(_(group)),
                header=[
                    _("Setting"),
                    _("Set to"),
                    _("In the study") if declared else _("By default"),
                    _("Why"),
                ],
                rows=[_row(row) for _index, row in rows.iterrows()],
                align="lrrl",
            )
        )
    blocks.append(
        Table(
            caption=_("Effect of one common wrong value, the others as above"),
            header=[_("Setting"), _("Wrong value"), _("Error, points"), _("Missed warnings, hours a year")],
            rows=[_harm(row) for _index, row in harmed.iterrows()],
            align="lrrr",
            note=_(
                "Change on the same years, of the error exceeded 5 % of the time and of missed warnings; "
                "in brackets the 95 % interval of its mean. Fewer missed warnings cost more false alarms."
            ),
        )
    )
    return Section(_heading(worst), blocks)


def _label(row):
    name = row["setting"]
    return _(LABELS[name])


def _heading(worst):
    name = _label(worst)
    if worst["error_increase_low"] > 0.5:
        return _("Set the monitor like this; the setting that matters most here is “{name}”").format(
            name=name
        )
    return _("Set the monitor like this; no single setting matters much here")


def _as_set(row, declared):
    """The same with all settings as the study has them; said in full, also where a warning is missed less often."""
    if not np.isfinite(row.get("error_as_set", np.nan)):
        return ""
    text = (
        _("As the study sets it, it stays within {error:.1f} points and misses a warning for {missed} hours.")
        if declared
        else _(
            "With our default settings it stays within {error:.1f} points and misses a warning for {missed} hours."
        )
    ).format(error=row["error_as_set"], missed=_plain(row["missed_warning_as_set_h"]))
    more = row["missed_warning_fitted_h"] > row["missed_warning_as_set_h"]
    costs = _("The smaller error costs more missed warnings: raise the warning level if they matter.")
    return f" {text} {costs}" if more else f" {text}"


def _row(row):
    cells = (_with_unit(row[key], row["unit"]) for key in ("fitted", "as_set"))
    return [say.sentence(_label(row)), *cells, reworded(row["reason"])]


def _harm(row):
    wrong = _with_unit(row["wrong"], row["unit"])
    return [
        say.sentence(_label(row)),
        wrong,
        _change(*(row[f"error_increase_{end}"] for end in ("points", "low", "high"))),
        _change(*(row[f"missed_warning_increase_{end}h"] for end in ("", "low_", "high_"))),
    ]


def _plain(value):
    return (
        "0"
        if value == 0
        else _("under 0.1")
        if value < 0.05
        else f"{value:.1f}"
        if value < 10
        else f"{value:.0f}"
    )


def _with_unit(value, unit):
    unit = "" if unit == "-" else f"\u00a0{unit}"
    return f"{float(value):g}{unit}"


def _change(*values):
    """A change with its interval: ``+1.2 (+0.8 to +1.6)``.

    Parameters
    ----------
    *values : float
        Mean, lower and upper bound, in one unit.

    Returns
    -------
    str
    """
    digits = 0 if max(map(abs, values)) >= 20 else 1
    texts = [f"{value:+.{digits}f}".replace("-", "\u2212") for value in values]
    mean, low, high = ("0" if text.strip("+\u22120.") == "" else text for text in texts)
    return mean if low == high else _("{mean} ({low} to {high})").format(mean=mean, low=low, high=high)
