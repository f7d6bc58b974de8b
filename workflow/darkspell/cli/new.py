"""Write a new study file for a place: asked for first, and the comments fitted to it."""

import sys

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError
from darkspell.study.template import Means, write_study

LATITUDE, LONGITUDE = 47.0, 8.0  # where nobody answers

NOBODY_ASKED = (
    f"The place is not known, and nobody can be asked: without {{options}} the study is for {LATITUDE:g} N, "
    f"{LONGITUDE:g} E. Set them, or site.latitude_deg and site.longitude_deg in the file."
)


def new(path, chemistry, latitude=None, longitude=None):
    """Write a commented study file, with the built-in atlas's monthly means of the place in its comments.

    Parameters
    ----------
    path, chemistry : str
    latitude, longitude : float, optional
        [degrees]; asked for on a terminal, else 47 north and 8 east.

    Returns
    -------
    int
        Exit code 0.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the file exists, cannot be written, or would hold no valid study.
    """
    unknown = [
        f"--{name}" for name, value in (("latitude", latitude), ("longitude", longitude)) if value is None
    ]
    latitude = _asked("Latitude of the site in degrees, north positive", LATITUDE, latitude)
    longitude = _asked("Longitude in degrees, east positive", LONGITUDE, longitude)
    path = write_study(path, chemistry, latitude, longitude, means_of)
    if unknown and not sys.stdin.isatty():
        print(NOBODY_ASKED.format(options=" and ".join(unknown)), file=sys.stderr)
    print(f"{path} is written. Put your place and appliances in, then: darkspell check {path}")
    return 0


def means_of(study):
    """Monthly means of a study's place, rounded for a comment.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.study.template.Means
    """
    climate = site_climate(study)
    ghi = climate.monthly_ghi(study.site.latitude_deg)
    return Means([round(float(x), 1) for x in ghi], [round(float(x)) for x in climate.temp_air_mean])


def _asked(question, default, given):
    """A number from the command line, else from the terminal, else the default."""
    if given is not None or not sys.stdin.isatty():
        return default if given is None else given
    try:
        answer = input(f"{question} [{default:g}]: ").strip().replace("\u2212", "-")
    except EOFError:  # Ctrl-D
        raise StudyError(
            "no place was given, and no file is written; give --latitude and --longitude"
        ) from None
    try:
        return float(answer.replace(",", ".")) if answer else default
    except ValueError:
        raise StudyError(f"{answer}: is no number; give degrees, such as {default:g}") from None
