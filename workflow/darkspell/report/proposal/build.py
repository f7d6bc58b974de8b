"""The proposal put together, section by section."""

from darkspell.report import wording as say
from darkspell.report.document.localization import local_date, localised
from darkspell.report.document.tree import Document, Paragraph
from darkspell.report.proposal.chapters import appendix, opening
from darkspell.report.proposal.sections import has_appendix, sections
from darkspell.study.files import proposal_files


def proposal(results):
    """The document tree of a study's results.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Document
    """
    about, study = results.study.document, results.study
    blocks = opening.opening(results)
    if about.note:
        blocks.append(Paragraph(say.given(about.note), "note"))
    made = Document(
        title=say.given(about.title),
        facts=facts_of(study),
        opening=blocks,
        sections=sections(results),
        appendix=appendix.sections(results) if has_appendix(study) else [],
        logo=proposal_files(study).get("logo"),
        paper=about.paper,
        numbers=about.numbers,
    )
    return localised(made, about.numbers)


def facts_of(study):
    """For whom, where, by whom, when."""
    about = study.document
    return [
        ("For", say.given(about.client)),
        ("Place", place_of(study.site)),
        ("Prepared by", say.given(about.prepared_by)),
        *([("Date", local_date(about.date, about.numbers))] if about.date else []),
    ]


def place_of(site):
    """A place with its coordinates."""
    sides = ("N" if site.latitude_deg >= 0 else "S", "E" if site.longitude_deg >= 0 else "W")
    at = f"{abs(site.latitude_deg):g}° {sides[0]}, {abs(site.longitude_deg):g}° {sides[1]}"
    return f"{say.given(site.name)} ({at}, {site.altitude_m:g} m)"
