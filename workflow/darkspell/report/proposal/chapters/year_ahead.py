"""What page 1 says of a year: its table, how often and when nights are dark, and what would make that surer."""

import numpy as np

from darkspell.core.messages import N_, _, ngettext
from darkspell.report import wording as say
from darkspell.report.document.localization import money, month_name
from darkspell.report.document.tree import Paragraph, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.offers import choose, price_of
from darkspell.report.proposal.chapters.opening import IN_SUCH, nights_of, size_of_event
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.target import first_chance, phrase, scaled
from darkspell.report.proposal.chapters.uncertainty import uncertainty_about

SMALL = 0.05  # share of the target below which a figure is "under" that; our choice
BETTER_SOURCE = {
    "atlas": N_("twelve monthly values of sunshine measured nearby"),
    "monthly": N_("some years of daily sunshine measured nearby"),
    "typical_year": N_("some years of daily sunshine measured nearby"),
    "satellite": N_("some years of daily sunshine measured nearby"),
}


def year_table(results, recommended, alternative):
    """Recommended design and alternative, number by number; Table.

    Parameters
    ----------
    results : darkspell.report.results.Results
    recommended : Offer
    alternative : Offer or None
    """
    study = results.study
    offers = [recommended] + ([alternative] if alternative else [])
    years = _("Years with a night without essential power (95\u00a0% interval for this site)")
    rows = [
        [_("Array and bank"), *(design(one.array_wp, one.bank_ah) for one in offers)],
        [_("Price"), *(_price(study, one) for one in offers)],
        [_("{counted}, best estimate").format(counted=say.sentence(phrase(study.target.statistic))),
         *(figure_words(results, one) for one in offers)],
        [_("The same, 95\u00a0% interval for this site"), *(_interval(one) for one in offers)],
        [_("Chance that this site meets the target"), *(say.chance(_alone(results, one)) for one in offers)],
        [years, *(_share(results, one) for one in offers)],
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
    if not np.isfinite([offer.share_low, offer.share_high]).all():
        return say.percent(offer.share)
    share, low, high = map(say.percent, (offer.share, offer.share_low, offer.share_high))
    return _("{share} ({low} to {high})").format(share=share, low=low, high=high)


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
    what = nights.what if recommended.is_own else "year"
    often = _how_often(recommended, what)
    if often and recommended.is_own and recommended.share > 0:
        often = say.joined([often, _(IN_SUCH[nights.what]).format(nights=size_of_event(nights))])
    rows = results.month("short_nights")
    total = float(rows["mean"].sum()) if len(rows) else 0.0
    if total <= 0:
        return say.joined([often, _("The months in which these nights fall are not known.")])
    months = nights.months or [int(rows["mean"].idxmax())]
    part = float(rows["mean"][months].sum()) / total
    text = ngettext(
        "{months} has {share} of these nights.", "{months} have {share} of these nights.", len(months)
    )
    if not recommended.is_own:
        text = _("With the size asked for, {share} of its dark nights fall in {months}.")
    share = _("all") if part > 0.995 else say.percent(round(part, 2))
    named = say.listed(month_name(month) for month in months)
    return say.joined([often, say.sentence(text.format(share=share, months=named))])


def _how_often(offer, what="year"):
    """How often a year has dark nights, in whole years; empty where it is not known."""
    if not np.isfinite(offer.share):
        return ""
    if offer.share == 0:
        return _("In none of the simulated years did essential loads go dark for a night.")
    often = say.frequency(offer.share, what)
    worst = say.frequency(offer.share_high, what) if np.isfinite(offer.share_high) else often
    if worst == often:
        return _("Expect nights without essential power in {often}.").format(often=often)
    text = _(
        "Expect nights without essential power in {often}, by our best estimate; if the site is worse than we "
        "think, in up to {worst}."
    )
    return text.format(often=often, worst=worst)


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
        nights = _("Critical loads lack power on {value} nights a year (best estimate).")
    else:
        nights = _(
            "With the size asked for, critical loads lack power on {value} nights a year (best estimate)."
        )
    low, high = found["place_low"], found["place_high"]
    ends = [np.nan if end is None else end for end in (low, high)]
    nights = nights.format(years=results.years, value=say.rounded(found["value"], *ends))
    if low is not None and high is not None:
        known = _("The 95 % interval for this site is {bounds} nights a year.")
        nights = f"{nights} {known.format(bounds=say.between(low, high))}"
    yield Paragraph(f"{text} {nights}")


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
        less = _("To be surer, measure the loads for a week: better sunshine data would hardly help.")
        return f"{text} {less}"
    gain = (
        _("With such measurements the interval would run from {interval}.")
        if choose(results)[0].is_own
        else _("With such measurements the interval for the size asked for would run from {interval}.")
    )
    return f"{text} {get} {gain.format(interval=then)}"
