"""What hangs on a reading: a cut-out that is early or late because the monitor errs."""

from darkspell.report import wording as say
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number

YEAR = {
    "disconnects": "Times a year that it disconnects",
    "lolh": "Hours with essential loads dark, a year",
    "eue_kwh": "Energy asked for and not delivered, kWh a year",
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
        return "The cut-out acts on the reading; in none of these years did the reading mislead it"
    found = [
        f"too {word} {_times(times)}" for word, times in (("early", early), ("late", late)) if times > 0.0
    ]
    return f"The cut-out acts on the reading: {say.listed(found)}"


def _texts(name, rule, rows, planning):
    which = "all loads but the never disconnected" if rule.loads == "all" else "the deferrable loads"
    yield (
        f"“{say.given(name_in_words(name))}” disconnects {which} once it reads below {rule.below_soc_pct:g} %, until "
        f"it reads {rule.above_soc_pct:g} % again. It goes by the reading, right or wrong. All other figures of "
        "this proposal are without this cut-out."
    )
    early, lost = rows.loc["early_disconnects"], rows.loc["early_lost_kwh"]
    late, hours = rows.loc["late_disconnects"], rows.loc["late_h"]
    beyond = rows.loc["late_beyond_planning_pct"]
    if early["by_reading"] == late["by_reading"] == 0.0:
        yield "In none of the years did it act on a wrong reading."
    if early["by_reading"] > 0.0:
        yield (
            f"Too early, with the bank still above the level: {_shown(early)} times a year. The energy left in the "
            f"bank above the level and not to be had: {_shown(lost)} kWh a year."
        )
    if late["by_reading"] > 0.0:
        deep = (
            f"It then goes up to {_shown(beyond)} points beyond the planning depth of {planning:g} %, on average "
            "over the years."
            if beyond["by_reading"] > 0.0
            else f"In none of the years does it go beyond the planning depth of {planning:g} % by that."
        )
        yield (
            f"Too late, the bank already below the level: {_shown(late)} times a year, for {_shown(hours)} hours "
            f"together. {deep}"
        )
    open_hours = float(rows.loc["unsettled_h", "by_reading"])
    if open_hours > 0.0:
        yield f"{number(open_hours, 2)} hours a year were not settled when the reckoning ended."


def _times(value):
    return (
        f"{number(value, 1 if value < 10 else 0)} times a year"
        if value >= 0.1
        else "less than once in ten years"
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
        caption=f"The year with and without the cut-out of “{say.given(name_in_words(name))}”",
        header=["", "Without", "By the true charge", "By the reading", "What the reading changes"],
        rows=cells,
        align="lrrrr",
        note="Means over the same years; in the text and in the last column 95 % intervals of the mean. A cut-out by "
        "the true charge is what a monitor that never errs would do.",
    )
