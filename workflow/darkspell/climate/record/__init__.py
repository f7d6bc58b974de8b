"""Measured series: reading, quality checks, fault report, and division into study years."""

from darkspell.climate.record.record import Fault, Record

__all__ = ["Fault", "Record", "record_of"]


def record_of(study, base_dir="."):
    """The measured record that a study names.

    Parameters
    ----------
    study : darkspell.study.Study
        With `climate.source` measured or satellite.
    base_dir : path
        Folder to which file names are relative.

    Returns
    -------
    Record

    Raises
    ------
    darkspell.core.errors.StudyError
        If there is nothing to read, or values are impossible and repair is not allowed.
    """
    if study.climate.source == "satellite":
        from darkspell.climate.record.satellite import downloaded

        return downloaded(study.site, study.climate.satellite, base_dir)
    from darkspell.climate.record.reader import measured

    return measured(study.site, study.climate, base_dir)
