"""The design that page 1 recommends, and its alternative."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.core.messages import _
from darkspell.design.cause_words import NOT_OF_SIZE, WORDS
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report.proposal.chapters.designs_remedies_sensitivity import pieces
from darkspell.report.proposal.chapters.opening import nights_of
from darkspell.report.proposal.chapters.target import own_chance, scaled
from darkspell.report.proposal.chapters.uncertainty import uncertainty_about
from darkspell.report.tables.bill_of_materials import total_of

MOSTLY = 0.5  # share of the hours of loss that makes a cause the one that page 1 acts on; our choice
SAME_PRICE = 0.02  # share of the price within which two designs cost the same; our choice


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
    share, share_low, share_high : float
        Chance that a coming year has a night without essential power, and 95 % interval of the long-run share of
        such years at this site [-].
    chance : float
        Probability that the long-run average of this site meets the target [-]; NaN where it is not known.
    meets : bool
        Whether the best guess meets the target.
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
    share: float
    share_low: float
    share_high: float
    chance: float
    meets: bool
    is_own: bool
    remedy: str = ""
    pieces: str = ""


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
    years = results.summary.get("years_with_short_nights") or {}
    share, *ends = (years.get(key) for key in ("value", "place_low", "place_high"))
    share = nights_of(results).share if share is None else share
    share_low, share_high = (np.nan if end is None else end for end in ends)
    value = np.nan if entry.get("value") is None else scaled(name, entry["value"])[0]
    low, high = (np.nan, np.nan) if row is None else scaled(name, row["place_low"], row["place_high"])
    if entry.get("place_low") is not None:
        low, high = scaled(name, entry["place_low"], entry["place_high"])
    (limit,) = scaled(name, study.target.at_most)
    return Offer(study.array_wp, study.bank.capacity_ah, first_cost(study), value, low, high, share, share_low,
                 share_high, own_chance(results), bool(value <= limit), True)  # fmt: skip


def cured_offer(results, own):
    """The study's own sizes with what best acts on the main cause of loss; None where sizes are the cure."""
    cause, rows = main_cause(results)
    if cause not in NOT_OF_SIZE or not rows:
        return None
    best, asked = rows[0], results.study.target.chance_pct / 100.0
    value, low, high = scaled(best["statistic"], best["value"], best["place_low"], best["place_high"])
    unknown = dict.fromkeys(("share", "share_low", "share_high"), np.nan)
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
    years = (row.get(f"years_with_short_nights{end}", np.nan) for end in ("", "_low", "_high"))
    return Offer(row.array_wp, row.bank_ah, row.cost, value, low, high, *years, row.get("probability_met", np.nan),
                 bool(row.get("meets_target", value <= limit)), bool(own))  # fmt: skip


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


def _larger(results, own):
    """The next dearer design of the grid that does better, by price; None where there is none."""
    offers = [grid_offer(results, row) for _index, row in results.sizing.iterrows()]
    safer = [
        one for one in offers if one.cost > own.cost and one.value < own.value and np.isfinite(one.value)
    ]
    return min(safer, key=lambda one: (one.cost, one.value), default=None)
