"""What the bank asks of its owner: to be charged full often enough, and to be equalised."""

from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.tree import Paragraph, Section
from darkspell.report.proposal.chapters.target import TRIAL_YEARS

RARE = 0.04  # times a year below which equalising is "hardly ever", once in 25 years; our choice


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
    """The section on full charges, and on equalising where the bank is flooded; lead-acid has one.

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
        "wait of a year is {longest} days on average, and in nine years of ten no more than "
        "{year_high:.0f} days. For {late} % of the year the last full charge is longer ago than that. "
        "Sulphate that is not dissolved by then hardens and takes capacity for good. How fast it does so is "
        "our assumption; a study of ageing counts it as wear."
    ).format(
        wanted=wanted,
        longest=known(results, longest),
        year_high=longest["year_high"],
        late=known(results, late),
    )
    if longest["value"] > wanted:
        text += " " + _("A larger array, or a source that charges it to full, shortens the wait.")
    blocks = [Paragraph(text)]
    if is_equalised(chemistry):
        blocks.append(Paragraph(_equalising(results, chemistry)))
    else:
        blocks.append(Paragraph(_("This bank is sealed: never equalise it unless its maker says so.")))
    return Section(heading, blocks)


def is_equalised(chemistry):
    """Whether equalising charges are carried out on a kind of bank: on flooded lead-acid alone.

    Parameters
    ----------
    chemistry : str
    """
    return constant("bank", chemistry, "equalise_h") > 0


def equalising_needs(results):
    """How often the bank is equalised and what that takes, in two sentences for its owner; empty where it is not.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    chemistry, done = results.study.bank.chemistry, results.summary.get("equalised")
    if not is_equalised(chemistry) or done is None or done["value"] is None:
        return ""
    after, hours = (constant("bank", chemistry, name) for name in ("equalise_after_days", "equalise_h"))
    text = _(
        "Equalise it for {hours:g} hours after {after:g} days without a full charge, here {often}; then top up "
        "distilled water."
    )
    return text.format(hours=hours, after=after, often=_often(done["value"]))


def _often(a_year):
    """How often something is done, from times a year."""
    if a_year < RARE:
        return _("hardly ever")
    if a_year < 0.75:
        return _("about once in {years} years").format(years=say.in_words(round(1 / a_year)))
    return say.count_of(round(a_year), "about {count} time a year", "about {count} times a year")


def _equalising(results, chemistry):
    """What equalising asks of a flooded bank, as the simulated years carry it out."""
    due, done, water, waiting = (
        results.summary[name]
        for name in ("equalisations", "equalised", "equalising_water_l", "stratified_pct")
    )
    after, hours = (constant("bank", chemistry, name) for name in ("equalise_after_days", "equalise_h"))
    gas = _(
        "It makes hydrogen: air the room and keep flames away. The maker's own schedule comes before ours."
    )
    if due["value"] == 0:
        none = _(
            "An equalising charge is due after {after:g} days without a full charge; in no simulated year was it."
        )
        return f"{none.format(after=after)} {gas}"
    text = _(
        "An equalising charge is due after {after:g} days without a full charge: {due} times a year, in nine years "
        "of ten no more than {year_high:.0f}. Array and chargers then hold a full bank at the equalising voltage for "
        "{hours:g} hours, with current that nothing else could use: {done} times a year. That splits {water} l of "
        "water a year, to be topped up with distilled water. For {waiting} % of the year a charge is due and not "
        "yet done."
    ).format(
        after=after,
        due=known(results, due),
        year_high=due["year_high"],
        hours=hours,
        done=known(results, done),
        water=known(results, water),
        waiting=known(results, waiting),
    )
    return f"{text} {gas}"


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
