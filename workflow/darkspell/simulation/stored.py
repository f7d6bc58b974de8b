"""A study made ready to run, with its site taken from the stored ones."""

from darkspell.simulation.system import build_system
from darkspell.weather.stored_sites import load_site, site_key


def load_system(study, sites):
    """The system of a study, at one of the stored sites.

    Parameters
    ----------
    study : darkspell.study.Study
    sites : path-like
        File of the stored sites; the study's must be among them.

    Returns
    -------
    darkspell.simulation.system.System
    """
    return build_system(study, *load_site(sites, site_key(study)))
