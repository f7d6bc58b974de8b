"""Measured years: read, checked, reported on, and cut into years that can be run as they are."""

from darkspell.record.model import Fault, Record

__all__ = ["Fault", "Record", "record_of"]


def record_of(study, base_dir="."):
    """The measured record that a study names.

    Parameters
    ----------
    study : darkspell.study.Study
        With `climate.source` measured or satellite.
    base_dir : path
        Folder that its files are relative to.

    Returns
    -------
    Record

    Raises
    ------
    darkspell.errors.StudyError
        If there is nothing to read, or what is there cannot be and may not be repaired.
    """
    if study.climate.source == "satellite":
        from darkspell.record.satellite import downloaded

        return downloaded(study.site, study.climate.satellite, base_dir)
    from darkspell.record.measured import measured

    return measured(study.site, study.climate, base_dir)
