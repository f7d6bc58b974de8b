"""What page 1 says of a year: its table, how often and when nights are dark, and what would make that surer."""

import numpy as np

from darkspell.core.messages import N_, _, ngettext
from darkspell.report import wording as say
from darkspell.report.document.localization import money, month_name
from darkspell.report.document.tree import Paragraph, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.offers import choose, price_of
from darkspell.report.proposal.chapters.opening import nights_of, size_of_event
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.target import TRIAL_YEARS, first_chance, phrase, scaled
from darkspell.report.proposal.chapters.uncertainty import share_words, uncertainty_about
from darkspell.statistics.site_shares import years_with

SMALL = 0.05  # share of the target below which a figure is "under" that; our choice
WIDE = 10.0  # times its lower end that an interval is called wide; our choice
ALLOWED = N_(
    "How sure is this? Intervals and chances allow for uncertain sunshine, loads and bank, and for the number of "
    "years simulated."
)
PARTS = N_("Sunshine data cause {of_sun} of the uncertainty, loads {of_loads}.")
BAD = 50  # a bad year is one of so many; our choice
TYPICAL = {
    "year": N_("Essential loads stay on every night of a typical year."),
    "winter": N_("Essential loads stay on every night of a typical winter."),
}
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
    coming = _(
        "Chance that a coming year has a night without essential power (95\u00a0% interval of the long-run share)"
    )
    average = _("Long-run average, {counted}: best guess (95\u00a0% interval for this site)")
    rows = [
        [_("Array and bank"), *(design(one.array_wp, one.bank_ah) for one in offers)],
        [_("Price"), *(_price(study, one) for one in offers)],
        [_("Chance that this site meets the target"), *(say.chance(_alone(results, one)) for one in offers)],
        [coming, *(_share(results, one) for one in offers)],
        [average.format(counted=phrase(study.target.statistic)), *(_average(results, one) for one in offers)],
    ]  # fmt: skip
    estimate = _("Best guess: as likely better as worse. Chances count the bad cases, too.")
    price = (
        _("From the study's price list, not a quotation.")
        if study.document.bill is None
        else _("Prices are the totals of the bill of materials, tax included.")
    )
    return Table(
        caption=_("What to expect in a year"),
        header=["", _("Recommended") if recommended.meets else _("Best of those compared")]
        + ([_name(recommended, alternative)] if alternative else []),
        rows=rows,
        align="l" + "r" * len(offers),
        note=say.joined([estimate, price]),
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


def _average(results, offer):
    """Target's statistic of a design, with its interval where that is known."""
    value = figure_words(results, offer)
    if not np.isfinite([offer.low, offer.high]).all():
        return value
    return _("{value} ({interval})").format(value=value, interval=say.between(offer.low, offer.high))


def _share(results, offer):
    """Chance of a coming year with a dark night, with the interval of the long-run share where that is known."""
    if not np.isfinite(offer.share):
        return _("not known")
    share, least = say.percent(offer.share), 1.0 / results.years
    if offer.share == 0.0:  # so many years show neither never nor always
        share = _("under {value}").format(value=say.percent(least))
    elif offer.share == 1.0:
        share = _("over {least}").format(least=say.percent(1.0 - least))
    if not np.isfinite([offer.share_low, offer.share_high]).all():
        return share
    low, high = map(say.percent, (offer.share_low, offer.share_high))
    return _("{share} ({low} to {high})").format(share=share, low=low, high=high)


def expectation(results, recommended):
    """How often and when nights are dark; months and counts are of the study's own design, the only ones known.

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
    often = [_typical(recommended, what), _how_often(recommended, what, nights)]
    if recommended.is_own:
        often.append(_bad(results, nights))
    often.append(_badly(recommended, what))
    rows = results.month("short_nights")
    total = float(rows["mean"].sum()) if len(rows) else 0.0
    if total <= 0:
        return say.joined([*often, _("The months in which these nights fall are not known.")])
    months = nights.months or [int(rows["mean"].idxmax())]
    part = float(rows["mean"][months].sum()) / total
    text = ngettext(
        "{months} has {share} of these nights.", "{months} have {share} of these nights.", len(months)
    )
    if not recommended.is_own:
        text = _("With the size asked for, {share} of its dark nights fall in {months}.")
    share = _("all") if part > 0.995 else say.percent(round(part, 2))
    named = say.listed(month_name(month) for month in months)
    return say.joined([*often, say.sentence(text.format(share=share, months=named))])


def _typical(offer, what):
    """That a typical year has no dark night, where fewer than half of all years have one."""
    if not 0.0 < offer.share < 0.5:
        return ""
    return _(TYPICAL[what])


def _how_often(offer, what, nights):
    """Chance of dark nights in a coming year, as a frequency, and how many; empty where it is not known."""
    if not np.isfinite(offer.share):
        return ""
    if offer.share == 0:
        return _("In none of the simulated years did essential loads go dark for a night.")
    text = (
        _("All uncertainty counted, essential loads go dark in {often}, mostly on {nights}.")
        if offer.is_own
        else _("All uncertainty counted, essential loads go dark in {often}.")
    )
    return text.format(often=say.frequency(offer.share, what), nights=size_of_event(nights))


def _badly(offer, what):
    """The same at the upper end of the interval; empty where that is not known, or no other frequency."""
    if not (np.isfinite(offer.share_high) and offer.share > 0):
        return ""
    worst = say.frequency(offer.share_high, what)
    if worst == say.frequency(offer.share, what):
        return ""
    return _("With bad sun and high use (one chance in 40): {worst}.").format(worst=worst)


def _bad(results, nights):
    """Nights of a bad year, by its chance: of all simulated years so many have as many or more."""
    if nights.years < BAD * TRIAL_YEARS:
        return ""
    count = int(np.quantile(results.members["short_nights"], 1.0 - 1.0 / BAD, method="higher"))
    if not count:
        return ""
    often = say.frequency(1.0 / BAD, nights.what)
    text = ngettext("{often} has {count} night or more.", "{often} has {count} nights or more.", count)
    return say.sentence(text.format(often=often, count=say.in_words(count)))


def critical(results, recommended):
    """How often critical loads go dark, a paragraph where a load is critical; of the study's own design.

    Parameters
    ----------
    results : results.Results
    recommended : Offer
    """
    study = results.study
    if not study.has_critical or "critical_short_nights" not in results.members:
        return
    rows = study.loads | study.measured_loads
    names = say.listed(say.given(name_in_words(name)) for name, row in rows.items() if row.tier == "critical")
    text = _("Below {level:g} % of charge only the critical loads stay on ({names}).")
    text = text.format(names=names, level=study.critical.shed_essential_below_soc_pct)
    yield Paragraph(f"{text} {_critical_nights(results, recommended)}")


def _critical_nights(results, recommended):
    """Chance of a coming year with a night without critical power, and what its long-run share may be."""
    dark = results.members["critical_short_nights"].to_numpy()
    if not dark.any():
        text = (
            _("In {years} synthetic years critical loads never went dark for a night.")
            if recommended.is_own
            else _(
                "With the size asked for, critical loads never went dark for a night in {years} synthetic years."
            )
        )
        return text.format(years=results.years)
    found = years_with(dark[:, None], results.members["parameter_draw"].to_numpy())
    share, low, high = (float(part[0]) for part in (found.value, found.place_low, found.place_high))
    text = (
        _(
            "Critical loads go dark for a night in {often} (95 % interval of such years' share: {low} to {high})."
        )
        if recommended.is_own
        else _(
            "With the size asked for, critical loads go dark for a night in {often} (95 % interval of the share of "
            "such years: {low} to {high})."
        )
    )
    return text.format(often=say.frequency(share), low=say.percent(low), high=say.percent(high))


def surer(results):
    """How sure the answer is, where its uncertainty comes from, and what would make it less.

    Parameters
    ----------
    results : results.Results
    """
    statistic = results.study.target.statistic
    row = uncertainty_about(results, statistic)
    better = _(BETTER_SOURCE.get(results.study.climate.source, N_("a longer record of sunshine from nearby")))
    if row is None:
        text = _("To be surer, get {better}, and measure the loads for a week.")
        return say.joined([_(ALLOWED), text.format(better=better)])
    parts = [
        _wide(row),
        _(PARTS).format(
            of_sun=share_words(row["place_share_climate"]), of_loads=share_words(row["place_share_loads"])
        ),
    ]
    larger = row.get("larger_share")
    if larger == "loads" and row["next_source"] != "none" and len(set(_intervals(results, row))) == 1:
        parts.append(_("To be surer, measure the loads for a week: better sunshine data would hardly help."))
    elif larger == "loads":
        parts.append(_("To be surer, measure the loads for a week first; then get {better}."))
    elif larger == "climate":
        parts.append(_("To be surer, get {better} first; then measure the loads for a week."))
    else:
        parts.append(
            _("To be surer, get {better} and measure the loads for a week; which helps more is not known.")
        )
    return say.joined([part.format(better=better) for part in parts] + [_gain(results, row)])


def _wide(row):
    """Why the interval is wide, where it is; else what it counts."""
    if row["place_high"] > WIDE * row["place_low"]:
        return _(
            "How sure is this? The intervals are wide: a little less sun or more use multiplies the dark nights."
        )
    return _(ALLOWED)


def _gain(results, row):
    """The interval that better sunshine data would leave; empty where the draws do not show that it is much."""
    if row.get("larger_share") != "climate" or row["next_source"] == "none":
        return ""
    now, then = _intervals(results, row)
    if now == then:
        return ""
    text = (
        _("With that sunshine data the interval of the average would be about {interval}.")
        if choose(results)[0].is_own
        else _(
            "With that sunshine data the interval of the average would be about {interval}, for the size asked for."
        )
    )
    return text.format(interval=then)


def _intervals(results, row):
    """The target's interval for this site as printed, now and with better sunshine data."""
    statistic = results.study.target.statistic
    return [
        say.between(*scaled(statistic, row[f"{which}_low"], row[f"{which}_high"]))
        for which in ("place", "next")
    ]
