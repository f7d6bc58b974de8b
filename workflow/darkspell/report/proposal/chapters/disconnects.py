"""What hangs on a reading: a cut-out that is early or late because the monitor errs."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number

YEAR = {
    "disconnects": "Times a year that it disconnects",
    "lolh": "Hours with essential loads dark, a year",
    "eue_kwh": "Energy not delivered, kWh a year",
    "max_depth_true_pct": "Deepest discharge of a year, %",
}


def section(results):
    """The section on cut-outs: the year without, with one that is always right, and by the reading.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    table, study = results.table("disconnects"), results.study
    blocks = []
    for name in dict.fromkeys(table["monitor"]):
        rule = study.monitors[name].disconnect
        rows = table[table["monitor"] == name].set_index("statistic")
        blocks += [Paragraph(text) for text in _texts(name, rule, rows, study.bank.planning_depth_pct)]
        blocks.append(_years(name, rows))
    return Section(_heading(table), blocks)


def _heading(table):
    rows = table.set_index(["statistic", "monitor"])["by_reading"]
    early, late = (float(rows[name].max()) for name in ("early_disconnects", "late_disconnects"))
    if early == late == 0.0:
        return _("The cut-out follows the reading, which never misled it in these years")
    found = [
        _("too {word} {times}").format(word=word, times=_times(times))
        for word, times in (("early", early), ("late", late))
        if times > 0.0
    ]
    return _("The cut-out follows the reading: {items}").format(items=say.listed(found))


def _texts(name, rule, rows, planning):
    which = (
        _("all loads but those never switched off")
        if rule.loads == "all"
        else _("the loads that can be shed")
    )
    yield (
        _(
            "“{name}” disconnects {which} once it reads below {below_soc_pct:g} %, until it reads "
            "{above_soc_pct:g} % again. It follows the reading, right or wrong. All other figures of "
            "this document are without this cut-out."
        ).format(
            name=say.given(name_in_words(name)),
            which=which,
            below_soc_pct=rule.below_soc_pct,
            above_soc_pct=rule.above_soc_pct,
        )
    )
    early, lost = rows.loc["early_disconnects"], rows.loc["early_lost_kwh"]
    late, hours = rows.loc["late_disconnects"], rows.loc["late_h"]
    beyond = rows.loc["late_beyond_planning_pct"]
    if early["by_reading"] == late["by_reading"] == 0.0:
        yield _("In no year did it act on a wrong reading.")
    if early["by_reading"] > 0.0:
        yield (
            _(
                "Too early, with the bank still above the level: {shown} times a year. That leaves {shown_2} "
                "kWh a year "
                "unused in the bank."
            ).format(shown=_shown(early), shown_2=_shown(lost))
        )
    if late["by_reading"] > 0.0:
        deep = (
            _(
                "The bank then goes up to {shown} points below its usual lowest charge of {usual:g} %, on "
                "average over the "
                "years."
            ).format(shown=_shown(beyond), usual=100 - planning)
            if beyond["by_reading"] > 0.0
            else _(
                "In no year does the bank go below its usual lowest charge of {usual:g} % because of it."
            ).format(usual=100 - planning)
        )
        yield (
            _(
                "Too late, with the bank already below the level: {shown} times a year, for {shown_2} hours "
                "in all. {deep}"
            ).format(shown=_shown(late), shown_2=_shown(hours), deep=deep)
        )
    open_hours = float(rows.loc["unsettled_h", "by_reading"])
    if open_hours > 0.0:
        yield _("{open_hours} hours a year were still changing when the calculation ended.").format(
            open_hours=number(open_hours, 2)
        )


def _times(value):
    return (
        _("{value} times a year").format(value=number(value, 1 if value < 10 else 0))
        if value >= 0.1
        else _("less than once in ten years")
    )


def _shown(row):
    bounds = float(row["low"]), float(row["high"])
    return f"{say.rounded(float(row['by_reading']), *bounds)} ({say.between(*bounds)})"


def _years(name, rows):
    cells = []
    for key, label in YEAR.items():
        row = rows.loc[key]
        bounds = float(row["low"]), float(row["high"])
        values = (say.rounded(float(row[at]), *bounds) for at in ("without", "by_truth", "by_reading"))
        cells.append([label, *values, say.between(*bounds).replace("-", "\u2212")])
    return Table(
        caption=_("The year with and without the cut-out of “{name}”").format(
            name=say.given(name_in_words(name))
        ),
        header=[
            "",
            _("Without"),
            _("By the true charge"),
            _("By the reading"),
            _("What the reading changes"),
        ],
        rows=cells,
        align="lrrrr",
        note=_(
            "Means over the same years; in the text and in the last column 95 % intervals of the "
            "mean. A cut-out by the true charge is what a monitor that never errs would do."
        ),
    )
