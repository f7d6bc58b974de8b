"""Where the energy comes from: every array and every charger, by month."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.proposal.chapters.full_charges import known
from darkspell.report.units import is_us, volume_value

UNPLANNED = {"alternator": N_("engine"), "shore": N_("shore line"), "turbine": N_("turbine")}
KINDS = {
    "array": N_("sun"),
    "alternator": N_("engine"),
    "shore": N_("shore line"),
    "turbine": N_("turbine"),
    "generator": N_("fuel"),
}


def there(results):
    """Whether there is more than one source to tell apart.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    table = results.table("energy_sources")
    return len(table) > 0 and table["source"].nunique() > 1


def section(results):
    """The section on what each source brought.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    table = results.table("energy_sources")
    blocks = [Paragraph(_text(table)), *map(Paragraph, _engines(results)), *figure(results, "sources")]
    return Section(_heading(table), [*blocks, _table(results, table)])


def _year(table):
    return table.groupby("source", sort=False)["taken_kwh"].sum()


def _heading(table):
    taken = table.groupby(table["kind"] == "array")["taken_kwh"].sum()
    others, sun = taken.get(False, 0.0), taken.get(True, 0.0)
    if others == 0.0:
        best = _year(table).idxmax()
        share = say.percent(float(_year(table).max() / sun)) if sun else "0 %"
        return _("Where the energy comes from: {share} of it from “{best}”").format(
            share=share, best=say.given(name_in_words(best))
        )
    return _("Where the energy comes from: {sun} of it is solar").format(
        sun=say.percent(float(sun / (sun + others)))
    )


def _text(table):
    """Purpose of the chargers other than the arrays, in one paragraph."""
    text = _(
        "Energy that loads and bank take in an average year. An array offers more than that on "
        "bright days, when the bank is full."
    )
    others = table[table["kind"] != "array"]
    if len(others):
        month = others.groupby("month")["taken_kwh"].sum().idxmax()
        amount = others.groupby("month")["taken_kwh"].sum().max()
        names = list(others["source"].unique())
        most = (
            _("“{source}” gives most in {month}: {amount} kWh.")
            if len(names) == 1
            else _("The other sources give most in {month}: {amount} kWh.")
        )
        text += " " + most.format(
            source=say.given(name_in_words(names[0])), month=month_name(month), amount=number(amount, 1)
        )
        drawn = [_(UNPLANNED[kind]) for kind in UNPLANNED if kind in set(others["kind"])]
        if drawn:
            text += " " + _(
                "Hours of charging follow chance and the calendar ({sources}): in this study nobody starts "
                "one because the bank is low."
            ).format(sources=say.listed(drawn))
    return text


def _engines(results):
    """Hours of engine and generator, its starts and its fuel, with both intervals."""
    found = results.summary
    if "alternator_h" in found:
        yield _("The engine runs {both} a year to charge.").format(
            both=_both(results, "alternator_h", _("hours"))
        )
    if "generator_h" in found:
        if found["generator_h"]["value"] == 0:
            yield _("The generator never ran in the years drawn.")
            return
        yield (
            _(
                "The generator runs {both} a year, starts {starts}, and burns {fuel} of fuel. It "
                "makes carbon monoxide: never run it indoors, in a cabin, or near a window or a vent."
            ).format(
                both=_both(results, "generator_h", _("hours")),
                starts=_both(results, "generator_starts", _("times")),
                fuel=_both(results, "fuel_l", _("gallons") if is_us() else _("litres"), volume_value),
            )
        )


def _both(results, key, unit, turned=float):
    """A headline with the interval of its mean, and what eight years of ten bring; `turned` into the unit."""
    entry = {
        name: turned(value) if isinstance(value, int | float) else value
        for name, value in results.summary[key].items()
    }
    low, high = (number(entry[f"year_{end}"], 0) for end in ("low", "high"))
    spread = _("{low} to {high}").format(low=low, high=high) if low != high else low
    return _("{known} {unit} (in eight years of ten {spread})").format(
        known=known(results, entry), unit=unit, spread=spread
    )


def _table(results, table):
    months = list(results.calendar.month_order + 1)
    rows = []
    for (source, kind), part in table.groupby(["source", "kind"], sort=False):
        taken = part.set_index("month")["taken_kwh"]
        label = say.given(name_in_words(source))
        label += "" if _(KINDS[kind]) in source.replace("_", " ").lower() else f" ({_(KINDS[kind])})"
        rows.append([label, *(_kwh(taken[m]) for m in months), number(float(taken.sum()), 0)])
    total = table.groupby("month")["taken_kwh"].sum()
    rows.append([_("All"), *(_kwh(total[m]) for m in months), number(float(total.sum()), 0)])
    return Table(
        caption=_("Energy taken from each source by month, kWh"),
        header=[_("Source"), *(month_name(m)[:3] for m in months), _("Year")],
        rows=rows,
        align="l" + "r" * 13,
        marked=len(rows) - 1,
        note=_(
            "Means over the years; the file energy_sources.csv has their intervals, and what each "
            "source offered."
        ),
    )


def _kwh(value):
    return "–" if value == 0 else number(float(value), 1 if value < 9.95 else 0)
