"""What can be known of a study before its years are simulated: files, climates, whole pieces, pictures."""

from pathlib import Path

from darkspell.climate import site_climate
from darkspell.climate.record import record_of
from darkspell.climate.record.study_years import study_years
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.loads.measured_series import measured_series
from darkspell.report.document.custom_text import text_blocks
from darkspell.report.document.images import logo_fault
from darkspell.report.figures.style import style_fault
from darkspell.study.files import missing_weather, proposal_files
from darkspell.study.thousands import doubtful_numbers

SITE = ("site", "climate", "itinerary")
SERIES = ("measured_loads", "chargers")


def preflight(study):
    """Refuse what a run would refuse after minutes.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of str
        Warnings: a logo or a figure style that cannot be used, in whose place the run takes its plain default;
        numbers that may have a mark between thousands; missing weather of a log.

    Raises
    ------
    darkspell.core.errors.StudyError
        If a climate is not known, no measured year can be replayed, a file of hours or of text cannot be used, or
        no whole pieces of the catalogue fit the system.
    """
    _climates(study)
    _measured_years(study)
    _series(study)
    if study.sizing.catalogue:
        from darkspell.design.catalogue import ladders  # loads the compiler, half a second

        ladders(study)
    files = proposal_files(study)
    for key in files:
        if key == "terms" or key.startswith("texts."):
            text_blocks(files, key)
    faults = {"logo": logo_fault(files.get("logo")), "figure_style": style_fault(files.get("figure_style"))}
    pictures = [f"document.{key}: {fault}; it is left out" for key, fault in faults.items() if fault]
    return [*pictures, *_doubtful(study), *_log_weather(study)]


def _doubtful(study):
    """Numbers of the study's files that may have a mark between thousands; list of str."""
    texts = [Path(file).read_text(encoding="utf-8-sig") for file in study.files]
    return list(dict.fromkeys(warning for text in texts for warning in doubtful_numbers(text)))


def _log_weather(study):
    """Whether the weather of a log is missing, which only `darkspell compare` needs; list of str."""
    name = study.log.weather_file
    if name is None or Path(study.folder or ".", name).is_file():
        return []
    return [f"{missing_weather(study)}. darkspell compare needs it; all else does not"]


def _climates(study):
    """Climates of the study and of what-ifs that change place or weather; each place once."""
    if study.climate.source != "satellite":  # its years are downloaded by the run
        site_climate(study, study.folder or ".")
    for name, changed in _changed(study, SITE):
        try:
            site_climate(changed, study.folder or ".")
        except StudyError as fault:
            raise StudyError(f"whatifs.{name}: {fault}") from None


def _measured_years(study):
    """Years of the study's own record, which the run replays; a series still to be downloaded is not asked for."""
    if study.replays and study.climate.source == "measured":
        record = record_of(study, study.folder or ".")
        study_years(record, Calendar(study.site.start_month), study.climate.fill_days, study.engine.seed)


def _series(study):
    """Hours of measured loads and of turbines, of the study and of its what-ifs."""
    _read_series(study)
    for name, changed in _changed(study, SERIES):
        try:
            _read_series(changed)
        except StudyError as fault:
            raise StudyError(f"whatifs.{name}: {fault}") from None


def _read_series(study):
    for name, row in study.measured_loads.items():
        measured_series(study, f"measured_loads.{name}.file", row.file)
    if any(row.kind == "turbine" for row in study.chargers.values()):
        from darkspell.chargers.expected_charge import chargers_from  # loads the compiler too

        chargers_from(study, Calendar(study.site.start_month), float(study.system.nominal_voltage_v))


def _changed(study, sections):
    """What-ifs that change some sections; each state of them once, that of the study left out."""
    known = {study.subtree_hash(*sections)}
    for name, changes in study.whatifs.items():
        if not any(str(key).split(".")[0] in sections for key in changes):
            continue
        changed = study.with_changes(changes)
        state = changed.subtree_hash(*sections)
        if state not in known:
            known.add(state)
            yield name, changed
