"""The answer in whole events, from one distribution: the years of members.csv."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph
from darkspell.report.proposal.chapters.target import TRIAL_YEARS, verdict_sentence

FEW_YEARS = 5  # with fewer years that saw the event they are told one by one
OFTEN = 0.95  # share of years from which on it is "nearly every" year
MOSTLY = 0.7  # share of the nights that "mostly" stands for
NORTHERN_WINTER = (10, 11, 12, 1, 2, 3)


@dataclass(frozen=True)
class Nights:
    """Nights on which essential loads go dark, over all years of a study.

    Parameters
    ----------
    counts : int array
        Nights of the years that had any, ascending.
    share : float
        Of years that had any [-].
    low, high : float
        Interval of that share, 95 % [-].
    years : int
        Number of years.
    year_low, year_high : int
        Nights of a single year, from its 10th and 90th percentile.
    months : list of int
        Calendar months 1-12 that hold most of the nights; empty where they are spread.
    what : str
        "winter" where nearly all such nights fall into the cold half, else "year".
    """

    counts: np.ndarray
    share: float
    low: float
    high: float
    years: int
    year_low: int
    year_high: int
    months: list
    what: str


def nights_of(results):
    """Nights without essential power of one study's results (`Results`).

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    from darkspell.statistics.proportions import share_interval

    nights = results.members["short_nights"].to_numpy()
    low, high = share_interval(nights > 0, results.members["parameter_draw"].to_numpy())
    year_low, year_high = np.quantile(nights, [0.1, 0.9])
    by_month = _by_month(results)
    return Nights(
        counts=np.sort(nights[nights > 0]).astype(int),
        share=float((nights > 0).mean()),
        low=float(low),
        high=float(high),
        years=nights.size,
        year_low=int(np.floor(year_low)),
        year_high=int(np.ceil(year_high)),
        months=_most(by_month, results.calendar),
        what=_season(by_month, results.study.site.latitude_deg),
    )


