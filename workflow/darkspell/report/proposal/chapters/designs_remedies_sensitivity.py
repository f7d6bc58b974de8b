"""Whole pieces for all targets, what would help and its price, and which inputs move the answer."""

from math import isnan

from darkspell.core.calendar import MONTH_NAMES
from darkspell.design.requirements import FULL_CHARGE
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import MINUS, name_in_words, number
from darkspell.report.figures.remedies import hundred_places
from darkspell.report.figures.sensitivity import WATCHED, input_range
from darkspell.report.proposal.chapters.target import FURTHER, full_again_words, phrase
from darkspell.report.proposal.chapters.whatifs import difference_words

PLACES = {"chosen": "The cheapest", "next": "Dearer", "cheaper": "Cheaper, but misses"}


def designs(results):
    """The section on designs of whole pieces.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    rows = results.table("catalogue_designs")
    currency = results.study.document.currency
    chosen = rows[rows["place"] == "chosen"]
    keys = ["place", "module", "modules", "block", "blocks", "controller", "tilt_deg", "azimuth_deg", "cost"]
    heading, text = _found(rows, chosen, currency)
    wanted, also = rows.drop_duplicates("requirement"), results.study.target.additional
    cells = []
    for _, group in rows.groupby(keys, sort=False, dropna=False):
        one = group.iloc[0]
        values = [_reached(row) for _, row in group.iterrows()]
        chance = say.chance(one["probability_all_met"])
        cells.append([PLACES[one["place"]], pieces(one), money(one["cost"], currency), *values, chance])
    table = Table(
        caption="Designs of whole pieces, and what they reach",
        header=[
            "",
            "Design",
            "Price",
            *(_heading_of(row, also) for _, row in wanted.iterrows()),
            "Chance of all",
        ],
        rows=cells,
        align="llr" + "r" * (len(wanted) + 1),
        marked=0 if len(chosen) else None,
        note=_legend(wanted, results.study.target)
        + "In brackets the 95 % interval of the mean, or of the share of years; * does not meet the target. "
        f"The chance that this site meets all of them decides: {results.study.target.chance_pct:g} % are asked for. "
        "Prices are worked out from the study's list; they are not a quotation.",
    )
    return Section(heading, [Paragraph(text), table])


def _found(rows, chosen, currency):
    """Heading and text of what the designer came to."""
    if not len(chosen):
        untried = int(rows["not_evaluated"].iloc[0])
        if untried:
            return "None of the designs tried from the list meets all targets", (
                f"The search ended before {say.count_of(untried, 'design')} of the list had been tried or "
                "excluded; one of them may yet do. Of those tried the ones below come nearest."
            )
        return "Nothing on the list meets all targets", (
            "Of what is on the list the designs below come nearest. A longer list, smaller loads or a milder "
            "target is needed."
        )
    first = chosen.iloc[0]
    text = (
        "Modules, batteries and controllers are counted in whole pieces as they are sold. The designs were run "
        "through the same synthetic years, cheap ones first, until the cheapest that meet all targets stood out; "
        "those that are cheaper give up what their figures show. Prices are those of the pieces, so this design may "
        "differ from the size above, which counts by the watt and the ampere-hour and keeps the study's slope and "
        "controller."
    )
    if first["worst_month"] > 0:
        text += (
            f" What binds is {MONTH_NAMES[int(first['worst_month']) - 1]}: most of its dark hours fall there."
        )
    if not (chosen["probability_met"] >= 0.95).all():
        text += " Not every interval lies within its target, so the chosen design may yet miss one."
    return f"{pieces(first)} reach every target for {money(first['cost'], currency)}", text


def pieces(row):
    """``10 × “M150”, 2 × “B100”, controller “C30”``, with slope and direction where they were tried.

    Parameters
    ----------
    row : pandas.Series
        A row of catalogue_designs.csv.
    """
    parts = [f"{row[f'{what}s']} × “{say.given(name_in_words(row[what]))}”" for what in ("module", "block")]
    if isinstance(row["controller"], str) and row["controller"]:
        parts.append(f"controller “{say.given(name_in_words(row['controller']))}”")
    if row["tilt_deg"] == row["tilt_deg"]:
        parts.append(f"sloped {row['tilt_deg']:g}°")
    if row["azimuth_deg"] == row["azimuth_deg"]:
        parts.append(f"facing {row['azimuth_deg']:g}°")
    return ", ".join(parts)


def _legend(wanted, target):
    """What the short headings stand for, before the note."""
    rows = wanted[wanted["requirement"] != "target"]
    return "".join(f"{_asked(row, target.additional, target.full_charge)}. " for _, row in rows.iterrows())


def _heading_of(row, also):
    """A target in a table's head, short: ``Short nights: at most 1``, ``Soon full, % of years``."""
    if row["requirement"] == "target":
        return f"{name_in_words(row['statistic'])}: at most {row['limit']:g}"
    if row["requirement"] == FULL_CHARGE:
        return "Full again, % of years"
    name = say.given(name_in_words(row["requirement"]))
    return name if also[row["requirement"]].years_pct is None else f"{name}, % of years"


def _asked(row, also, again):
    """What a short heading stands for: ``Soon full: ... at most 21, in 80 % of years``."""
    if row["requirement"] == FULL_CHARGE:
        return say.sentence(full_again_words(again))
    one = also[row["requirement"]]
    what = FURTHER[row["statistic"]]
    limit = f"at most {one.at_most:g}" if one.at_most is not None else f"at least {one.at_least:g}"
    month = "" if one.month is None else f" from {MONTH_NAMES[one.month - 1]}" * ("autonomy" in one.statistic)
    month = month or ("" if one.month is None else f" in {MONTH_NAMES[one.month - 1]}")
    share = "" if one.years_pct is None else f", in {one.years_pct:g} % of years"
    return f"{say.given(name_in_words(row['requirement']))}: {what}, {limit}{month}{share}"


