"""How sure we are and why, and what is left out."""

import numpy as np

from darkspell.core.calendar import HOURS
from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Listing, Paragraph, Section
from darkspell.report.proposal.chapters.target import phrase, scaled
from darkspell.report.reworded import reworded

SNOW_C = 10.0  # monthly mean air temperature above which no snow is spoken of; our choice
LEAST_SHARE = 0.005  # of the variance, that is given as a number; half a per cent
FEW_YEARS = 0.2  # share of the uncertainty from which on more synthetic years are worth their time
BETTER = {
    "atlas": N_("twelve monthly values of sunshine measured nearby"),
    "monthly": N_("some years of daily sunshine measured nearby"),
    "typical_year": N_("some years of daily sunshine measured nearby"),
    "satellite": N_("some years of daily sunshine measured nearby"),
}
WHOSE = {
    "climate": N_("the climate source"),
    "loads": N_("the loads"),
    "bank": N_("the bank"),
    "weather": N_("the weather"),
    "sampling": N_("the number of years"),
}


def section(results):
    """The section on certainty.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    heading = _("How sure we are: {count}, {count_2}").format(
        count=say.count_of(results.years, "{count} synthetic year", "{count} synthetic years"),
        count_2=say.count_of(results.parameter_draws, "{count} parameter draw", "{count} parameter draws"),
    )
    climate = results.climate
    parts = [
        _(
            "A synthetic year is 8760 hours of weather and use with the statistics of the site. "
            "Climate, loads and bank were varied {parameter_draws} times within their uncertainty (parameter "
            "draws), over {years} years in all."
        ).format(parameter_draws=results.parameter_draws, years=results.years),
        _("Source of the climate: {source}.").format(source=reworded(say.given(climate.source)))
        + " "
        + " ".join(reworded(say.given(note)) for note in climate.notes).strip(),
        _(
            "The uncertainty of that source is {annual_mean_sd:.0f} % (one standard deviation of "
            "monthly clearness), that of the loads is {load_uncertainty_pct:g} %. {of_bank}"
        ).format(
            annual_mean_sd=100 * climate.annual_mean_sd,
            load_uncertainty_pct=results.study.load_uncertainty_pct,
            of_bank=_of_bank(results.study.bank),
        ),
        _(
            "There are three intervals. The interval for this site (95 %) is what the long-run "
            "average may be, given all that is not known. The sampling interval (95 %) is the error "
            "of the simulation alone. The 80 % interval of a coming year is what one year may bring: "
            "less in one year of ten, more in another."
        ),
        narrowing(results),
    ]
    return Section(heading, [*map(Paragraph, parts), *figure(results, "uncertainty")])


def _of_bank(bank):
    """How the bank was varied; one sentence."""
    ranges = _(
        "its resistance, self-discharge, charge losses and loss in the cold over their published ranges"
    )
    capacity = _("The bank's capacity varies by {capacity_uncertainty_pct:g} %").format(
        capacity_uncertainty_pct=bank.capacity_uncertainty_pct
    )
    return f"{capacity}, {ranges}." if bank.property_uncertainty_pct else f"{capacity}."


def narrowing(results):
    """Where the uncertainty of the target's figure comes from, and what would make it less.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    about = results.study.target.statistic
    row = uncertainty_about(results, about)
    better = _(BETTER.get(results.study.climate.source, N_("a longer record of sunshine from nearby")))
    if row is None:
        return _(
            "Too few losses or parameter draws were simulated to say what would narrow the intervals. More "
            "years would help, "
            "and so would {better} and a week of measured loads."
        ).format(better=better)
    parts = [
        _("The 95 % interval of the long-run average at this site is {interval} {counted}.").format(
            interval=say.between(*scaled(about, row["place_low"], row["place_high"])), counted=phrase(about)
        ),
        _("Its variance is due to {shares}.").format(
            shares=_shares(row, "place", ("climate", "loads", "bank", "sampling"))
        ),
        _("That of one coming year is due to {shares}; the part of the weather cannot be lowered.").format(
            shares=_shares(row, "year", ("weather", "climate", "loads", "bank"))
        ),
    ]
    if row["place_share_sampling"] > FEW_YEARS:
        parts.append(_("More synthetic years would help first (engine.members, engine.parameter_draws)."))
    if row["next_source"] != "none" and np.isfinite(row["next_low"]):
        then = scaled(about, row["next_low"], row["next_high"])
        parts.append(
            _(
                "With {better} the interval would be {interval}. A week of measured loads would "
                "reduce the part of the loads."
            ).format(better=better, interval=say.between(*then))
        )
    return " ".join(parts)


def _shares(row, kind, parts):
    """``the climate source (58 %), the loads (40 %) and the bank (below 1 %)``, largest first."""
    shares = sorted(((row[f"{kind}_share_{part}"], part) for part in parts), reverse=True)
    words = [f"{_(WHOSE[part])} ({share_words(float(share))})" for share, part in shares if share == share]
    return say.listed(words)


def share_words(share):
    """A share of the uncertainty in whole per cent: ``58 %``, ``below 1 %``.

    Parameters
    ----------
    share : float
        0 to 1.
    """
    return say.percent(round(share, 2)) if share >= LEAST_SHARE else _("below 1 %")


def uncertainty_about(results, statistic):
    """Row of uncertainty.csv for the target's statistic; None where it is not known.

    Parameters
    ----------
    results : darkspell.report.results.Results
    statistic : str
        Key of a statistic.
    """
    table = results.table("uncertainty")
    key = {"lolp": "lolh"}.get(statistic, statistic)
    rows = table[table["figure"] == key] if len(table) else table
    if not len(rows) or not np.isfinite(rows[["place_low", "place_share_climate"]].to_numpy(float)).all():
        return None
    row = rows.iloc[0].copy()
    if statistic == "lolp":
        row[["place_low", "place_high", "next_low", "next_high"]] /= HOURS
    return row


def left_out(results):
    """The section on what is not covered.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    study, replayed = results.study, results.measured_years is not None
    tropical = float(np.min(results.climate.temp_air_mean)) > SNOW_C
    moves = study.itinerary or any(array.any_heading for array in study.arrays.values())
    weather = [_("Fog and shade that the study does not give")]
    weather += [] if moves else [_("a moving boat or vehicle")]
    weather += [] if tropical else [_("snow that drifts against an array or freezes on as ice")]
    items = [
        _("Faults of modules, controllers, cells and connections; wear beyond the age stated."),
        f"{'; '.join(weather)}.",
        _("Loads that are not listed, and people who use more because there is more."),
        _("A climate that changes over the life of the system."),
    ]
    if not study.chargers and study.generator is None:
        items.append(_("Other sources: no generator, wind, shore power or mains feeds this bank."))
    if not replayed:
        items.append(_("Measured weather of the site: the weather here is simulated."))
    return Section(_("What this does not cover"), [Listing(items)])
