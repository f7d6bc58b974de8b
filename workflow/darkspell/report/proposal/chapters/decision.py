"""Page 1: what is recommended and why, its price, what to expect, how sure that is, and one alternative."""

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.design.cause_words import CAUSES, WORDS
from darkspell.report import wording as say
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Paragraph
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.cautions import caution_box
from darkspell.report.proposal.chapters.equipment import controller
from darkspell.report.proposal.chapters.offers import choose, main_cause, own_offer, price_of
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.system import chemistry
from darkspell.report.proposal.chapters.target import TRIAL_YEARS, phrase, scaled, target_words
from darkspell.report.proposal.chapters.year_ahead import (
    critical,
    expectation,
    figure_words,
    surer,
    year_table,
)

DISPLAYS = {
    "shunt": N_("shunt that shows the charge"),
    "gauge": N_("voltage gauge"),
    "pack": N_("display of the batteries' electronics"),
}


def opening(results):
    """Blocks of page 1, cautions included; list of blocks.

    Parameters
    ----------
    results : results.Results
    """
    recommended, alternative = choose(results)
    blocks = [
        Paragraph(recommendation(results, recommended), "lead"),
        Paragraph(also(results)),
        Paragraph(reason(results, recommended, alternative)),
    ]
    if results.years < TRIAL_YEARS:
        blocks.append(Paragraph(_trial(results)))
    blocks += [
        year_table(results, recommended, alternative),
        Paragraph(expectation(results, recommended)),
        *critical(results, recommended),
        Paragraph(surer(results)),
        caution_box(results),
    ]
    return blocks


def recommendation(results, offer):
    """What we recommend, in one sentence.

    Parameters
    ----------
    results : results.Results
    offer : Offer
    """
    study = results.study
    words = _(
        "{array_wp:g}\u00a0Wp of array with a bank of {bank_ah:g}\u00a0Ah at {voltage}\u00a0V ({chemistry})"
    ).format(
        array_wp=offer.array_wp,
        bank_ah=offer.bank_ah,
        voltage=study.system.nominal_voltage_v,
        chemistry=chemistry(study.bank.chemistry),
    )
    if offer.remedy:
        words = _("{design} with {remedy}").format(design=words, remedy=offer.remedy)
    amount = price_of(study, offer)
    if np.isfinite(amount):
        price = money(amount, study.document.currency)
        words = (
            _("{design}, for about\u00a0{price} without it").format(design=words, price=price)
            if offer.remedy
            else _("{design}, for about\u00a0{price}").format(design=words, price=price)
        )
    if offer.meets:
        words = f"{words}: {offer.pieces}" if offer.pieces else words
        return _("We recommend {design}.").format(design=words)
    if offer.remedy:
        return _(
            "No size compared meets the target. The first step is {remedy}, with the size asked for."
        ).format(remedy=offer.remedy)
    return _(
        "No size compared meets the target with the {asked:g} % asked for. The best of them is {design}."
    ).format(design=words, asked=results.study.target.chance_pct)


def also(results):
    """What the system has besides array and bank, in one sentence.

    Parameters
    ----------
    results : results.Results
    """
    study = results.study
    limit = None if choose(results)[0].pieces else study.controller.current_limit_a
    kind = controller(study.controller.kind)
    parts = [kind if limit is None else _("{controller} of {amps:g} A").format(controller=kind, amps=limit)]
    for name, row in study.arrays.items():
        if row.own_controller:
            kind, named = row.own_controller.kind.upper(), say.given(name_in_words(name))
            parts.append(_("{kind} controller for \u201c{array}\u201d").format(kind=kind, array=named))
    parts += [_charger(row) for row in study.chargers.values()]
    parts += [_("generator")] if study.generator is not None else []
    if study.inverter is not None:
        parts.append(_("inverter of {power_w:g} W").format(power_w=study.inverter.power_w))
    parts += [_(DISPLAYS[kind]) for kind in sorted({one.kind for one in study.monitors.values()})]
    return _("With it: {parts}.").format(parts=say.listed(parts))


def _charger(row):
    """A charger of the study in a few words."""
    if row.kind == "alternator":
        return _("charger of {amps:g} A on an engine's alternator").format(amps=row.charger_a)
    if row.kind == "shore":
        return _("charger of {amps:g} A on a shore line").format(amps=row.charger_a)
    return _("turbine")


def reason(results, offer, alternative=None):
    """Why this design: the target, and what the study's own design does.

    Parameters
    ----------
    results : results.Results
    offer : Offer
    alternative : Offer, optional
    """
    study, own = results.study, own_offer(results)
    parts = [
        _("Your target is {target}.").format(target=target_words(study.target)),
        _essential(study),
        why_missed(results, own),
    ]
    if offer.remedy:
        parts.append("" if offer.meets else _("Then use less energy, or add a second source."))
        parts.append(_("The other pages describe the system without it."))
    elif not offer.meets:
        parts.append(_("Larger sizes were not compared.") if _at_the_edge(results, offer) else "")
        parts.append(_("Use less energy, add a second source, or accept a milder target."))
    elif offer.is_own:
        parts += [_own_reason(study, offer), why_dearer(study, offer, alternative)]
    else:
        parts += _other_reasons(results, offer, own)
    return say.joined(parts)


