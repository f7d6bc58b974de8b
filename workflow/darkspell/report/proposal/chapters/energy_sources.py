"""Where the energy comes from: every array and every charger, by month."""

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.proposal.chapters.full_charges import known

KINDS = {
    "array": "sun",
    "alternator": "engine",
    "shore": "shore line",
    "turbine": "turbine",
    "generator": "fuel",
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
        return f"Where the energy comes from: {share} of it from “{say.given(name_in_words(best))}”"
    return f"Where the energy comes from: {say.percent(float(sun / (sun + others)))} of it is the sun's"


def _text(table):
    """Purpose of the chargers other than the arrays, in one paragraph."""
    text = (
        "Energy that loads and bank take in an average year. An array offers more than that on bright days, when "
        "the bank is full."
    )
    others = table[table["kind"] != "array"]
    if len(others):
        month = others.groupby("month")["taken_kwh"].sum().idxmax()
        amount = others.groupby("month")["taken_kwh"].sum().max()
        text += f" Others than the sun bring most in {MONTH_NAMES[int(month) - 1]}, {number(amount, 1)} kWh."
        if (others["kind"] != "generator").any():
            text += (
                " Engine, shore line and turbine are drawn by chance and by the calendar: nobody starts an engine "
                "here because the bank is low."
            )
    return text


def _engines(results):
    """Hours of engine and generator, its starts and its fuel, with both intervals."""
    found = results.summary
    if "alternator_h" in found:
        yield f"The engine runs {_both(results, 'alternator_h', 'hours')} a year to charge."
    if "generator_h" in found:
        if found["generator_h"]["value"] == 0:
            yield "The generator never ran in the years drawn."
            return
        yield (
            f"The generator runs {_both(results, 'generator_h', 'hours')} a year, started "
            f"{_both(results, 'generator_starts', 'times')}, and burns {_both(results, 'fuel_l', 'litres')} of fuel. "
            "It makes carbon monoxide: never run it indoors, in a cabin, or near a window or a vent."
        )


def _both(results, key, unit):
    """A headline with the interval of its mean, and what eight years of ten bring."""
    entry = results.summary[key]
    low, high = (number(entry[f"year_{end}"], 0) for end in ("low", "high"))
    spread = f"{low} to {high}" if low != high else low
    return f"{known(results, entry)} {unit} (in eight years of ten {spread})"


def _table(results, table):
    months = list(results.calendar.month_order + 1)
    rows = []
    for (source, kind), part in table.groupby(["source", "kind"], sort=False):
        taken = part.set_index("month")["taken_kwh"]
        label = say.given(name_in_words(source))
        label += "" if KINDS[kind] in source.replace("_", " ").lower() else f" ({KINDS[kind]})"
        rows.append([label, *(_kwh(taken[m]) for m in months), number(float(taken.sum()), 0)])
    total = table.groupby("month")["taken_kwh"].sum()
    rows.append(["All", *(_kwh(total[m]) for m in months), number(float(total.sum()), 0)])
    return Table(
        caption="Energy taken from each source by month, kWh",
        header=["Source", *(MONTH_NAMES[m - 1][:3] for m in months), "Year"],
        rows=rows,
        align="l" + "r" * 13,
        marked=len(rows) - 1,
        note="Means over the years; the file energy_sources.csv has their intervals, and what each source offered.",
    )


def _kwh(value):
    return "–" if value == 0 else number(float(value), 1 if value < 9.95 else 0)
