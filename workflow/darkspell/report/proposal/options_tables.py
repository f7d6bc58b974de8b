"""Tables of an offer of options: what differs, how reliable each is, what it costs."""

from math import floor

from darkspell.core.messages import N_, _
from darkspell.design.cause_words import CAUSES
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Table
from darkspell.report.figures.number_format import plain
from darkspell.report.key_words import key_words
from darkspell.report.proposal.chapters import opening, system
from darkspell.report.proposal.chapters.target import (
    COUNTED,
    JUDGED,
    UNSURE,
    own_figure,
    phrase,
    target_words,
    verdict,
)
from darkspell.report.units import key_value
from darkspell.study.differences import differences

KEYS, MOST_PARTS = 6, 3  # keys that differ in one table, and tables of them
NOT_GIVEN = {
    "absent": N_("absent"),
    "default": N_("default"),
}  # as `differences` names a key that a study lacks


def tables(named):
    """What each option is, how reliable, and what it costs: a row an option, so that 26 of them fit a page.

    Parameters
    ----------
    named : dict of darkspell.report.results.Results
        By the letter of the option.

    Returns
    -------
    list of darkspell.report.document.tree.Table
    """
    return [*_different(named), _reliability(named), _prices(named)]


def _different(named):
    """Name, file and the keys in which the studies differ; at most `KEYS` keys a table."""
    values = differences({letter: one.study for letter, one in named.items()})
    keys = list(values["A"])
    parts = [keys[at : at + KEYS] for at in range(0, len(keys), KEYS)] or [[]]
    more = len(keys) - KEYS * MOST_PARTS
    for number, part in enumerate(parts[:MOST_PARTS]):
        columns = {} if number else {_("Study"): [say.given(_name(one.study)) for one in named.values()]}
        columns |= {
            _head(key): [say.given(_shown(values[letter][key], key)) for letter in named] for key in part
        }
        yield _rows(
            named,
            _("Further differences") if number else _("What each option is, and what differs"),
            columns,
            _("{more} more keys differ.").format(more=more) if more > 0 and number == MOST_PARTS - 1 else "",
        )


def _rows(named, caption, columns, note):
    """A table with a row for each option, from its columns by their heads."""
    rows = [
        [_("Option {letter}").format(letter=letter), *cells]
        for letter, *cells in zip(named, *columns.values(), strict=True)
    ]
    return Table(caption=caption, header=["", *columns], rows=rows, align="l" * (1 + len(columns)), note=note)


def _name(study):
    """A study's file, with its own name where the file makes several."""
    file = study.files[0].name if study.files else str(study.name)
    return file if file.rpartition(".")[0] in ("", study.name) else f"{study.name} ({file})"


def _head(key):
    words, unit = key_words(key.removeprefix("cross."))  # a list of the file, as its author calls it
    _value, unit = key_value(0.0, unit)
    return f"{words}, {unit}" if unit else words


def _shown(value, key):
    if isinstance(value, int | float):
        return plain(key_value(value, key_words(key)[1])[0])
    return _(NOT_GIVEN[value]) if value in NOT_GIVEN else str(value)


def _reliability(named):
    many, shares = list(named.values()), [opening.nights_of(one) for one in named.values()]
    phrases = {phrase(one.study.target.statistic) for one in many}
    targets = dict.fromkeys(target_words(one.study.target) for one in many)
    alike = len(phrases) == 1
    head = _("Result, {counted}").format(counted=next(iter(phrases))) if alike else _("Result for the target")
    columns = {
        _("Chance of dark nights in a coming year"): [_share(one) for one in many],
        _("Nights in a coming year"): [_nights(one) for one in shares],
        head: [_figure(one, not alike) for one in many],
        _("On target"): [_judged(one) for one in many],
        _("Chance of target"): [_chance(one) for one in many],
        _("Main cause of loss"): [_cause(one) for one in many],
    }
    target = (
        _("Target: {target}.").format(target=next(iter(targets)))
        if len(targets) == 1
        else _("The targets differ.")
    )
    note = _(
        "In brackets the 95 % interval for this site. Nights in a coming year: in eight years of ten. {target}"
    ).format(target=target)
    return _rows(named, _("How reliable each option is"), columns, note)


