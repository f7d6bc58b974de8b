"""Given monthly means held against the built-in atlas: wrong places, units and orders of months show there."""

import numpy as np

from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.mean_clearness import mean_clearness
from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.constants import constant

BRIGHT = 0.1  # of the year's mean extraterrestrial irradiation; darker months have no say


def differences(site, kt, what, measured=True):
    """What is remarkable about monthly means, in sentences.

    Parameters
    ----------
    site : object
        With `latitude_deg` and `longitude_deg`.
    kt : float array [12]
        Mean clearness by month [-].
    what : str
        What the means are, as the first words of a sentence in the plural: "The monthly values".
    measured : bool or bool array [12]
        Months that have a mean of their own.

    Returns
    -------
    list of str
    """
    extra = monthly_extraterrestrial(site.latitude_deg)
    used = np.flatnonzero(measured & (extra >= BRIGHT * extra.mean()))
    atlas = mean_clearness(site.latitude_deg, site.longitude_deg).kt
    ratio = (kt * extra)[used].sum() / (atlas * extra)[used].sum()
    found = []
    if abs(np.log(ratio)) > np.log(constant("climate", "year_from_atlas")):
        found.append(
            f"{what} give {100 * (ratio - 1):+.0f} % on the year against the built-in atlas: "
            "check unit, order of the months and place."
        )
    apart = np.log((kt / atlas)[used] / ratio)
    if np.sqrt((apart**2).mean()) > constant("climate", "seasons_from_atlas"):
        most = int(np.abs(apart).argmax())
        found.append(
            f"{what} have other seasons than the built-in atlas, {MONTH_NAMES[used[most]]} "
            f"{100 * (np.exp(apart[most]) - 1):+.0f} % beyond the year: check latitude, longitude and dates."
        )
    return found
