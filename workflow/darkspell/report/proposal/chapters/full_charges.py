"""What the bank asks of its owner: to be charged full often enough, and to be equalised."""

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.tree import Paragraph, Section
from darkspell.report.proposal.chapters.target import TRIAL_YEARS


def there(results):
    """Whether the bank's chemistry suffers from staying below full.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    return "partial_charge_pct" in results.summary


def section(results):
    """The section on full charges; lead-acid has one.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    chemistry = results.study.bank.chemistry
    wanted = constant("bank", chemistry, "full_charge_wanted_days")
    longest = results.summary["longest_full_charge_interval_days"]
    late = results.summary["partial_charge_pct"]
    if longest["value"] <= wanted:
        heading = _("The bank is full often enough: in a usual year it waits {days} at most").format(
            days=_days(longest)
        )
    else:
        heading = _("In a usual year the bank waits up to {days} for a full charge").format(
            days=_days(longest)
        )
    text = _(
        "A bank of this kind should be full every {wanted} days (common practice). The longest "
        "wait of a year is {known} days on average, and in nine years of ten no more than "
        "{year_high:.0f} days; {known_2} % of the year is later after a full charge than that. "
        "Sulphate that is not dissolved by then hardens and takes capacity for good: how fast is "
        "our assumption, and it is part of the wear of an ageing study."
    ).format(
        wanted=wanted,
        known=known(results, longest),
        year_high=longest["year_high"],
        known_2=known(results, late),
    )
    blocks = [Paragraph(text)]
    if "equalisations" in results.summary:
        blocks.append(Paragraph(_equalising(results, chemistry)))
    return Section(heading, blocks)


def _equalising(results, chemistry):
    due = results.summary["equalisations"]
    after = constant("bank", chemistry, "equalise_after_days")
    if due["value"] == 0:
        return _(
            "An equalising charge falls due after {after} days without a full one: in no year drawn "
            "did it. The maker's own schedule comes before ours."
        ).format(after=after)
    return _(
        "An equalising charge falls due after {after} days without a full one: {known} times a "
        "year, in nine years of ten no more than {year_high:.0f}. It takes a source that can "
        "hold the voltage for hours, as a shore line or a generator, and it makes hydrogen: air "
        "the room, keep flames away. Only where the maker allows it: many sealed batteries must "
        "not be equalised."
    ).format(after=after, known=known(results, due), year_high=due["year_high"])


def _days(entry):
    return say.count_of(round(entry["value"]), "{count} day", "{count} days")


def known(results, entry):
    """A headline with its interval, as text.

    Parameters
    ----------
    results : darkspell.report.results.Results
    entry : dict
        Headline of summary.json.
    """
    low, high = entry["place_low"], entry["place_high"]
    if None in (low, high) or results.years < TRIAL_YEARS:
        return f"{entry['value']:.2g}"
    return f"{say.rounded(entry['value'], low, high)} ({say.between(low, high)})"