def _reached(row):
    value = say.rounded(row["value"], row["low"], row["high"])
    return f"{value} ({say.between(row['low'], row['high'])}){'' if row['meets'] else ' *'}"


def remedies(results):
    """The section on what would help and what it costs.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    table, study = results.table("remedies"), results.study
    currency = study.document.currency
    paid = table[(table["saved_per_100"] > 0) & (table["verdict"] == "real")]
    heading = "Nothing that money buys lowers the risk clearly"
    if len(paid):
        best = paid.sort_values("saved_per_100", ascending=False).iloc[0]
        what = say.given(_plain(best["remedy"]))
        heading = f"The next {money(100, currency)} are, on average, best spent on {what}"
    text = (
        "One step at a time, each on the same synthetic years as the design proposed. What an appliance's absence "
        "saves says which to think about first; it is no advice to do without an alarm, a light or a pump that "
        "keeps people safe."
    )
    text += _as_good(paid) + _fuel(study)
    cells = [
        [
            say.given(name_in_words(row["remedy"])),
            difference_words(row["difference"], row["low"], row["high"]),
            "clear" if row["verdict"] == "real" else "not clear",
            _price(row["cost"], currency),
            "not listed" if isnan(row["yearly_cost"]) else money(row["yearly_cost"], currency),
            _per_hundred(row),
        ]
        for _, row in table.iterrows()
    ]
    shown = Table(
        caption=f"What would help: {phrase('lolh' if study.target.statistic == 'lolp' else study.target.statistic)}",
        header=[
            "Cure",
            "Difference (95 % at this site)",
            "Verdict",
            "Price",
            "Cost a year",
            "For each 100",
        ],
        rows=cells,
        align="lllrrr",
        note="Cost a year is that of the system with the cure over its life: first cost, replacements, fuel, visits. "
        "The last column is the best guess of the difference over the price; "
        "the true gain of a step shrinks with each one. "
        "Prices are worked out from the study's list; they are not a quotation.",
    )
    return Section(heading, [Paragraph(text), *figure(results, "remedies"), shown])


def _price(cost, currency):
    if cost != cost:
        return "not listed"
    if abs(cost) < 0.5:
        return MINUS
    return money(cost, currency) if cost > 0 else f"saves {money(-cost, currency)}"


def _as_good(paid):
    """Which remedies cannot be told from the best for their price: 95 % intervals of the saving that overlap."""
    if len(paid) < 2:
        return ""
    best, *others = (row for _, row in paid.sort_values("saved_per_100", ascending=False).iterrows())
    least = -best["high"] / best["cost"]
    alike = [say.given(_plain(row["remedy"])) for row in others if -row["low"] / row["cost"] >= least]
    if not alike:
        return " No other remedy's interval for the same money reaches the best."
    return f" For the same money its interval overlaps with {say.listed(alike)}."


def _fuel(study):
    prices = study.sizing.prices
    if study.generator is None or prices.fuel_per_l is None:
        return ""
    return (
        f" Fuel is counted in for {prices.fuel_years:g} years at {prices.fuel_per_l:g} "
        f"{say.given(study.document.currency)} a litre."
    )


def _plain(name):
    return name_in_words(name).lower()


def _per_hundred(row):
    saved = row["saved_per_100"]
    if saved != saved or row["verdict"] != "real":
        return MINUS
    text = number(abs(saved), hundred_places(row))
    return f"{text} {'fewer' if saved > 0 else 'more'}"


def sensitivity(results):
    """The section on which inputs move the answer.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    table = results.table("sensitivity")
    chosen, unknown = (table[table["kind"] == kind] for kind in ("chosen", "unknown"))
    first = table.iloc[0]
    heading = f"“{say.given(name_in_words(first['input']))}” moves the answer most"
    text = (
        "Every input went through the range that the study gives it, from many starting points, all on the same "
        "synthetic years. The bars add up what it moves; they depend on the ranges, so a range too narrow "
        "hides an input."
    )
    if len(unknown):
        name = say.given(name_in_words(unknown.iloc[0]["input"]))
        text += f" Of what we do not know, “{name}” matters most: to measure it narrows the answer most."
    if len(chosen):
        name = say.given(name_in_words(chosen.iloc[0]["input"]))
        text += f" Of what is ours to choose, “{name}” is the strongest lever."
    return Section(heading, [Paragraph(text), *figure(results, "sensitivity"), _ranked(table)])


def _ranked(table):
    rows = []
    for _, row in table.iterrows():
        bounds = row["effect_low"], row["effect_high"]
        rows.append(
            [
                say.given(name_in_words(row["input"])),
                say.given(row["key"]),
                input_range(row),
                "to choose" if row["kind"] == "chosen" else "not known",
                f"{say.rounded(row['effect'], *bounds)} ({say.between(*bounds)})",
                f"{row['share_pct']:.0f} %",
            ]
        )
    what, unit = WATCHED[table["statistic"].iloc[0]]
    return Table(
        caption=f"What each input moves: {what}, {unit}, mean over the years",
        header=["Input", "Key", "Range", "", "Change over the range (95 % interval)", "Share"],
        rows=rows,
        align="llrlrr",
        note="Mean absolute elementary effects (Morris 1991). Shares are of their sum, a ranking and no variance.",
    )
