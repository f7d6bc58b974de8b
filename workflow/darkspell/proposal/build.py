"""The proposal put together, section by section."""

from darkspell.check import findings, hand_check
from darkspell.proposal import (
    answer,
    appendix,
    cautions,
    certainty,
    changes,
    dull_weeks,
    proposed,
    replayed,
    shown,
    size,
)
from darkspell.proposal import wording as say
from darkspell.proposal.tree import Document, Paragraph


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
    check = hand_check(study, results.climate)
    opening = answer.opening(results)
    if about.note:
        opening.append(Paragraph(say.given(about.note), "note"))
    return Document(
        title=say.given(about.title),
        facts=[
            ("For", say.given(about.client)),
            ("Place", _place(study.site)),
            ("Prepared by", say.given(about.prepared_by)),
        ],
        opening=opening,
        sections=[
            proposed.section(results),
            size.section(results),
            dull_weeks.section(results),
            shown.section(results),
            changes.section(results),
            certainty.section(results),
            *replayed.sections(results),
            certainty.left_out(results.replay is not None),
            cautions.section(results, check, findings(study, check)),
        ],
        appendix=appendix.sections(results),
    )


def _place(site):
    sides = ("N" if site.latitude_deg >= 0 else "S", "E" if site.longitude_deg >= 0 else "W")
    at = f"{abs(site.latitude_deg):g}° {sides[0]}, {abs(site.longitude_deg):g}° {sides[1]}"
    return f"{say.given(site.name)} ({at}, {site.altitude_m:g} m)"
