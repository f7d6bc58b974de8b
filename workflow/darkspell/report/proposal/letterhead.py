"""The firm's letterhead, from a study to the document tree."""

from darkspell.report import wording as say
from darkspell.report.document.document import Letterhead


def letterhead_of(about):
    """The firm's letterhead and the document's number.

    Parameters
    ----------
    about : darkspell.study.document.Document

    Returns
    -------
    darkspell.report.document.document.Letterhead
    """
    firm, reference = about.firm, say.given(about.reference)
    if firm is None:
        return Letterhead(reference=reference)
    return Letterhead(
        name=say.given(firm.name),
        address=[say.given(line) for line in firm.address],
        contact=[say.given(text) for text in (firm.telephone, firm.email, firm.website) if text],
        registration=say.given(firm.registration),
        reference=reference,
        accent=firm.accent_colour.lower(),
        second=firm.second_colour.lower(),
    )
