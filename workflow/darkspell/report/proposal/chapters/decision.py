"""Page 1: what is recommended and why, its price, what to expect, how sure that is, and one alternative."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.messages import N_, _, ngettext
from darkspell.design.cause_words import CAUSES, NOT_OF_SIZE, WORDS
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.localization import money, month_name
from darkspell.report.document.tree import Paragraph, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.cautions import caution_box
from darkspell.report.proposal.chapters.designs_remedies_sensitivity import pieces
from darkspell.report.proposal.chapters.equipment import controller
from darkspell.report.proposal.chapters.opening import nights_of
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.system import chemistry
from darkspell.report.proposal.chapters.target import (
    TRIAL_YEARS,
    first_chance,
    own_chance,
    phrase,
    scaled,
    target_words,
)
from darkspell.report.proposal.chapters.uncertainty import uncertainty_about
from darkspell.report.tables.bill_of_materials import total_of

DISPLAYS = {
    "shunt": N_("shunt that shows the charge"),
    "gauge": N_("voltage gauge"),
    "pack": N_("display of the batteries' electronics"),
}
SMALL = 0.05  # share of the target below which a figure is "under" that; our choice
MOSTLY = 0.5  # share of the hours of loss that makes a cause the one that page 1 acts on; our choice
SAME_PRICE = 0.02  # share of the price within which two designs cost the same; our choice
BETTER_SOURCE = {
    "atlas": N_("twelve monthly values of sunshine measured nearby"),
    "monthly": N_("some years of daily sunshine measured nearby"),
    "typical_year": N_("some years of daily sunshine measured nearby"),
    "satellite": N_("some years of daily sunshine measured nearby"),
}


@dataclass(frozen=True)
class Offer:
    """One design as page 1 shows it.

    Parameters
    ----------
    array_wp, bank_ah, cost : float
        Rated power of all arrays [Wp], rated capacity [Ah], price in the study's currency.
    value : float
        Statistic of the target, in the unit of its phrase.
    low, high : float
        95 % interval of that statistic for this site; NaN where it is not known.
    year_low, year_high : float
        Nights of a coming year, 80 % interval.
    share : float
        Share of years with such nights [-].
    chance : float
        Probability that the long-run average of this site meets the target [-]; NaN where it is not known.
    meets : bool
        Whether the best estimate meets the target.
    is_own : bool
        Whether this is the study's own design, of which all other pages speak.
    remedy : str
        What is added to the study's own sizes; empty where nothing is.
    pieces : str
        The whole pieces that it is made of; empty where it is counted by the watt and the ampere-hour.
    """

    array_wp: float
    bank_ah: float
    cost: float
    value: float
    low: float
    high: float
    year_low: float
    year_high: float
    share: float
    chance: float
    meets: bool
    is_own: bool
    remedy: str = ""
    pieces: str = ""


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
        Paragraph(reason(results, recommended)),
    ]
    if results.years < TRIAL_YEARS:
        blocks.append(Paragraph(_trial(results)))
    blocks += [
        _table(results, recommended, alternative),
        Paragraph(expectation(results, recommended)),
        *critical(results, recommended),
        Paragraph(surer(results)),
        caution_box(results),
    ]
    return blocks


def choose(results):
    """The design to recommend, and one alternative.

    The study's own design is recommended where it meets the target or where nothing else was compared; else the
    cheapest of whole pieces that meets all targets (catalogue_designs.csv), else the cheapest of the grid that meets
    it (column ``chosen``), else the best of the grid. The alternative is the
    study's own design where another is recommended, else the cheapest that meets the target where it is cheaper,
    else the next larger bank. Where the main cause of loss is none of size, what cures it is recommended before
    another size.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    recommended : Offer
    alternative : Offer or None
    """
    own, sizing = own_offer(results), results.sizing
    if not len(sizing):
        return own, None
    chosen = sizing[sizing["chosen"].astype(bool)]
    cheapest = grid_offer(results, chosen.iloc[0]) if len(chosen) else None
    cured = cured_offer(results, own)
    if cured is not None and (cured.meets or cheapest is None):
        return cured, own
    whole = None if own_meets(results, own) else pieces_offer(results)
    if whole is not None:
        return whole, own
    if own_meets(results, own):
        if cheapest and not cheapest.is_own and cheapest.cost < own.cost * (1 - SAME_PRICE):
            return own, cheapest
        return own, _larger(results, own)
    if cheapest is not None:
        return (own, _larger(results, own)) if cheapest.is_own else (cheapest, own)
    best = grid_offer(results, sizing.loc[sizing[results.study.target.statistic].idxmin()])
    return best, own


def own_meets(results, own):
    """Whether the study's own design meets its target with the chance asked for, as far as that is known.

    Parameters
    ----------
    results : results.Results
    own : Offer
        The study's own design.
    """
    return own.meets and not own.chance < results.study.target.chance_pct / 100.0


def pieces_offer(results):
    """The chosen design of whole pieces as an `Offer`; None where there is none, or a bill counts otherwise.

    Parameters
    ----------
    results : results.Results
    """
    table = results.table("catalogue_designs")
    if not len(table) or results.study.document.bill is not None:
        return None
    rows = table[(table["place"] == "chosen") & table["requirement"].isin(["target"])]
    if not len(rows):
        return None
    row, name = rows.iloc[0], results.study.target.statistic
    value, low, high = scaled(name, row["value"], row["low"], row["high"])
    return Offer(row["array_wp"], row["bank_ah"], row["cost"], value, low, high, np.nan, np.nan, np.nan,
                 row["probability_met"], True, False, pieces=pieces(row))  # fmt: skip


def own_offer(results):
    """The study's own design as an `Offer`.

    Parameters
    ----------
    results : results.Results
    """
    study, name = results.study, results.study.target.statistic
    entry, row = results.summary.get(name) or {}, uncertainty_about(results, name)
    nights = nights_of(results)
    value = np.nan if entry.get("value") is None else scaled(name, entry["value"])[0]
    low, high = (np.nan, np.nan) if row is None else scaled(name, row["place_low"], row["place_high"])
    if entry.get("place_low") is not None:
        low, high = scaled(name, entry["place_low"], entry["place_high"])
    (limit,) = scaled(name, study.target.at_most)
    return Offer(study.array_wp, study.bank.capacity_ah, first_cost(study), value, low, high, nights.year_low,
                 nights.year_high, nights.share, own_chance(results), bool(value <= limit), True)  # fmt: skip


def cured_offer(results, own):
    """The study's own sizes with what best acts on the main cause of loss; None where sizes are the cure."""
    cause, rows = main_cause(results)
    if cause not in NOT_OF_SIZE or not rows:
        return None
    best, asked = rows[0], results.study.target.chance_pct / 100.0
    value, low, high = scaled(best["statistic"], best["value"], best["place_low"], best["place_high"])
    unknown = dict.fromkeys(("year_low", "year_high", "share"), np.nan)
    chance, words = best["probability_met"], WORDS[best["remedy"]]
    return replace(own, value=value, low=low, high=high, chance=chance, meets=chance >= asked, is_own=False,
                   remedy=_(words), **unknown)  # fmt: skip


