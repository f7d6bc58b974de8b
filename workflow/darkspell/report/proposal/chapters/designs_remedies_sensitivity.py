"""Whole pieces for all targets, what would help and its price, and which inputs move the answer."""

from math import isnan

from darkspell.core.messages import N_, _
from darkspell.design.requirements import FULL_CHARGE
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import money, month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import MINUS, name_in_words, number
from darkspell.report.figures.remedies import hundred_places
from darkspell.report.figures.sensitivity import WATCHED, input_range
from darkspell.report.proposal.chapters.target import FURTHER, full_again_words, phrase, scaled
from darkspell.report.proposal.chapters.whatifs import difference_words
from darkspell.report.units import is_us, price_of_volume

PLACES = {"chosen": N_("The cheapest"), "next": N_("Dearer"), "cheaper": N_("Cheaper, but misses")}


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
    for _index, group in rows.groupby(keys, sort=False, dropna=False):
        one = group.iloc[0]
        place = one["place"]
        values = [_reached(row) for _index, row in group.iterrows()]
        chance = say.chance(one["probability_all_met"])
        cells.append([_(PLACES[place]), pieces(one), money(one["cost"], currency), *values, chance])
    table = Table(
        caption=_("Designs of whole pieces, and what they reach"),
        header=[
            "",
            _("Design"),
            _("Price"),
            *(_heading_of(row, also) for _index, row in wanted.iterrows()),
            _("Chance of all"),
        ],
        rows=cells,
        align="llr" + "r" * (len(wanted) + 1),
        marked=0 if len(chosen) else None,
        note=_legend(wanted, results.study.target)
        + _(
            "In brackets the 95 % interval for this site, of the average or of the share of years; * does not meet "
            "the target. The chance that this site meets all of them decides: {chance_pct:g} % are "
            "asked for. Prices are worked out from the study's list; they are not a quotation."
        ).format(chance_pct=results.study.target.chance_pct),
    )
    return Section(heading, [Paragraph(text), table])


def _found(rows, chosen, currency):
    """Heading and text of what the designer came to."""
    if not len(chosen):
        untried = int(rows["not_evaluated"].iloc[0])
        if untried:
            return _("None of the designs tried from the list meets all targets"), (
                _(
                    "The search ended before {count} of the list had been tried or excluded; one of them may "
                    "still meet the targets. Those below come nearest of those tried."
                ).format(count=say.count_of(untried, "{count} design", "{count} designs"))
            )
        return _("Nothing on the list meets all targets"), (
            _(
                "Of the designs on the list, those below come nearest. A longer list, smaller loads or "
                "a milder target is needed."
            )
        )
    first = chosen.iloc[0]
    text = _(
        "Modules, batteries and controllers are counted in whole pieces as they are sold. The "
        "designs were run through the same synthetic years, cheap ones first, until the cheapest "
        "that meet all targets were found. Cheaper ones miss a target, as their figures show. Prices are those "
        "of the "
        "pieces, so this design may differ from the size above, which counts by the watt and the ampere-hour and "
        "keeps the study's slope and controller."
    )
    if first["worst_month"] > 0:
        text += " " + _("The hardest month is {month}, with most of the dark hours.").format(
            month=month_name(first["worst_month"])
        )
    if not (chosen["probability_met"] >= 0.95).all():
        text += " " + _("Not every interval is within its target, so the chosen design may miss one.")
    return _("{pieces} reach every target for {price}").format(
        pieces=pieces(first), price=money(first["cost"], currency)
    ), text


def pieces(row):
    """``10 × “M150”, 2 × “B100”, controller “C30”``, with slope and direction where they were tried.

    Parameters
    ----------
    row : pandas.Series
        A row of catalogue_designs.csv.
    """
    parts = [f"{row[f'{what}s']} × “{say.given(name_in_words(row[what]))}”" for what in ("module", "block")]
    if isinstance(row["controller"], str) and row["controller"]:
        parts.append(
            _("controller “{controller}”").format(controller=say.given(name_in_words(row["controller"])))
        )
    if row["tilt_deg"] == row["tilt_deg"]:
        parts.append(_("sloped {tilt_deg:g}°").format(tilt_deg=row["tilt_deg"]))
    if row["azimuth_deg"] == row["azimuth_deg"]:
        parts.append(_("facing {azimuth_deg:g}°").format(azimuth_deg=row["azimuth_deg"]))
    return ", ".join(parts)