def _at_the_edge(results, offer):
    """Whether a design has the largest array or bank of the grid of sizes."""
    sizes = results.sizing
    return len(sizes) > 0 and bool(
        offer.array_wp >= sizes["array_wp"].max() or offer.bank_ah >= sizes["bank_ah"].max()
    )


def _essential(study):
    """Which loads the target speaks of."""
    rows = study.loads | study.measured_loads
    names = [
        say.given(name_in_words(name)) for name, row in rows.items() if row.tier in ("essential", "critical")
    ]
    return _("Essential: {names}.").format(names=say.listed(names)) if names else ""


def _own_reason(study, offer):
    """That the study's own design meets its target, and with which chance."""
    asked = study.target.chance_pct
    surely = offer.chance >= asked / 100.0
    if not np.isfinite(offer.chance):
        return _("This design meets it by our best guess.")
    text = (
        _("This design meets all targets of the study with a chance of {chance}; {asked:g} % were asked for.")
        if surely and study.target.additional
        else _("This design meets it with a chance of {chance}; {asked:g} % were asked for.")
        if surely
        else _(
            "This design meets it by our best guess with a chance of {chance}; {asked:g} % were asked for."
        )
    )
    return text.format(chance=say.chance(offer.chance), asked=asked)


def why_dearer(study, offer, alternative):
    """Why the size asked for is recommended where an alternative that meets the target is cheaper; else empty.

    Parameters
    ----------
    study : darkspell.study.Study
    offer, alternative : Offer
        The alternative may be None.
    """
    if alternative is None or not alternative.cost < offer.cost:
        return ""
    saved = price_of(study, offer) - price_of(study, alternative)
    if not (np.isfinite(saved) and saved > 0):
        return ""
    text = _("You asked for this size: it costs {price} more than the alternative, and goes dark less often.")
    if say.chance(alternative.chance) == say.chance(offer.chance):
        text = _(
            "You asked for this size; the alternative costs {price} less and meets the target as surely."
        )
    elif alternative.meets:
        text = _(
            "You asked for this size. The alternative costs {price} less and meets the target too, but goes dark "
            "more often."
        )
    return text.format(price=money(saved, study.document.currency))


def _other_reasons(results, offer, own):
    """Why another design than the study's own is recommended; list of sentences."""
    asked = results.study.target.chance_pct
    if offer.pieces:
        because = _(
            "Of the designs of whole pieces this one is the cheapest that meets every target of the study with a "
            "chance of {asked:g} % or more."
        ).format(asked=asked)
    else:
        because = _(
            "Of the {count} sizes compared, {best} is the cheapest that meets the target with a chance of "
            "{asked:g} % or more."
        ).format(count=len(results.sizing), asked=asked, best=design(offer.array_wp, offer.bank_ah))
    fails = (
        ""
        if own.meets or not np.isfinite(own.value)
        else _("The size asked for, {design}, does not: {figure} {counted}.").format(
            design=design(own.array_wp, own.bank_ah),
            figure=figure_words(results, own),
            counted=phrase(results.study.target.statistic),
        )
    )
    next_pages = _("The next pages describe the size asked for, {design}, not the recommended one.")
    return [because, fails, next_pages.format(design=design(own.array_wp, own.bank_ah))]


def why_missed(results, own):
    """Main cause of loss of the size asked for and what was tried against it; empty where it meets the target.

    Parameters
    ----------
    results : results.Results
    own : Offer
        The study's own design.
    """
    cause, rows = main_cause(results)
    if cause is None or own.meets and not own.chance < results.study.target.chance_pct / 100.0:
        return ""
    text = (
        _(
            "The size asked for meets it by the best guess, but with a chance of {chance} only, mainly because "
            "{cause}."
        )
        if own.meets
        else _("The size asked for misses it mainly because {cause}.")
    ).format(cause=_(CAUSES[cause]), chance=say.chance(own.chance))
    if not rows:
        return text
    name = results.study.target.statistic
    tried = [
        f"{_(words)}: {say.number(*_two_digits(scaled(name, row['value'])[0]))}"
        for row, words in ((row, WORDS[row["remedy"]]) for row in rows)
    ]
    tried_words = _("Tried on the same years, {counted}: {tried}.").format(
        counted=phrase(name), tried="; ".join(tried)
    )
    return f"{text} {tried_words}"


def _two_digits(value):
    """A number and its decimals for two significant digits."""
    return value, 0 if abs(value) >= 10 else 1 if abs(value) >= 1 else 2


def _trial(results):
    return _(
        "This was a trial with {count}: too few for an interval. Run a few hundred years before you decide."
    ).format(count=say.count_of(results.years, "{count} year", "{count} years"))