def main_cause(results):
    """Main cause of loss where it has most of the hours, and what was tried against it, best first.

    Parameters
    ----------
    results : results.Results
    """
    cause = results.summary.get("main_cause") or {}
    if not cause or cause["value"] < MOSTLY:
        return None, []
    return cause["cause"], cause.get("remedies", [])


def grid_offer(results, row):
    """A row of sizing.csv as an `Offer`."""
    study, name = results.study, results.study.target.statistic
    (value,) = scaled(name, row[name])
    low, high = scaled(name, row.get(f"{name}_low", np.nan), row.get(f"{name}_high", np.nan))
    (limit,) = scaled(name, study.target.at_most)
    own = np.isclose(row.array_wp, study.array_wp) and np.isclose(row.bank_ah, study.bank.capacity_ah)
    year = (row.get(f"short_nights_year_{end}", np.nan) for end in ("low", "high"))
    return Offer(row.array_wp, row.bank_ah, row.cost, value, low, high, *year,
                 row.get("years_with_short_nights", np.nan), row.get("probability_met", np.nan),
                 bool(row.get("meets_target", value <= limit)), bool(own))  # fmt: skip


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
    return _("No size compared meets the target. The best of them is {design}.").format(design=words)


def price_of(study, offer):
    """What an offer costs: by its bill of materials where the study asks for one, else by the price list.

    Parameters
    ----------
    study : darkspell.study.Study
    offer : Offer

    Returns
    -------
    float
        In the study's currency; NaN for another design than the study's own where the bill has only lines of its own.
    """
    bill = study.document.bill
    if bill is None or offer.pieces:
        return offer.cost
    if not bill.price_list and not offer.is_own:
        return np.nan
    return total_of(study, offer.array_wp, offer.bank_ah)


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


