"""What can be known of a study before its years are simulated: climates of its what-ifs, whole pieces, pictures."""

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError
from darkspell.report.document.images import logo_fault
from darkspell.report.figures.style import style_fault
from darkspell.study.files import proposal_files

SITE = ("site", "climate", "itinerary")


def preflight(study):
    """Refuse what a run would refuse after minutes.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of str
        Warnings on a logo or a figure style that cannot be used; the run takes its plain default instead.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the climate of a what-if is not known, or no whole pieces of the catalogue fit the system.
    """
    _whatif_climates(study)
    if study.sizing.catalogue:
        from darkspell.design.catalogue import ladders  # loads the compiler, half a second

        ladders(study)
    files = proposal_files(study)
    faults = {"logo": logo_fault(files.get("logo")), "figure_style": style_fault(files.get("figure_style"))}
    return [f"document.{key}: {fault}; it is left out" for key, fault in faults.items() if fault]


def _whatif_climates(study):
    """Climates of what-ifs that change place or weather; each place once."""
    known = {study.subtree_hash(*SITE)}
    for name, changes in study.whatifs.items():
        if not any(str(key).split(".")[0] in SITE for key in changes):
            continue
        changed = study.with_changes(changes)
        if changed.subtree_hash(*SITE) in known:
            continue
        known.add(changed.subtree_hash(*SITE))
        try:
            site_climate(changed, study.folder or ".")
        except StudyError as fault:
            raise StudyError(f"whatifs.{name}: {fault}") from None