def _prices(named):
    """Sizes and price; place and kind of bank are in the note, or among what differs."""
    many = list(named.values())
    kinds = dict.fromkeys(one.study.bank.chemistry for one in many)
    notes = [f"{kind}: {system.chemistry(kind)}." for kind in kinds]
    if len(kinds) == 1:
        notes = [_("Kind of bank: {chemistry}.").format(chemistry=system.chemistry(*kinds))]
    columns = {
        _("Array"): [f"{plain(one.study.array_wp)} Wp" for one in many],
        _("Bank"): [_bank(one.study) for one in many],
        _("Days without any charge"): [_entry(one, "autonomy_dark_days") for one in many],
        _("Depth that one year in ten passes, %"): [_depth(one) for one in many],
        _("Price"): [money(first_cost(one.study), one.study.document.currency) for one in many],
        _("Cost a year over life (8 banks of 10)"): [_yearly(one) for one in many],
    }
    note = [
        *notes,
        _("Days without any charge begin with a full bank. Prices are by the study's price list."),
    ]
    return _rows(named, _("Sizes, autonomy and price of each option"), columns, " ".join(note))


def _bank(study):
    return f"{plain(study.bank.capacity_ah)} Ah, {study.system.nominal_voltage_v} V"


def _judged(results):
    return _(JUDGED.get(verdict(results), JUDGED[UNSURE]))


def _chance(results):
    entry = results.summary.get("probability_met")
    return f"{min(max(floor(100.0 * entry['value'] + 1e-9), 1), 99)} %" if entry else _("not known")


def _cause(results):
    cause = results.summary.get("main_cause")
    if not cause:
        return _("none")
    name = cause["cause"]
    return _(CAUSES[name])


def _yearly(results):
    costs, currency = results.table("costs"), results.study.document.currency
    if not len(costs):
        return _("not known")
    value, low, high = (
        money(costs.iloc[0][f"yearly_cost{part}"], currency) for part in ("", "_low", "_high")
    )
    return _("{value} ({low} to {high})").format(value=value, low=low, high=high)


def _share(results):
    """Chance of a coming year with dark nights, with the interval for this site where it is known."""
    nights, entry = opening.nights_of(results), results.summary.get("years_with_short_nights") or {}
    low, high = entry.get("place_low"), entry.get("place_high")
    if low is None:
        return say.percent(nights.share)
    return _("{share} ({low} to {high})").format(
        share=say.percent(nights.share), low=say.percent(low), high=say.percent(high)
    )


def _nights(nights):
    """Nights of a coming year in a few letters."""
    if nights.year_high == 0:
        return _("none")
    return _("{year_low} to {year_high}").format(year_low=nights.year_low, year_high=nights.year_high)


def _entry(results, key):
    entry = results.summary.get(key)
    if not entry or entry["value"] is None:
        return _("not known")
    if entry["place_low"] is None:
        return f"{entry['value']:.2g}"
    bounds = entry["place_low"], entry["place_high"]
    return f"{say.rounded(entry['value'], *bounds)} ({say.between(*bounds)})"


def _depth(results):
    entry = results.summary.get("annual_max_depth_true")
    if not entry or entry["value"] is None:
        return _("not known")
    value, low, high = (f"{entry[key] or 0:.0f}" for key in ("value", "place_low", "place_high"))
    return (
        value
        if low == high or entry["place_low"] is None
        else _("{value} ({low} to {high})").format(value=value, low=low, high=high)
    )


def _figure(results, named):
    """The figure that the target is about, `named` with its unit."""
    figure = own_figure(results)
    if figure is None:
        return _("not known")
    text = f"{say.rounded(*figure)} ({say.between(*figure[1:])})"
    several = COUNTED[results.study.target.statistic][1]
    return _(several).format(value=text) if named else text