def reason(results, offer):
    """Why this design: the target, and what the study's own design does.

    Parameters
    ----------
    results : results.Results
    offer : Offer
    """
    study, own = results.study, own_offer(results)
    parts = [
        _("Your target is {target}.").format(target=target_words(study.target)),
        why_missed(results, own),
    ]
    if offer.remedy:
        parts.append("" if offer.meets else _("Then use less energy, or add a second source."))
        parts.append(_("The other pages describe the system without it."))
    elif not offer.meets:
        parts.append(_("Use less energy, add a second source, or accept a milder target."))
    elif offer.is_own:
        parts.append(_own_reason(study, offer))
    else:
        parts += _other_reasons(results, offer, own)
    return say.joined(parts)


def _own_reason(study, offer):
    """That the study's own design meets its target, and with which chance."""
    asked = study.target.chance_pct
    surely = offer.chance >= asked / 100.0
    if not np.isfinite(offer.chance):
        return _("This design meets it by our best estimate.")
    text = (
        _("This design meets all targets of the study with a chance of {chance}; {asked:g} % were asked for.")
        if surely and study.target.additional
        else _("This design meets it with a chance of {chance}; {asked:g} % were asked for.")
        if surely
        else _(
            "This design meets it by our best estimate with a chance of {chance}; {asked:g} % were asked for."
        )
    )
    return text.format(chance=say.chance(offer.chance), asked=asked)


def _other_reasons(results, offer, own):
    """Why another design than the study's own is recommended; list of sentences."""
    asked = results.study.target.chance_pct
    if offer.pieces:
        because = _(
            "We recommend this size because of the designs of whole pieces it is the cheapest that meets every "
            "target of the study with a chance of {asked:g} % or more."
        ).format(asked=asked)
    else:
        because = _(
            "We recommend this size because of the {count} sizes compared it is the cheapest that meets the target "
            "with a chance of {asked:g} % or more."
        ).format(count=len(results.sizing), asked=asked)
    fails = (
        ""
        if own.meets or not np.isfinite(own.value)
        else _("The size asked for, {design}, does not: {figure} {counted}.").format(
            design=design(own.array_wp, own.bank_ah),
            figure=figure_words(results, own),
            counted=phrase(results.study.target.statistic),
        )
    )
    return [because, fails, _("The next pages describe the size asked for.")]


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
            "The size asked for meets it by the best estimate, but with a chance of {chance} only, mainly because "
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


def figure_words(results, offer):
    """Target's statistic of a design with the digits that keep it on its side of the target.

    Parameters
    ----------
    results : results.Results
    offer : Offer
    """
    if not np.isfinite(offer.value):
        return _("not known")
    (limit,) = scaled(results.study.target.statistic, results.study.target.at_most)
    if 0 < offer.value < SMALL * limit:
        return _("under {value:.2g}").format(value=SMALL * limit)
    return say.rounded(offer.value, offer.low, offer.high, limit)