def _legend(wanted, target):
    """What the short headings stand for, before the note."""
    rows = wanted[wanted["requirement"] != "target"]
    return "".join(
        f"{_asked(row, target.additional, target.full_charge)}. " for _index, row in rows.iterrows()
    )


def _heading_of(row, also):
    """A target in a table's head, short: ``Nights without essential power: at most 1``, ``Soon full, % of years``."""
    if row["requirement"] == "target":
        key = row["statistic"]
        counted = say.sentence(_(FURTHER[key]) if key in FURTHER else phrase(key))
        return _("{statistic}: at most {limit:g}").format(
            statistic=counted, limit=scaled(key, row["limit"])[0]
        )
    if row["requirement"] == FULL_CHARGE:
        return _("Full again, % of years")
    name = say.given(name_in_words(row["requirement"]))
    return name if also[row["requirement"]].years_pct is None else _("{name}, % of years").format(name=name)


def _asked(row, also, again):
    """What a short heading stands for: ``Soon full: ... at most 21, in 80 % of years``."""
    if row["requirement"] == FULL_CHARGE:
        return say.sentence(full_again_words(again))
    one = also[row["requirement"]]
    name = row["statistic"]
    what = _(FURTHER[name])
    limit = (
        _("at most {at_most:g}").format(at_most=one.at_most)
        if one.at_most is not None
        else _("at least {at_least:g}").format(at_least=one.at_least)
    )
    month = ""
    if one.month is not None:
        text = _("from {month}") if "autonomy" in one.statistic else _("in {month}")
        month = " " + text.format(month=month_name(one.month))
    share = (
        "" if one.years_pct is None else _(", in {years_pct:g} % of years").format(years_pct=one.years_pct)
    )
    return f"{say.given(name_in_words(row['requirement']))}: {what}, {limit}{month}{share}"


def _reached(row):
    value, low, high, limit = scaled(
        row["statistic"], *(row[name] for name in ("value", "low", "high", "limit"))
    )
    mark = "" if row["meets"] else " *"
    return f"{say.rounded(value, low, high, limit)} ({say.between(low, high)}){mark}"


