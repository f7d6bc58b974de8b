"""The sections of a proposal in their order, and when each is there."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

from darkspell.core.messages import _
from darkspell.report.document.custom_text import extended
from darkspell.report.document.language import whole
from darkspell.report.document.tree import Box, Section
from darkspell.report.proposal.chapters import (
    autonomy,
    bill_of_materials,
    cautions,
    designs_remedies_sensitivity,
    disconnects,
    display,
    energy_sources,
    equipment_details,
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
    terms,
    uncertainty,
    whatifs,
)
from darkspell.report.proposal.chapters.offers import choose
from darkspell.report.proposal.chapters.size import design
from darkspell.study.section_names import SECTIONS


def always(results):
    """A section that every proposal has.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return True


def with_table(*names):
    """Condition of a section: these tables of the study (``results/<study>/<name>.csv``) hold rows.

    Parameters
    ----------
    *names : str
        Tables without ``.csv``.

    Returns
    -------
    callable
        From `Results` to bool.
    """

    def when(results):
        return all(len(results.table(name)) for name in names)

    return when


class Chapter(NamedTuple):
    """One section of the proposal, of its annex, or of both.

    Parameters
    ----------
    name : str
        As the study's keys and the files that replace or extend it call it.
    client, annex : callable or None
        From `Results` to a `Section` of the client's document, of the technical annex; None where it is not in it.
    when : callable
        From `Results` to whether it is there.
    """

    name: str
    client: Callable[[Any], Section] | None = None
    annex: Callable[[Any], Section] | None = None
    when: Callable[[Any], bool] = always


# In the order of reading.
CHAPTERS = (
    Chapter("system", client=system.section, annex=equipment_details.section),
    Chapter("bill_of_materials", client=bill_of_materials.section, when=bill_of_materials.there),
    Chapter("energy_sources", annex=energy_sources.section, when=energy_sources.there),
    Chapter("snow", annex=snow.section, when=snow.there),
    Chapter("size", annex=size.section),
    Chapter("catalogue", annex=designs_remedies_sensitivity.designs, when=with_table("catalogue_designs")),
    Chapter("autonomy", client=autonomy.summary, annex=autonomy.section),
    Chapter("outages", annex=outages_recovery.section, when=with_table("recovery")),
    Chapter("unattended", annex=occupancy.unattended, when=occupancy.unattended_asked),
    Chapter("saving", annex=occupancy.saving, when=occupancy.saving_asked),
    Chapter("full_charges", annex=full_charges.section, when=full_charges.there),
    Chapter("ageing", annex=lifetime.section, when=lifetime.there),
    Chapter("monitor_readings", client=display.section, annex=monitor_readings.section),
    Chapter(
        "monitor_comparison",
        annex=monitor_comparison.section,
        when=with_table("monitor_kinds", "monitor_error_percentiles"),
    ),
    Chapter("monitor_settings", annex=monitor_settings.section, when=with_table("monitor_settings")),
    Chapter("disconnects", annex=disconnects.section, when=with_table("disconnects")),
    Chapter("whatifs", annex=whatifs.section),
    Chapter("remedies", annex=designs_remedies_sensitivity.remedies, when=with_table("remedies")),
    Chapter("sensitivity", annex=designs_remedies_sensitivity.sensitivity, when=with_table("sensitivity")),
    Chapter("uncertainty", annex=uncertainty.section),
    Chapter("measured_years", annex=measured_years.section, when=measured_years.there),
    Chapter("out_of_scope", client=uncertainty.left_out),
    Chapter("cautions", client=cautions.section),
    Chapter("terms", client=terms.section, when=terms.there),
)
NEVER_LEFT_OUT = "cautions"
OF_THE_DESIGN = (
    "system",
    "bill_of_materials",
    "autonomy",
    "monitor_readings",
)  # their figures are of one design


def sections(results, part):
    """The sections that the study asks for and has tables for, in their order.

    Cautions stay in the client's document whatever the study asks for; where its order does not name them, last.

    Parameters
    ----------
    results : darkspell.report.results.Results
    part : {"client", "annex"}

    Returns
    -------
    list of Section
    """
    about = results.study.document
    order = [
        name for name in about.sections or SECTIONS if name not in about.without or name == NEVER_LEFT_OUT
    ]
    if NEVER_LEFT_OUT not in order:
        order.append(NEVER_LEFT_OUT)
    chapters = {chapter.name: chapter for chapter in CHAPTERS}
    made = []
    for name in order:
        chapter = chapters.get(name)
        make = chapter and getattr(chapter, part)
        if make and chapter.when(results):
            made.append(extended(whole(partial(make, results)), name, results.study))
            if part == "client" and name in OF_THE_DESIGN and not choose(results)[0].is_own:
                made[-1] = as_asked(made[-1])
    if made and part == "client" and not choose(results)[0].is_own:
        box = whole(lambda: Section("", [of_another_size(results)]))
        made[0] = replace(made[0], blocks=[*box.blocks, *made[0].blocks])
    return made


def of_another_size(results):
    """Box before the first section, where another design than the study's own is recommended.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    Box
    """
    study, recommended = results.study, choose(results)[0]
    own = design(study.array_wp, study.bank.capacity_ah)
    text = (
        _("All figures and tables of these pages are of {own} without {remedy}.").format(
            own=own, remedy=recommended.remedy
        )
        if recommended.remedy
        else _(
            "All figures and tables of these pages are of {own}. Ask for the same pages of the recommended "
            "{recommended} before you order."
        ).format(own=own, recommended=design(recommended.array_wp, recommended.bank_ah))
    )
    return Box(_("From here on: the size asked for, not the recommended one"), [text])


def as_asked(section):
    """The section with a heading that says that its figures are of the size asked for, not of the recommended one.

    Parameters
    ----------
    section : Section

    Returns
    -------
    Section
    """
    heading = _("{heading} (size asked for, not the recommended one)").format(heading=section.heading)
    return replace(section, heading=heading)


def what_is_described(results):
    """For the foot of each page, where another design than the study's own is recommended: whose figures these are.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    str
        Empty where the study's own design is the recommended one.
    """
    study = results.study
    if choose(results)[0].is_own:
        return ""
    return _("Size asked for: {array:g} Wp with {bank:g} Ah").format(
        array=study.array_wp, bank=study.bank.capacity_ah
    )


def has_appendix(study):
    """Whether the study asks for the appendix of the annex.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return "appendix" in (study.document.sections or SECTIONS) and "appendix" not in study.document.without
