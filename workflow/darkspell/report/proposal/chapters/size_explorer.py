"""The grid of designs as data for the panel in the page: sizes to move about in, and what each brings."""

import numpy as np

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.number_texts import local_number
from darkspell.report.document.tree import Panel
from darkspell.report.proposal.chapters.target import TRIAL_YEARS, target_words

COLUMNS = (
    "lolp", "lolp_low", "lolp_high", "short_nights", "short_nights_low", "short_nights_high",
    "short_nights_year_low", "short_nights_year_high", "years_with_short_nights", "cost", "meets_target",
    "probability_met",
)  # fmt: skip


def panel(results):
    """A list with the panel; empty where the grid is too small to move about in, or the run was a trial.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    table = results.sizing
    if results.years < TRIAL_YEARS or not len(table) or not set(COLUMNS) <= set(table.columns):
        return []
    if not np.isfinite(table[list(COLUMNS)].to_numpy(float)).all():
        return []
    arrays, banks = np.unique(table["array_wp"]), np.unique(table["bank_ah"])
    if max(len(arrays), len(banks)) < 2 or len(table) != len(arrays) * len(banks):
        return []
    return [Panel(panel_data(results, arrays, banks))]


def panel_data(results, arrays, banks):
    """What the panel shows, by array, then by bank.

    Parameters
    ----------
    results : darkspell.report.results.Results
    arrays, banks : float array
        Sizes of the grid [Wp, Ah].

    Returns
    -------
    dict
        ``array`` and ``bank``: sizes [Wp, Ah]; the columns of sizing.csv by name, each a list by array and bank;
        ``start``: places of the study's own design, or of the nearest in the grid; ``chosen``: those of the
        cheapest that meets the target, or None; ``days_per_ah``: dark autonomy of the study's own bank over its
        capacity [d/Ah], or None.
    """
    study = results.study
    table = results.sizing.sort_values(["array_wp", "bank_ah"])
    dark = (results.summary.get("autonomy_dark_days") or {}).get("value")
    own = study.array_wp, study.bank.capacity_ah
    chosen = table[table["chosen"].astype(bool)]
    return {
        "array": arrays.tolist(),
        "bank": banks.tolist(),
        "columns": {name: [float(f"{value:.6g}") for value in table[name].astype(float)] for name in COLUMNS},
        "start": [_nearest(arrays, own[0]), _nearest(banks, own[1])],
        "chosen": [_nearest(arrays, chosen.iloc[0].array_wp), _nearest(banks, chosen.iloc[0].bank_ah)]
        if len(chosen)
        else None,
        "days_per_ah": None if dark is None else dark / own[1],
        "words": {
            name: local_number(text, study.document.locale)
            for name, text in _words(results.years, target_words(study.target), own).items()
        },
        "currency": say.given(study.document.currency),
        "numbers": study.document.locale,
    }


def _words(years, target, own):
    """Words of the panel; its script puts numbers in place of the names in braces."""
    note = _(
        "Drag, or use the arrow keys. Every size was run through the same {years} synthetic years; the sizes are on "
        "a grid, and the design proposed has {own}. The figure below shows all of them at once."
    )
    return {
        "title": _("Try other sizes"),
        "array": _("Array"),
        "bank": _("Bank"),
        "own": _("Nearest to the design proposed"),
        "cheapest": _("Cheapest that meets the target"),
        "there": _("Essential power is there"),
        "nights": _("Nights with essential loads dark"),
        "years": _("Chance of such a night in a coming year"),
        "coming": _("A single coming year, eight years of ten"),
        "days": _("From full, without any charge"),
        "cost": _("Price, by the study’s price list"),
        "target": _("Target: {target}").format(target=target),
        "note": note.format(
            years=years, own=_("{own:g} Wp with {own_2:g} Ah").format(own=own[0], own_2=own[1])
        ),
        "hours": _("{value} % of the hours (95 % at this site: {low} to {high} %)"),
        "a_year": _("{value} a year (95 % at this site: {range} a year)"),
        "range": _("{low} to {high}"),
        "small": _("under 0.001"),
        "none": _("none of {years} years drawn").format(years=years),
        "nearly": _("nearly every year ({percent} %)"),
        "in_ten": _("about {count} years in ten ({percent} %)"),
        "one_in": _("about one year in {count} ({percent} %)"),
        "met": _("met; chance that this site meets it: {percent} %"),
        "missed": _("not met; chance that this site meets it: {percent} %"),
        "no_night": _("no such night"),
        "some_nights": _("{range} nights"),
        "unknown_days": _("not worked out"),
        "some_days": _("about {count} days, in proportion to the bank"),
    }


def _nearest(sizes, wanted):
    return int(np.abs(np.asarray(sizes) - wanted).argmin())
