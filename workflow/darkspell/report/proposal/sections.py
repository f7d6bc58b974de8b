"""The sections of a proposal in their order, and when each is there."""

from collections.abc import Callable
from typing import Any, NamedTuple

from darkspell.report.document.custom_text import extended
from darkspell.report.document.tree import Section
from darkspell.report.proposal.chapters import autonomy as dull_weeks
from darkspell.report.proposal.chapters import cautions, size, snow
from darkspell.report.proposal.chapters import designs_remedies_sensitivity as choices
from darkspell.report.proposal.chapters import disconnects as cut_outs
from darkspell.report.proposal.chapters import energy_sources as supply
from darkspell.report.proposal.chapters import full_charges as care
from darkspell.report.proposal.chapters import lifetime as ageing
from darkspell.report.proposal.chapters import measured_years as replayed
from darkspell.report.proposal.chapters import monitor_comparison as which_monitor
from darkspell.report.proposal.chapters import monitor_readings as shown
from darkspell.report.proposal.chapters import monitor_settings as setting
from darkspell.report.proposal.chapters import occupancy as people
from darkspell.report.proposal.chapters import outages_recovery as after_dark
from darkspell.report.proposal.chapters import system as proposed
from darkspell.report.proposal.chapters import uncertainty as certainty
from darkspell.report.proposal.chapters import whatifs as changes


def always(results):
    """A section that every proposal has."""
    return True


def with_table(*names):
    """Condition of a section: these tables of the study (``results/<study>/<name>.csv``) hold rows."""

    def when(results):
        return all(len(results.table(name)) for name in names)

    return when


class Chapter(NamedTuple):
    """One section of the proposal.

    Parameters
    ----------
    name : str
        As the study's keys and the files that replace or extend it call it.
    make : callable
        From `Results` to a `Section`.
    when : callable
        From `Results` to whether it is there.
    """

    name: str
    make: Callable[[Any], Section]
    when: Callable[[Any], bool] = always


# In the order of reading. A section stands where its question comes up: what, why, how long, what else, how sure.
CHAPTERS = (
    Chapter("proposed", proposed.section),
    Chapter("supply", supply.section, supply.there),
    Chapter("snow", snow.section, snow.there),
    Chapter("size", size.section),
    Chapter("designs", choices.designs, with_table("designs")),
    Chapter("dull_weeks", dull_weeks.section),
    Chapter("after_dark", after_dark.section, with_table("recovery")),
    Chapter("leaving", people.leaving, people.leaving_asked),
    Chapter("adapting", people.adapting, people.adapting_asked),
    Chapter("care", care.section, care.there),
    Chapter("ageing", ageing.section, with_table("ageing")),
    Chapter("monitor", shown.section),
    Chapter("which_monitor", which_monitor.section, with_table("kinds", "drift")),
    Chapter("setting", setting.section, with_table("settings")),
    Chapter("cut_outs", cut_outs.section, with_table("cut_outs")),
    Chapter("changes", changes.section),
    Chapter("cures", choices.cures, with_table("cures")),
    Chapter("sensitivity", choices.sensitivity, with_table("sensitivity")),
    Chapter("certainty", certainty.section),
    Chapter("replayed", replayed.section, replayed.there),
    Chapter("left_out", certainty.left_out),
    Chapter("cautions", cautions.section),
)
NAMES = (*(chapter.name for chapter in CHAPTERS), "appendix")


def sections(results):
    """The sections that the study asks for and has tables for, in their order; list of `Section`."""
    about = results.study.study
    order = about.sections or NAMES
    chapters = {one.name: one for one in CHAPTERS}
    made = []
    for name in order:
        one = chapters.get(name)
        if one and name not in about.without and one.when(results):
            made.append(extended(one.make(results), name, results.study))
    return made


def has_appendix(study):
    """Whether the study asks for the appendix."""
    return "appendix" in (study.study.sections or NAMES) and "appendix" not in study.study.without
