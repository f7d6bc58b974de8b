"""Why this size: the designs compared, the cheapest that meets the target, the next sizes."""

import numpy as np

from darkspell.core.messages import _
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.proposal.chapters.size_explorer import panel
from darkspell.report.proposal.chapters.target import (
    LIKELY,
    MEETS,
    MISSES,
    TRIAL_YEARS,
    UNLIKELY,
    UNSURE,
    first_chance,
    full_again_figure,
    full_again_words,
    own_figure,
    phrase,
    scaled,
    verdict,
)


def section(results):
    """The section on the size.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    sizing = results.sizing
    if not len(sizing):
        text = _("No other sizes were compared, so we do not know whether a cheaper one would do.")
        return Section(_("Other sizes were not compared"), [Paragraph(text)])
    chosen = sizing[sizing["chosen"].astype(bool)]
    blocks = [
        Paragraph(_reason(results, chosen)),
        *panel(results),
        *figure(results, "sizing_map"),
        *figure(results, "equal_risk"),
        _table(results, chosen),
    ]
    return Section(_heading(results, chosen), blocks)


def design(array, bank):
    """A design in words.

    Parameters
    ----------
    array : float
        [Wp].
    bank : float
        [Ah].
    """
    return _("{array:g} Wp with {bank:g} Ah").format(array=array, bank=bank)


def _heading(results, chosen):
    if not len(chosen):
        return _("None of the sizes compared meets the target")
    own = {
        MEETS: _("This size meets the target"),
        LIKELY: _("This size probably meets the target, with less chance than asked for"),
        UNLIKELY: _("This size probably misses the target"),
        MISSES: _("This size does not meet the target"),
        UNSURE: _("Whether this size meets the target so few years cannot say"),
        None: _("Whether this size meets the target we do not know"),
    }[verdict(results)]
    row, currency = chosen.iloc[0], results.study.document.currency
    best = design(row.array_wp, row.bank_ah)
    if _is_own(results.study, row):
        return _("{own} and is the cheapest of those compared that does").format(own=own)
    return _("{own}; the cheapest compared that meets it is {best}, at {price}").format(
        own=own, best=best, price=money(row.cost, currency)
    )


def _reason(results, chosen):
    study, sizing = results.study, results.sizing
    currency = study.document.currency
    start = _(
        "{sizing} designs were run through the same {count}. As studied, {design} costs {price} "
        "by the study's price list."
    ).format(
        sizing=len(sizing),
        count=say.count_of(results.years, "{count} synthetic year", "{count} synthetic years"),
        design=design(study.array_wp, study.bank.capacity_ah),
        price=money(first_cost(study), currency),
    )
    if not len(chosen):
        best = sizing.loc[sizing[study.target.statistic].idxmin()]
        low, high = _bounds(results, best)
        return _(
            "{start} No design meets it. The best of them, {design}, leaves {figure} {phrase} (95 % "
            "at this site: {interval}). Larger sizes, smaller loads or a second source are needed."
        ).format(
            start=start,
            design=design(best.array_wp, best.bank_ah),
            figure=_figure(results, best),
            phrase=phrase(study.target.statistic),
            interval=say.between(low, high),
        )
    row = chosen.iloc[0]
    low, high = _bounds(results, row)
    sure = (
        _("we do not know how certain that is")
        if not np.isfinite(high)
        else (
            _("the chance that this site meets the target is {chance}").format(
                chance=say.chance(row.probability_met)
            )
        )
    )
    again = study.target.full_charge
    share = (
        ""
        if again is None
        else _(", {full_again_words} asked, {known} reached").format(
            full_again_words=full_again_words(again), known=_known(*_again(results, row))
        )
    )
    return _(
        "{start} The cheapest of those compared that meets the target with the chance asked for "
        "is {design} at {price}: {figure} {phrase} (95 % at this site: {interval}){share}; "
        "{sure}. A larger array can replace a larger bank only in part: the array decides how "
        "soon the bank is full again, the bank how long a dull spell may last."
    ).format(
        start=start,
        design=design(row.array_wp, row.bank_ah),
        price=money(row.cost, currency),
        figure=_figure(results, row),
        phrase=phrase(study.target.statistic),
        interval=say.between(low, high),
        share=share,
        sure=sure,
    )


def _table(results, chosen):
    study, currency = results.study, results.study.document.currency
    rows, seen = [], set()
    own, asked = own_figure(results), study.target.full_charge
    if own is not None:
        sizes = study.array_wp, study.bank.capacity_ah, money(first_cost(study), currency)
        figures = (*own, _limit(study))
        rows.append(_row(_("As studied"), *sizes, figures, full_again_figure(results), first_chance(results)))
    for label, row in _neighbours(results.sizing, chosen):
        again = own is not None and _is_own(study, row) and not row.chosen
        if again or (row.array_wp, row.bank_ah) in seen:
            continue
        seen.add((row.array_wp, row.bank_ah))
        figures = (_value(study, row), *_bounds(results, row), _limit(study))
        chance = row.get("probability_met", np.nan)
        sizes = row.array_wp, row.bank_ah, money(row.cost, currency)
        rows.append(_row(label, *sizes, figures, _again(results, row), chance))
    more = [] if asked is None else [say.sentence(full_again_words(asked)) + " " + _("(95 % interval)")]
    return Table(
        caption=_("The design studied, the cheapest on target, and the next sizes to that: {phrase}").format(
            phrase=phrase(study.target.statistic)
        ),
        header=[
            _("Design"),
            _("Array, Wp"),
            _("Bank, Ah"),
            _("Price"),
            _("Best guess (95 % at this site)"),
            *more,
            _("Chance that it meets the target"),
        ],
        rows=rows,
        align="lrrrr" + "r" * len(more) + "r",
        marked=0 if own is not None else None,
        note=_(
            "The interval is what the average of many years may be at this site, not what one year "
            "may bring. Prices are worked out from the study's prices a watt and an ampere-hour; "
            "they are not a quotation."
        ),
    )


def _row(label, array, bank, price, figures, again, chance):
    row = [label, f"{array:g}", f"{bank:g}", price, _known(*figures)]
    return [*row, *([] if again is None else [_known(*again)]), say.chance(chance)]


def _known(value, low, high, limit=None):
    if not np.isfinite([low, high]).all():
        return f"{value:.2g}"
    return f"{say.rounded(value, low, high, limit)} ({say.between(low, high)})"


def _again(results, row):
    """Share of years in which a design of the grid is full again in time [%]; None where it is not asked."""
    if results.study.target.full_charge is None:
        return None
    if results.years < TRIAL_YEARS:
        return row.full_charge_pct, float("nan"), float("nan")
    return row.full_charge_pct, row.full_charge_low, row.full_charge_high


def _neighbours(sizing, chosen):
    """The cheapest, the next sizes about it, and the cheapest that meets the target for sure."""
    if not len(chosen):
        return
    row = chosen.iloc[0]
    yield _("Cheapest that meets it"), row
    sure = sizing[sizing["probability_met"] >= 0.95]
    if len(sure):
        yield _("Cheapest with a chance of 95 %"), sure.sort_values("cost").iloc[0]
    for label, column, other, step in (
        (_("Cheapest, next smaller array"), "array_wp", "bank_ah", -1),
        (_("Cheapest, next larger array"), "array_wp", "bank_ah", 1),
        (_("Cheapest, next smaller bank"), "bank_ah", "array_wp", -1),
        (_("Cheapest, next larger bank"), "bank_ah", "array_wp", 1),
    ):
        sizes = np.sort(sizing[column].unique())
        at = int(np.searchsorted(sizes, row[column])) + step
        if 0 <= at < sizes.size:
            found = sizing[(sizing[column] == sizes[at]) & (sizing[other] == row[other])]
            if len(found):
                yield label, found.iloc[0]


def _is_own(study, row):
    return np.isclose(row.array_wp, study.array_wp) and np.isclose(row.bank_ah, study.bank.capacity_ah)


def _value(study, row):
    return scaled(study.target.statistic, row[study.target.statistic])[0]


def _bounds(results, row):
    if results.years < TRIAL_YEARS:
        return float("nan"), float("nan")
    name = results.study.target.statistic
    return scaled(name, row[f"{name}_low"], row[f"{name}_high"])


def _figure(results, row):
    return say.rounded(_value(results.study, row), *_bounds(results, row), _limit(results.study))


def _limit(study):
    """Limit of the target in the unit of its phrase."""
    return scaled(study.target.statistic, study.target.at_most)[0]
