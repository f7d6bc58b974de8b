"""The sections of a proposal in their order, and when each is there."""

from collections.abc import Callable
from typing import Any, NamedTuple

from darkspell.report.document.custom_text import extended
from darkspell.report.document.tree import Section
from darkspell.report.proposal.chapters import (
    autonomy,
    cautions,
    designs_remedies_sensitivity,
    disconnects,
    energy_sources,
    full_charges,
    lifetime,
    measured_years,
    monitor_comparison,
    monitor_readings,
    monitor_settings,
    occupancy,
    outages_recovery,
    size,
    snow,
    system,
    uncertainty,
    whatifs,
)
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
    Chapter("system", system.section),
    Chapter("energy_sources", energy_sources.section, energy_sources.there),
    Chapter("snow", snow.section, snow.there),
    Chapter("size", size.section),
    Chapter("catalogue", designs_remedies_sensitivity.designs, with_table("catalogue_designs")),
    Chapter("autonomy", autonomy.section),
    Chapter("outages", outages_recovery.section, with_table("recovery")),
    Chapter("unattended", occupancy.leaving, occupancy.leaving_asked),
    Chapter("saving", occupancy.adapting, occupancy.adapting_asked),
    Chapter("full_charges", full_charges.section, full_charges.there),
    Chapter("ageing", lifetime.section, with_table("ageing")),
    Chapter("monitor_readings", monitor_readings.section),
    Chapter(
        "monitor_comparison",
        monitor_comparison.section,
        with_table("monitor_kinds", "monitor_error_percentiles"),
    ),
    Chapter("monitor_settings", monitor_settings.section, with_table("monitor_settings")),
    Chapter("disconnects", disconnects.section, with_table("disconnects")),
    Chapter("whatifs", whatifs.section),
    Chapter("remedies", designs_remedies_sensitivity.remedies, with_table("remedies")),
    Chapter("sensitivity", designs_remedies_sensitivity.sensitivity, with_table("sensitivity")),
    Chapter("uncertainty", uncertainty.section),
    Chapter("measured_years", measured_years.section, measured_years.there),
    Chapter("out_of_scope", uncertainty.left_out),
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