def _table(results, recommended, alternative):
    """Recommended design and alternative, number by number."""
    study = results.study
    offers = [recommended] + ([alternative] if alternative else [])
    rows = [
        [_("Array and bank"), *(design(one.array_wp, one.bank_ah) for one in offers)],
        [_("Price"), *(_price(study, one) for one in offers)],
        [_("{counted}, best estimate").format(counted=say.sentence(phrase(study.target.statistic))),
         *(figure_words(results, one) for one in offers)],
        [_("The same, 95\u00a0% interval for this site"), *(_interval(one) for one in offers)],
        [_("Chance that this site meets the target"), *(say.chance(_alone(results, one)) for one in offers)],
        [_("Chance of a night without essential power in a coming year"), *(_share(results, one) for one in offers)],
        [_("Such nights in a coming year, 8 years of 10"), *(_year(results, one) for one in offers)],
    ]  # fmt: skip
    return Table(
        caption=_("What to expect in a year"),
        header=["", _("Recommended") if recommended.meets else _("Best of those compared")]
        + ([_name(recommended, alternative)] if alternative else []),
        rows=rows,
        align="l" + "r" * len(offers),
        note=_("From the study's price list, not a quotation.")
        if study.document.bill is None
        else _("Prices are the totals of the bill of materials, tax included."),
    )


def _alone(results, offer):
    """Chance of the target alone, of which the designs compared know no other."""
    return first_chance(results) if offer.is_own else offer.chance


def _price(study, offer):
    amount = price_of(study, offer)
    return money(amount, study.document.currency) if np.isfinite(amount) else _("not priced")


def _name(recommended, alternative):
    if alternative.is_own and not recommended.is_own:
        return _("As asked") if not alternative.meets else _("Alternative, as asked")
    chances = say.chance(alternative.chance), say.chance(recommended.chance)
    alike = alternative.value == recommended.value and chances[0] == chances[1]
    if alternative.cost < recommended.cost:
        return _("Alternative: cheaper") if alike else _("Alternative: cheaper, riskier")
    return _("Alternative: dearer") if alike else _("Alternative: dearer, safer")


def _interval(offer):
    if not np.isfinite([offer.low, offer.high]).all():
        return _("not worked out")
    return say.between(offer.low, offer.high)


def _share(results, offer):
    if not np.isfinite(offer.share):
        return _("not known")
    if offer.share in (0.0, 1.0):  # so many years show neither never nor always
        least = 1.0 / results.years
        return (
            _("under {value}").format(value=say.percent(least))
            if offer.share == 0.0
            else _("over {least}").format(least=say.percent(1.0 - least))
        )
    return say.percent(offer.share)


def _year(results, offer):
    if results.years < TRIAL_YEARS or not np.isfinite([offer.year_low, offer.year_high]).all():
        return _("not known")
    low, high = int(np.floor(offer.year_low)), int(np.ceil(offer.year_high))
    return (
        (_("none") if high == 0 else f"{high}")
        if low == high
        else _("{low} to {high}").format(low=low, high=high)
    )


def expectation(results, recommended):
    """In which months the nights fall; of the study's own design, since only its months are known.

    Parameters
    ----------
    results : results.Results
    recommended : Offer
    """
    nights = nights_of(results)
    if not nights.counts.size:
        years = say.count_of(nights.years, "{count} synthetic year", "{count} synthetic years")
        text = (
            _("In {years} essential loads never went dark for a night.")
            if recommended.is_own
            else _("With the size asked for, in {years} essential loads never went dark for a night.")
        )
        return text.format(years=years)
    often = _how_often(recommended)
    rows = results.month("short_nights")
    total = float(rows["mean"].sum()) if len(rows) else 0.0
    if total <= 0:
        return say.joined([often, _("The months in which these nights fall are not known.")])
    months = nights.months or [int(rows["mean"].idxmax())]
    part = float(rows["mean"][months].sum()) / total
    text = ngettext("{months} has {share} of them.", "{months} have {share} of them.", len(months))
    if not recommended.is_own:
        text = _("With the size asked for, {share} of its dark nights fall in {months}.")
    share = _("all") if part > 0.995 else say.percent(round(part, 2))
    named = say.listed(month_name(month) for month in months)
    return say.joined([often, say.sentence(text.format(share=share, months=named))])


