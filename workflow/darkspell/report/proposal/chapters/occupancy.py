"""What the people ask: how long they may leave the place, and what it brings that they save."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import number
from darkspell.simulation.unattended import days_that_last

LASTED = (7, 14, 30, 60, 90, 120, 180, 270, 365)
SAVED = {
    "short_nights": N_("Nights with essential loads dark, a year"),
    "lolh": N_("Hours with essential loads dark, a year"),
    "eue_kwh": N_("Energy not delivered, kWh a year"),
    "max_depth_true_pct": N_("Deepest discharge of a year, %"),
    "demand_kwh": N_("Energy demand, kWh a year"),
    "saving_days": N_("Days of saving, a year"),
}


def unattended_asked(results):
    """Whether the study asks how long the place may be left, and the answer is there.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return results.study.occupancy.unattended is not None and len(results.table("unattended")) > 0


def saving_asked(results):
    """Whether the study asks what saving brings, and the answer is there.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return results.study.occupancy.saving is not None and len(results.table("saving")) > 0


def unattended(results):
    """The section on how long the place may be left to itself.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    asked, table = results.study.occupancy.unattended, results.table("unattended")
    found = days_that_last(table, asked.probability_pct / 100.0)
    month = min(found, key=lambda m: found[m])
    held, dependable = found[month]
    chance = f"{asked.probability_pct:g} %"
    if held >= asked.longest_days:
        heading = _("You may leave for {longest_days} days or longer, from any of these dates").format(
            longest_days=asked.longest_days
        )
    elif held == 0:
        heading = _("Leaving on 1 {month}, not even one day is safe with {chance}").format(
            month=month_name(month), chance=chance
        )
    else:
        heading = _("You may leave for {count}, even on 1 {month}").format(
            count=say.count_of(held, "{count} day", "{count} days"), month=month_name(month)
        )
    text = _(
        "Everybody leaves at noon with the bank full. Loads that need people stop; these stay on: {stays_on}. In "
        "{chance} of the years none of them goes dark within the days of the table. Only energy is counted: leaks, "
        "faults and theft are not."
    ).format(stays_on=_stays_on(results.study), chance=chance)
    if 0 < dependable < held:
        text += " " + _("With the lower end of the 95 % interval it is {count} from {month}.").format(
            month=month_name(month), count=say.count_of(dependable, "{count} day", "{count} days")
        )
    return Section(
        heading, [Paragraph(text), *figure(results, "unattended"), _days_table(table, found, asked)]
    )


def _stays_on(study):
    names = [name for name, load in study.loads.items() if load.when in ("any", "away")]
    names += list(study.measured_loads)
    return say.listed(f"“{say.given(name.replace('_', ' '))}”" for name in names) or "nothing"


def _days_table(table, found, asked):
    spans = [days for days in LASTED if days <= asked.longest_days]
    rows = []
    for month, (held, dependable) in found.items():
        part = table[table["start_month"] == month].set_index("days")["probability"]
        chances = [say.percent(float(part[days])) for days in spans]
        rows.append([f"1 {month_name(month)}", _days(held, asked), _days(dependable, asked), *chances])
    return Table(
        caption=_("How long the place may be left to itself"),
        header=[
            _("Leaving on"),
            _("Days with {probability_pct:g} %").format(probability_pct=asked.probability_pct),
            _("95 % certain"),
            *(_("{days} days").format(days=days) for days in spans),
        ],
        rows=rows,
        align="l" + "r" * (2 + len(spans)),
        note=_(
            "On the right: the probability that nothing goes dark within so many days. The years were followed for "
            "{longest_days} days."
        ).format(longest_days=asked.longest_days),
    )


def _days(days, asked):
    return _("{days} or more").format(days=days) if days >= asked.longest_days else f"{days}"


def saving(results):
    """The section on what it brings that people save, beside the year without.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    rule, table = results.study.occupancy.saving, results.table("saving").set_index("statistic")
    nights = table.loc["short_nights"]
    bounds = float(nights["low"]), float(nights["high"])
    before, after = (say.rounded(float(nights[name]), *bounds) for name in ("without", "with"))
    if nights["verdict"] == "real" and nights["difference"] < 0 and before != after:
        heading = _("If you save on a low reading: {after} dark nights a year in place of {before}").format(
            after=after, before=before
        )
    else:
        heading = _("Saving on a low reading makes no clear difference")
    which = (
        _("all loads but those never switched off")
        if rule.loads == "all"
        else _("the loads that can be shed")
    )
    text = _(
        "All other figures assume that nobody saves. Here people look at the monitor at 18:00. Once it reads below "
        "{below_soc_pct:g} % they use {less_pct:g} % less of {which}, until it reads {until_soc_pct:g} % again. They "
        "follow the reading, right or wrong."
    ).format(
        below_soc_pct=rule.below_soc_pct,
        less_pct=rule.less_pct,
        which=which,
        until_soc_pct=rule.until_soc_pct,
    )
    text += _wrong(table, results.study.bank.planning_depth_pct)
    unsettled = float(table.loc["unsettled_days", "with"])
    if unsettled > 0.0:
        text += " " + _(
            "{unsettled} decisions a year were still changing when the calculation ended."
        ).format(unsettled=number(unsettled, 2))
    return Section(heading, [Paragraph(text), *figure(results, "saving"), _both(table)])


def _wrong(table, planning):
    """What the reading's own errors make of it: days saved for nothing, and days begun too late."""

    def shown(name):
        row = table.loc[name]
        return say.rounded(float(row["with"]), float(row["low"]), float(row["high"])), say.between(
            float(row["low"]), float(row["high"])
        )

    text = ""
    if float(table.loc["needless_days", "with"]) > 0.0:
        (days, spread), (energy, _index) = shown("needless_days"), shown("needless_kwh")
        text += " " + _(
            "On {days} days a year ({spread}) they save {energy} kWh although the bank holds enough."
        ).format(days=days, spread=spread, energy=energy)
    if float(table.loc["late_days", "with"]) > 0.0:
        (days, spread), (points, _index) = shown("late_days"), shown("late_beyond_planning_pct")
        text += " " + _(
            "On {days} days a year ({spread}) they should save and do not. The bank then goes up to {points} points "
            "below its usual lowest charge of {usual:g} %, on average over the years."
        ).format(days=days, spread=spread, points=points, usual=100 - planning)
    return text


def _both(table):
    rows = []
    for key, label in SAVED.items():
        one = table.loc[key]
        bounds = float(one["low"]), float(one["high"])
        rows.append(
            [
                _(label),
                *(say.rounded(float(one[name]), *bounds) for name in ("without", "with")),
                say.between(*bounds),
            ]
        )
    return Table(
        caption=_("The year without and with people who save"),
        header=["", _("As they are"), _("Saving"), _("Difference, 95 % interval")],
        rows=rows,
        align="lrrr",
    )
