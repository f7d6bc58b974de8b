"""Terms of the offer and lines to sign on: the last page."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.custom_text import text_blocks
from darkspell.report.document.localization import local_date
from darkspell.report.document.tree import Paragraph, Section, Signatures
from darkspell.study.files import proposal_files


def there(results):
    """Whether the study names terms, validity or people who sign.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    about = results.study.document
    return bool(about.terms or about.valid_until or about.signatures)


def section(results):
    """The section with validity, terms and signatures.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    about = results.study.document
    blocks = text_blocks(proposal_files(results.study), "terms")
    if about.valid_until:
        day = local_date(about.valid_until, about.locale)
        blocks.insert(0, Paragraph(_("This offer is valid until {day}.").format(day=day)))
    if about.signatures:
        people = [(say.given(name), "") for name in about.signatures]
        blocks.append(Signatures(people, _("Place, date")))
    return Section(_("Terms"), blocks)