def remedies(results):
    """The section on what would help and what it costs.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    table, study = results.table("remedies"), results.study
    currency = study.document.currency
    paid = table[(table["saved_per_100"] > 0) & (table["verdict"] == "real")]
    heading = _("Nothing that money buys lowers the risk clearly")
    if len(paid):
        best = paid.sort_values("saved_per_100", ascending=False).iloc[0]
        what = say.given(_plain(best["remedy"]))
        heading = _("The next {price} are best spent on {what}, on average").format(
            price=money(100, currency), what=what
        )
    text = _(
        "One step at a time, each on the same synthetic years as the design studied. What it saves to leave an "
        "appliance "
        "out shows which to think about first. It is no advice to do without an alarm, a light or a pump that keeps "
        "people safe."
    )
    text += _as_good(paid) + _fuel(study)
    cells = [
        [
            say.given(name_in_words(row["remedy"])),
            difference_words(row["difference"], row["low"], row["high"]),
            _("clear") if row["verdict"] == "real" else _("not clear"),
            _price(row["cost"], currency),
            _("not listed") if isnan(row["yearly_cost"]) else money(row["yearly_cost"], currency),
            _per_hundred(row),
        ]
        for _index, row in table.iterrows()
    ]
    shown = Table(
        caption=_("What would help: {phrase}").format(
            phrase=phrase("lolh" if study.target.statistic == "lolp" else study.target.statistic)
        ),
        header=[
            _("Remedy"),
            _("Difference (95 % at this site)"),
            _("Verdict"),
            _("Price"),
            _("Cost a year"),
            _("For each 100"),
        ],
        rows=cells,
        align="lllrrr",
        note=_(
            "Cost a year is that of the system with the remedy over its life: first cost, "
            "replacements, fuel, visits. The last column is the best guess of the difference over "
            "the price; each further step gains less. Prices are worked out from "
            "the study's list; they are not a quotation."
        ),
    )
    return Section(heading, [Paragraph(text), *figure(results, "remedies"), shown])


def _price(cost, currency):
    if cost != cost:
        return _("not listed")
    if abs(cost) < 0.5:
        return MINUS
    return money(cost, currency) if cost > 0 else _("saves {price}").format(price=money(-cost, currency))


def _as_good(paid):
    """Which remedies cannot be told from the best for their price: 95 % intervals of the saving that overlap."""
    if len(paid) < 2:
        return ""
    best, *others = (row for _index, row in paid.sort_values("saved_per_100", ascending=False).iterrows())
    least = -best["high"] / best["cost"]
    alike = [say.given(_plain(row["remedy"])) for row in others if -row["low"] / row["cost"] >= least]
    if not alike:
        return " " + _("For the same money, no other remedy's interval reaches its interval.")
    return " " + _("For the same money its interval overlaps with {items}.").format(items=say.listed(alike))


def _fuel(study):
    prices = study.sizing.prices
    if study.generator is None or prices.fuel_per_l is None:
        return ""
    text = (
        _("Fuel is counted in for {years:g} years at {price:.3g} {currency} a gallon.")
        if is_us()
        else _("Fuel is counted in for {years:g} years at {price:g} {currency} a litre.")
    )
    price, currency = price_of_volume(prices.fuel_per_l), say.given(study.document.currency)
    return " " + text.format(years=prices.fuel_years, price=price, currency=currency)


def _plain(name):
    return name_in_words(name).lower()


def _per_hundred(row):
    saved = row["saved_per_100"]
    if saved != saved or row["verdict"] != "real":
        return MINUS
    text = number(abs(saved), hundred_places(row))
    return (_("{value} fewer") if saved > 0 else _("{value} more")).format(value=text)


def sensitivity(results):
    """The section on which inputs move the answer.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    table = results.table("sensitivity")
    chosen, unknown = (table[table["kind"] == kind] for kind in ("chosen", "unknown"))
    first = table.iloc[0]
    heading = _("“{input}” moves the answer most").format(input=say.given(name_in_words(first["input"])))
    text = _(
        "Every input was changed over the range that the study gives it, from many starting points, "
        "all on the same synthetic years. The bars show how much the answer changes. They depend on the "
        "ranges: a range too narrow hides an input."
    )
    if len(unknown):
        name = say.given(name_in_words(unknown.iloc[0]["input"]))
        text += " " + _(
            "Of what we do not know, “{name}” matters most: measuring it would narrow the answer most."
        ).format(name=name)
    if len(chosen):
        name = say.given(name_in_words(chosen.iloc[0]["input"]))
        text += " " + _("Of what can be chosen, “{name}” matters most.").format(name=name)
    return Section(heading, [Paragraph(text), *figure(results, "sensitivity"), _ranked(table)])


def _ranked(table):
    rows = []
    for _index, row in table.iterrows():
        bounds = row["effect_low"], row["effect_high"]
        rows.append(
            [
                say.given(name_in_words(row["input"])),
                say.given(row["key"]),
                input_range(row),
                _("to choose") if row["kind"] == "chosen" else _("not known"),
                f"{say.rounded(row['effect'], *bounds)} ({say.between(*bounds)})",
                f"{row['share_pct']:.0f} %",
            ]
        )
    what, unit = WATCHED[table["statistic"].iloc[0]]
    return Table(
        caption=_("Effect of each input on {what}, {unit}, mean over the years").format(what=what, unit=unit),
        header=[_("Input"), _("Key"), _("Range"), "", _("Change over the range (95 % interval)"), _("Share")],
        rows=rows,
        align="llrlrr",
        note=_(
            "Mean absolute elementary effects (Morris 1991). Shares are of their sum: a ranking, not a share "
            "of the variance."
        ),
    )
