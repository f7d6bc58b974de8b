"""The proposal put together, section by section."""

from dataclasses import replace

from darkspell.report import wording as say
from darkspell.report.document.images import usable_logo
from darkspell.report.document.localization import local_date, localised
from darkspell.report.document.tree import Document, Paragraph
from darkspell.report.proposal.chapters import appendix, decision
from darkspell.report.proposal.sections import has_appendix, sections
from darkspell.study.files import proposal_files


def proposal(results):
    """The client's document of a study's results: a decision page, then a few short sections.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Document
    """
    about = results.study.document
    opening = decision.opening(results)
    if about.note:
        opening.append(Paragraph(say.given(about.note), "note"))
    made = _document(results, say.given(about.title), opening, sections(results, "client"), [])
    return replace(made, cover=True)


def annex(results):
    """The technical annex of a study's results: how the answer was found, and how well it is known.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Document
    """
    study = results.study
    opening = [
        Paragraph(
            f"How the answer was found and how well it is known. These pages describe the size studied, "
            f"{study.array_wp:g} Wp with {study.bank.capacity_ah:g} Ah. Cautions are in the proposal."
        )
    ]
    more = appendix.sections(results) if has_appendix(study) else []
    title = f"{say.given(study.document.title)}: technical annex"
    return _document(results, title, opening, sections(results, "annex"), more)


def _document(results, title, opening, parts, more):
    """A document with the study's client, date, logo, paper and way of writing numbers."""
    about = results.study.document
    made = Document(
        title=title,
        facts=facts_of(results.study),
        opening=opening,
        sections=parts,
        appendix=more,
        logo=usable_logo(proposal_files(results.study).get("logo")),
        paper=about.paper,
        numbers=about.numbers,
        author=say.given(about.prepared_by),
    )
    return localised(made, about.numbers)


def facts_of(study):
    """For whom, where, by whom, when.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    about = study.document
    return [
        ("For", say.given(about.client)),
        ("Place", place_of(study.site)),
        ("Prepared by", say.given(about.prepared_by)),
        *([("Date", local_date(about.date, about.numbers))] if about.date else []),
    ]


def place_of(site):
    """A place with its coordinates.

    Parameters
    ----------
    site : darkspell.study Site
    """
    sides = ("N" if site.latitude_deg >= 0 else "S", "E" if site.longitude_deg >= 0 else "W")
    at = f"{abs(site.latitude_deg):g}° {sides[0]}, {abs(site.longitude_deg):g}° {sides[1]}"
    return f"{say.given(site.name)} ({at}, {site.altitude_m:g} m)"