def opening(results):
    """The first paragraphs of a proposal.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    nights = nights_of(results)
    return [
        Paragraph(expectation(nights), "lead"),
        Paragraph(how_sure(nights)),
        Paragraph(coming_year(nights)),
        Paragraph(verdict_sentence(results)),
        *_trial(results),
    ]


def _trial(results):
    if results.years >= TRIAL_YEARS:
        return
    yield Paragraph(
        _(
            "This was a trial with {count}. The intervals below mean nothing with so few; do not "
            "build on them. A few hundred years would tell."
        ).format(count=say.count_of(results.years, "{count} year", "{count} years"))
    )


def expectation(nights):
    """The answer: how often, how many nights, when.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.
    """
    what = nights.what
    if nights.years == 1:
        seen = (
            say.count_of(nights.year_high, "{count} night", "{count} nights")
            if nights.year_high
            else _("no night")
        )
        return _("One synthetic year was drawn; in it the essential loads went dark on {seen}.").format(
            seen=seen
        )
    if not nights.counts.size:
        return _(
            "Expect the essential loads to stay on all year: in {years} synthetic years they never "
            "went dark for a night."
        ).format(years=nights.years)
    when = (
        _(", mostly in {items}").format(items=say.listed(month_name(m) for m in nights.months))
        if nights.months
        else ""
    )
    share, dark = say.percent(nights.share), _("nights when the essential loads go dark")
    if nights.share >= OFTEN:
        every = "every" if nights.share == 1.0 else _("nearly every")
        return _("Expect {dark} in {every} {what} ({share}): {size_of_event}{when}.").format(
            dark=dark, every=every, what=what, share=share, size_of_event=size_of_event(nights), when=when
        )
    often = say.frequency(nights.share, what)
    if nights.counts.size < FEW_YEARS:
        those = _("In that one it was") if nights.counts.size == 1 else _("In those it was")
        return _("Expect about {often} ({share}) with {dark}. {those} {size_of_event}{when}.").format(
            often=often, share=share, dark=dark, those=those, size_of_event=size_of_event(nights), when=when
        )
    return _("Expect about {often} ({share}) with {dark}; in such a {what}, {size_of_event}{when}.").format(
        often=often, share=share, dark=dark, what=what, size_of_event=size_of_event(nights), when=when
    )


def size_of_event(nights):
    """Nights of a year that has any: the middle eight in ten of such years, or each if they are few.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.
    """
    if nights.counts.size < FEW_YEARS:
        return say.listed(f"{say.in_words(n)}" for n in nights.counts) + (
            " night" if nights.counts.tolist() == [1] else " nights"
        )
    low, high = np.quantile(nights.counts, [0.1, 0.9], method="nearest").astype(int)
    return say.whole_range(low, high, "{count} night", "{count} nights")


def how_sure(nights):
    """How well the frequency is known: the interval of the mean.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.
    """
    if nights.years == 1:
        return _(
            "How sure we are: one year says nothing about how often. We do not know; a run of a few "
            "hundred years would tell."
        )
    known = (
        _("How well we know that: from {years} synthetic years, with 95 % confidence,").format(
            years=nights.years
        )
        + " "
    )
    if not nights.counts.size:
        bound = say.two_digits(1.0 / nights.high)
        return _(
            "{known}such nights come less often than one {what} in {bound} or so. How much less "
            "often we do not know; more years, and better knowledge of the climate, would tell."
        ).format(known=known, what=nights.what, bound=bound)
    bounds = say.shares_between(nights.low, nights.high, nights.what)
    few = (
        " "
        + _("Only {count} of them had such nights: how many nights to expect is hardly known.").format(
            count=say.count_of(nights.counts.size, "{count} year", "{count} years")
        )
        if nights.counts.size < FEW_YEARS
        else ""
    )
    return _("{known}the true frequency lies {bounds} (interval of the mean).{few}").format(
        known=known, bounds=bounds, few=few
    )


def coming_year(nights):
    """What a single coming year may bring: the predictive interval.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.
    """
    start = _("What a single coming year may bring:") + " "
    if nights.years < TRIAL_YEARS:
        return _("{start}from {count} we do not know.").format(
            start=start, count=say.count_of(nights.years, "{count} synthetic year", "{count} synthetic years")
        )
    spread = say.whole_range(nights.year_low, nights.year_high, "{count} such night", "{count} such nights")
    if nights.year_low == 0:
        spread = _("between no such night and {year_high},").format(year_high=say.in_words(nights.year_high))
    if nights.year_high == 0:
        spread = _("no such night")
    return _("{start}{spread} in eight years of ten (80 % interval of a coming year).").format(
        start=start, spread=spread
    )


def _by_month(results):
    """Mean nights by calendar month, [12], January first; zeros where the table lacks them."""
    rows = results.month("short_nights")
    if not len(rows):
        return np.zeros(12)
    return rows["mean"].reindex(range(1, 13)).fillna(0.0).to_numpy()


def _most(by_month, calendar):
    """Months, in study order, that together hold most of the nights; none if it takes more than three."""
    if by_month.sum() <= 0:
        return []
    ranked = np.argsort(-by_month, kind="stable")
    needed = int(np.searchsorted(np.cumsum(by_month[ranked]), MOSTLY * by_month.sum())) + 1
    if needed > 3:
        return []
    return [int(m) + 1 for m in calendar.month_order if m in ranked[:needed]]


def _season(by_month, latitude):
    """Say "winter" where nine tenths of the nights fall into the cold half year outside the tropics."""
    if abs(latitude) < 23.5 or by_month.sum() <= 0:
        return "year"
    cold = np.isin(np.arange(1, 13), NORTHERN_WINTER)
    cold = cold if latitude > 0 else ~cold
    return "winter" if by_month[cold].sum() >= 0.9 * by_month.sum() else "year"
