"""The sections of a proposal in their order, and when each is there."""

from collections.abc import Callable
from typing import Any, NamedTuple

from darkspell.report.document.custom_text import extended
from darkspell.report.document.tree import Section
from darkspell.report.proposal.chapters import autonomy as dull_weeks
from darkspell.report.proposal.chapters import cautions, size, snow
from darkspell.report.proposal.chapters import designs_remedies_sensitivity as choices
from darkspell.report.proposal.chapters import disconnects as disconnects
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
from darkspell.study.section_names import SECTIONS


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
    Chapter("system", proposed.section),
    Chapter("energy_sources", supply.section, supply.there),
    Chapter("snow", snow.section, snow.there),
    Chapter("size", size.section),
    Chapter("catalogue", choices.designs, with_table("catalogue_designs")),
    Chapter("autonomy", dull_weeks.section),
    Chapter("outages", after_dark.section, with_table("recovery")),
    Chapter("unattended", people.leaving, people.leaving_asked),
    Chapter("saving", people.adapting, people.adapting_asked),
    Chapter("full_charges", care.section, care.there),
    Chapter("ageing", ageing.section, with_table("ageing")),
    Chapter("monitor_readings", shown.section),
    Chapter(
        "monitor_comparison", which_monitor.section, with_table("monitor_kinds", "monitor_error_percentiles")
    ),
    Chapter("monitor_settings", setting.section, with_table("monitor_settings")),
    Chapter("disconnects", disconnects.section, with_table("disconnects")),
    Chapter("whatifs", changes.section),
    Chapter("remedies", choices.remedies, with_table("remedies")),
    Chapter("sensitivity", choices.sensitivity, with_table("sensitivity")),
    Chapter("uncertainty", certainty.section),
    Chapter("measured_years", replayed.section, replayed.there),
    Chapter("out_of_scope", certainty.left_out),
    Chapter("cautions", cautions.section),
)


def sections(results):
    """The sections that the study asks for and has tables for, in their order; list of `Section`."""
    about = results.study.document
    order = about.sections or SECTIONS
    chapters = {one.name: one for one in CHAPTERS}
    made = []
    for name in order:
        one = chapters.get(name)
        if one and name not in about.without and one.when(results):
            made.append(extended(one.make(results), name, results.study))
    return made


def has_appendix(study):
    """Whether the study asks for the appendix."""
    return "appendix" in (study.document.sections or SECTIONS) and "appendix" not in study.document.without