def critical(results, recommended):
    """How often critical loads go dark, a paragraph where a load is critical; of the study's own design.

    Parameters
    ----------
    results : results.Results
    recommended : Offer
    """
    found, study = results.summary.get("critical_short_nights"), results.study
    if not study.has_critical or found is None or found["value"] is None:
        return
    rows = study.loads | study.measured_loads
    names = say.listed(say.given(name_in_words(name)) for name, row in rows.items() if row.tier == "critical")
    text = _(
        "Below {level:g} % of charge essential loads are switched off, to keep the critical ones running ({names})."
    )
    text = text.format(names=names, level=study.critical.shed_essential_below_soc_pct)
    dark = results.members["critical_short_nights"].to_numpy()
    if not dark.any() and recommended.is_own:
        nights = _("In {years} synthetic years critical loads never went dark for a night.")
    elif not dark.any():
        nights = _(
            "With the size asked for, critical loads never went dark for a night in {years} synthetic years."
        )
    elif recommended.is_own:
        nights = _(
            "In {share} of the years critical loads lack power for a night (best estimate {value:.2g} nights a year)."
        )
    else:
        nights = _(
            "With the size asked for, critical loads lack power for a night in {share} of the years (best estimate "
            "{value:.2g} nights a year)."
        )
    share = say.percent(float((dark > 0).mean()))
    nights = nights.format(years=results.years, value=found["value"], share=share)
    low, high = found["place_low"], found["place_high"]
    if low is not None and high is not None:
        known = _("The 95 % interval for this site is {bounds} nights a year.")
        nights = f"{nights} {known.format(bounds=say.between(low, high))}"
    yield Paragraph(f"{text} {nights}")


def _how_often(offer):
    """How often a year has dark nights, in whole years; empty where it is not known."""
    if not np.isfinite(offer.share):
        return ""
    if offer.share == 0:
        return _("In none of the simulated years did essential loads go dark for a night.")
    text = _("Expect nights without essential power in {often}.")
    if offer.share > offer.value:
        text = _(
            "Expect nights without essential power in {often}: more than the best estimate says, since sites with "
            "less sun count too."
        )
    return text.format(often=say.frequency(offer.share))


def surer(results):
    """What would make the answer surer.

    Parameters
    ----------
    results : results.Results
    """
    text = _(
        "How sure is this? Interval and chance allow for uncertain sunshine, loads and bank, and for the number of "
        "years simulated."
    )
    statistic = results.study.target.statistic
    better = BETTER_SOURCE.get(results.study.climate.source, N_("a longer record of sunshine from nearby"))
    get = _("To be surer, get {better}, and measure the loads for a week.").format(better=_(better))
    row = uncertainty_about(results, statistic)
    if row is None or row["next_source"] == "none" or not np.isfinite(row["next_low"]):
        return f"{text} {get}"
    now, then = (
        say.between(*scaled(statistic, row[f"{which}_low"], row[f"{which}_high"]))
        for which in ("place", "next")
    )
    if now == then:
        less = _("To be surer, measure the loads for a week: better data of the sunshine would hardly help.")
        return f"{text} {less}"
    gain = (
        _("With that sunshine the interval would run from {interval}.")
        if choose(results)[0].is_own
        else _("With that sunshine the interval for the size asked for would run from {interval}.")
    )
    return f"{text} {get} {gain.format(interval=then)}"


def _trial(results):
    return _(
        "This was a trial with {count}: too few for an interval. Run a few hundred years before you decide."
    ).format(count=say.count_of(results.years, "{count} year", "{count} years"))


def _larger(results, own):
    """The next dearer design of the grid that does better, by price; None where there is none."""
    offers = [grid_offer(results, row) for _index, row in results.sizing.iterrows()]
    safer = [
        one for one in offers if one.cost > own.cost and one.value < own.value and np.isfinite(one.value)
    ]
    return min(safer, key=lambda one: (one.cost, one.value), default=None)
