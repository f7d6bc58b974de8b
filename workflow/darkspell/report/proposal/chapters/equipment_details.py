"""The equipment in detail, for the annex: what is taken off each array's power, the monitors, remarks on them."""

from darkspell.core.messages import _
from darkspell.hand_check import findings, hand_check
from darkspell.report.document.tree import Listing, Paragraph, Section
from darkspell.report.proposal.chapters import equipment
from darkspell.report.proposal.chapters.cautions import is_hazard, remark
from darkspell.report.proposal.chapters.system import bank_line, monitor_lines


def section(results):
    """The section on the equipment, with those remarks of the hand calculation that speak of no hazard.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    study = results.study
    blocks = [Listing([*equipment.items(study), bank_line(study), *monitor_lines(study)])]
    remarks = [one for one in findings(study, hand_check(study, results.climate)) if not is_hazard(one)]
    if remarks:
        blocks.append(Paragraph(_("What the hand calculation, independent of the simulated years, remarks:")))
        blocks.append(Listing([remark(one) for one in remarks]))
    return Section(_("The equipment in detail"), blocks)
