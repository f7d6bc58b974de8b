"""The expected year on one sheet to leave on board."""

import numpy as np

from darkspell.core.messages import N_, _, ngettext
from darkspell.report import wording as say
from darkspell.report.document.html import colours_of, data_uri, templates
from darkspell.report.document.images import usable_logo
from darkspell.report.document.language import current, in_one_language, manner_of, written
from darkspell.report.document.localization import month_name
from darkspell.report.document.number_texts import local_number
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.letterhead import letterhead_of
from darkspell.report.tables.expected_year import GROUPS
from darkspell.study.files import proposal_files

DAYS = N_("days")  # the only unit that is a word
SHOWN = {"deepest of the year": N_("lowest charge of the year")}
QUESTIONS = {
    "depth": N_("How low does it go?"),
    "recovery": N_("How soon is it full again?"),
    "use": N_("How much passes through?"),
}


def year_sheet(results):
    """The sheet as an HTML page that needs nothing but itself.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    str
    """
    with written(manner_of(results.study.document)):
        page, _whole = in_one_language(lambda: _page(results))
    return page


def _page(results):
    study, table = results.study, results.table("expected_year")
    groups = [
        (_(QUESTIONS[name]), _rows(table[(table["group"] == name) & (table["month"] == 0)]))
        for name in GROUPS
    ]
    dawn = table[table["quantity"] == "at dawn"]
    months = [
        (month_name(month), *_pair(dawn[dawn["month"] == month])) for month in dict.fromkeys(dawn["month"])
    ]
    head = letterhead_of(study.document)
    logo = usable_logo(proposal_files(study).get("logo"))
    return (
        templates()
        .get_template("year_sheet.html.j2")
        .render(
            head=head,
            colours=colours_of(head),
            logo="" if logo is None else data_uri(logo),
            paper="letter" if study.document.paper == "letter" else "A4",
            title=say.given(study.document.title),
            place=say.given(study.site.name),
            by=say.given(study.document.prepared_by),
            note=say.given(study.document.note) if study.document.note else "",
            groups=groups,
            months=months,
            words={
                name: local_number(text, current().numbers)
                for name, text in _words(study, alarm(results), int(table["n"].max())).items()
            },
            language=current().language,
        )
    )


def _words(study, test, years):
    """The sheet's own sentences by name; `test` is what `alarm` returns."""
    words = {
        "title": _("The expected year"),
        "bank": _("bank {capacity_ah:g} Ah, {voltage} V").format(
            capacity_ah=study.bank.capacity_ah, voltage=study.system.nominal_voltage_v
        ),
        "years": ngettext("{count} synthetic year", "{count} synthetic years", years).format(count=years),
        "how": _(
            "Each figure is a typical year (median), followed by the range of eight years of ten. "
            "One ordinary year in ten is below it, one above. “Display” is what “{monitor}” will "
            "show: 100 % is full, 0 % is empty. The last column is for your own year."
        ).format(monitor=say.given(name_in_words(study.monitor))),
        "in_bank": _("In the bank"),
        "range": _("8 of 10"),
        "display": _("Display"),
        "own": _("Your year"),
        "dawn": _("Charge at dawn, mean of {month}, %"),
        "when": _("When to ask"),
        "usual": _("In normal use the charge stays above {usual:g} %.").format(
            usual=100 - study.bank.planning_depth_pct
        ),
        "caution": _(
            "Not an electrical design: protection, conductors, isolation and ventilation follow local codes and a "
            "licensed practitioner."
        ),
    }
    words["alarm"] = ""
    if test:
        words["alarm"] = _(
            "Ask when the lowest reading of a whole year is below {level} %: then the loads, the "
            "array, the bank or the display's settings have probably changed. Years without any "
            "change do so too, in {share} of the simulated ones. Figures outside their range "
            "elsewhere are no alarm: with so many, some always are."
        ).format(level=test[0], share=test[1])
    return words


FALSE_ALARM = 0.05  # share of unchanged years in which the sheet's test speaks, at most; our choice


def alarm(results):
    """The sheet's one test of whether something has changed: the lowest reading of the year.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    tuple of (str, str) or None
        State of charge [%] below which the reading of an unchanged year falls in at most `FALSE_ALARM` of the
        simulated years, as a whole number, and the share of those years in which it does. None where the readings
        of the years are not known.
    """
    if "max_depth_reported_pct" not in results.members or results.years < 1 / FALSE_ALARM:
        return None
    lowest = 100.0 - results.members["max_depth_reported_pct"].to_numpy(float)
    level = int(np.floor(np.quantile(lowest, FALSE_ALARM)))
    return f"{level}", say.percent(float((lowest < level).mean()))


def _rows(table):
    """Rows of one group: quantity with unit, in the bank, on the monitor."""
    rows = []
    for quantity in dict.fromkeys(table["quantity"]):
        here = table[table["quantity"] == quantity]
        unit = here["unit"].iloc[0]
        name = say.sentence(_(SHOWN.get(quantity, quantity))) + (
            "" if unit == "-" else f", {_(unit) if unit == DAYS else unit}"
        )
        rows.append((name, *_pair(here)))
    return rows


def _pair(rows):
    rows = rows.set_index("source")
    return tuple(_band(rows.loc[source]) for source in ("bank", "monitor"))


def _band(row):
    """Median and range, such as ``60`` and ``36 to 90``: a typical year, and eight years of ten.

    Depths of discharge become states of charge, as the display shows them.
    """
    values = [row["p10"], row["p50"], row["p90"]]
    if row["group"] == "depth":
        values = [100.0 - value for value in reversed(values)]
    digits = 1 if row["unit"] == "days" and values[2] < 10 else 0
    step = 1 if values[2] < 1000 else 10 if values[2] < 10_000 else 100
    low, median, high = (
        local_number(say.number(round(value / step) * step if step > 1 else value, digits), current().numbers)
        for value in values
    )
    return median, say.to(low, high)
