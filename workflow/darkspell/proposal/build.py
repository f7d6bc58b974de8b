"""The proposal put together, section by section."""

from darkspell.proposal import answer, appendix
from darkspell.proposal import wording as say
from darkspell.proposal.local import local_date, localised
from darkspell.proposal.sections import has_appendix, sections
from darkspell.proposal.tree import Document, Paragraph
from darkspell.study.files import proposal_files


def proposal(results):
    """The document tree of a study's results.

    Parameters
    ----------
    results : darkspell.proposal.results.Results

    Returns
    -------
    darkspell.proposal.tree.Document
    """
    about, study = results.study.study, results.study
    opening = answer.opening(results)
    if about.note:
        opening.append(Paragraph(say.given(about.note), "note"))
    made = Document(
        title=say.given(about.title),
        facts=facts_of(study),
        opening=opening,
        sections=sections(results),
        appendix=appendix.sections(results) if has_appendix(study) else [],
        logo=proposal_files(study).get("logo"),
        paper=about.paper,
        numbers=about.numbers,
    )
    return localised(made, about.numbers)


def facts_of(study):
    """For whom, where, by whom, when."""
    about = study.study
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
