"""The answer in whole events, from one distribution: the years of members.csv."""

from dataclasses import dataclass

import numpy as np

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph
from darkspell.report.proposal.chapters.target import TRIAL_YEARS

FEW_YEARS = 5  # with fewer years that saw the event each is named; our choice
MOSTLY = 0.7  # share of the nights that "mostly" stands for
NORTHERN_WINTER = (10, 11, 12, 1, 2, 3)
IN_SUCH = {"year": N_("Such a year mostly has {nights}."), "winter": N_("Such a winter mostly has {nights}.")}


@dataclass(frozen=True)
class Nights:
    """Nights on which essential loads go dark, over all years of a study.

    Parameters
    ----------
    counts : int array
        Nights of the years that had any, ascending.
    share : float
        Chance that a coming year has any: of all years, over all that is not known [-].
    low, high : float
        Sampling error of that share, 95 % [-].
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
    entry = results.summary.get("years_with_short_nights") or {}
    share = entry.get("value")
    low, high = (entry.get(f"simulation_{end}") for end in ("low", "high"))
    if None in (share, low, high):
        share = (nights > 0).mean()
        low, high = share_interval(nights > 0, results.members["parameter_draw"].to_numpy())
    year_low, year_high = np.quantile(nights, [0.1, 0.9])
    by_month = _by_month(results)
    return Nights(
        counts=np.sort(nights[nights > 0]).astype(int),
        share=float(share),
        low=float(low),
        high=float(high),
        years=nights.size,
        year_low=int(np.floor(year_low)),
        year_high=int(np.ceil(year_high)),
        months=_most(by_month, results.calendar),
        what=_season(by_month, results.study.site.latitude_deg),
    )


def trial_note(results):
    """A warning where a study has too few years for any interval; list of Paragraph, empty where it has enough.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    if results.years >= TRIAL_YEARS:
        return []
    text = _(
        "This was a trial with {count}. The intervals below mean nothing with so few; do not "
        "build on them. A few hundred years would tell."
    )
    return [Paragraph(text.format(count=say.count_of(results.years, "{count} year", "{count} years")))]


def expectation(nights):
    """What to expect: how often, how many nights, when.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.

    Returns
    -------
    str
    """
    if nights.years == 1:
        return _one_year(nights)
    if not nights.counts.size:
        return _(
            "Expect the essential loads to stay on all year: in {years} synthetic years they never "
            "went dark for a night."
        ).format(years=nights.years)
    often = _("Expect nights when the essential loads go dark in {often} ({share}).").format(
        often=say.frequency(nights.share, nights.what), share=say.percent(nights.share)
    )
    such = _(IN_SUCH[nights.what]).format(nights=size_of_event(nights))
    if not nights.months:
        return say.joined([often, such])
    months = say.listed(month_name(month) for month in nights.months)
    return say.joined([often, such, _("Most of them come in {months}.").format(months=months)])


def _one_year(nights):
    if not nights.year_high:
        return _("One year was simulated; in it the essential loads stayed on every night.")
    return _("One year was simulated; in it the essential loads went dark on {nights}.").format(
        nights=say.count_of(nights.year_high, "{count} night", "{count} nights")
    )


def size_of_event(nights):
    """Nights of a year that has any: the middle eight in ten of such years, or each if they are few.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.

    Returns
    -------
    str
    """
    if 1 < nights.counts.size < FEW_YEARS:
        return _("{list} nights").format(list=say.listed(f"{count}" for count in nights.counts))
    low, high = np.quantile(nights.counts, [0.1, 0.9], method="nearest").astype(int)
    return say.whole_range(low, high, "{count} night", "{count} nights")


def coming_year(nights):
    """What a single coming year may bring: the predictive interval.

    Parameters
    ----------
    nights : Nights
        Counts of the simulated years, see `nights_of`.

    Returns
    -------
    str
    """
    if nights.years < TRIAL_YEARS:
        return _("What a single coming year may bring is not known from {count}.").format(
            count=say.count_of(nights.years, "{count} synthetic year", "{count} synthetic years")
        )
    spread = say.whole_range(nights.year_low, nights.year_high, "{count} such night", "{count} such nights")
    if nights.year_low == 0:
        spread = say.count_of(nights.year_high, "at most {count} such night", "at most {count} such nights")
    if nights.year_high == 0:
        spread = _("no such night")
    return _("A coming year, in eight years of ten (80 % interval): {nights}.").format(nights=spread)


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
