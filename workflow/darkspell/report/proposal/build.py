"""The proposal put together, section by section."""

from dataclasses import replace

from darkspell.core.messages import _
from darkspell.report import units
from darkspell.report import wording as say
from darkspell.report.document.document import Document
from darkspell.report.document.images import usable_logo
from darkspell.report.document.language import current, manner_of, whole, written
from darkspell.report.document.localization import local_date
from darkspell.report.document.number_texts import local_number, localised
from darkspell.report.document.tree import Paragraph, Section
from darkspell.report.proposal.chapters import appendix, decision
from darkspell.report.proposal.letterhead import letterhead_of
from darkspell.report.proposal.sections import has_appendix, sections, what_is_described
from darkspell.study.files import proposal_files


def proposal(results):
    """The client's document of a study's results: a decision page, then a few short sections.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.document.Document
    """
    about = results.study.document
    with written(manner_of(about)):
        opening = whole(lambda: Section("", decision.opening(results)))
        if about.note:
            opening.blocks.append(Paragraph(say.given(about.note), "note"))
        made = _document(results, say.given(about.title), opening, sections(results, "client"), [])
        return replace(made, cover=True)


def annex(results):
    """The technical annex of a study's results: how the answer was found, and how well it is known.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.document.Document
    """
    study = results.study
    with written(manner_of(study.document)):
        opening = whole(lambda: Section("", [Paragraph(_annex_opening(study))]))
        more = appendix.sections(results) if has_appendix(study) else []
        title = _("{title}: technical annex").format(title=say.given(study.document.title))
        return _document(results, title, opening, sections(results, "annex"), more)


def _annex_opening(study):
    return _(
        "How the answer was found and how well it is known. These pages describe the size studied, {array} Wp with "
        "{bank} Ah. Cautions are in the proposal."
    ).format(array=f"{study.array_wp:g}", bank=f"{study.bank.capacity_ah:g}")


def _document(results, title, opening, parts, more):
    """A document with the study's client, firm, date, logo, paper and manner of writing."""
    about = results.study.document
    made = Document(
        title=title,
        facts=facts_of(results.study),
        opening=opening.blocks,
        sections=parts,
        appendix=more,
        language=about.language,
        logo=usable_logo(proposal_files(results.study).get("logo")),
        paper=about.paper,
        numbers=about.locale,
        author=author_of(about),
        letterhead=letterhead_of(about),
        subject=what_is_described(results),
    )
    return localised(made, about.locale)


def author_of(about):
    """Author in the files' properties: the firm, else who prepared the document.

    Parameters
    ----------
    about : darkspell.study.document.Document
    """
    return say.given(about.firm.name if about.firm else about.prepared_by)


def facts_of(study):
    """For whom, where, by whom, when.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    about = study.document
    return [
        (_("For"), say.given(about.client)),
        (_("Place"), place_of(study)),
        (_("Prepared by"), say.given(about.prepared_by)),
        *([(_("Number"), say.given(about.reference))] if about.reference else []),
        *([(_("Date"), local_date(about.date, about.locale))] if about.date else []),
        *([(_("Valid until"), local_date(about.valid_until, about.locale))] if about.valid_until else []),
    ]


def place_of(study):
    """The site with its coordinates; of a home that moves, that there are other stops.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    site = study.site
    sides = (_("N") if site.latitude_deg >= 0 else _("S"), _("E") if site.longitude_deg >= 0 else _("W"))
    degrees = (f"{abs(angle):g}°" for angle in (site.latitude_deg, site.longitude_deg))
    at = ", ".join(f"{angle} {side}" for angle, side in zip(degrees, sides, strict=True))
    at = local_number(at, current().numbers)
    place = f"{say.given(site.name)} ({at}, {units.height(site.altitude_m)})"
    return _("{site} and other stops").format(site=place) if study.itinerary else place
