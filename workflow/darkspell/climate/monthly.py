"""Climate from twelve monthly values, with the day-to-day variability of the location's climate."""

import numpy as np

from darkspell.climate.against_atlas import differences
from darkspell.climate.atlas import from_atlas
from darkspell.climate.atlas_grid import atlas_point
from darkspell.climate.clear_sky import clearness_ceiling
from darkspell.climate.default_temperature import grid_range, grid_temperature, terrain
from darkspell.climate.distribution import quantiles_without_atlas, typical_quantiles
from darkspell.climate.extraterrestrial import monthly_extraterrestrial
from darkspell.climate.few_years import combined_means
from darkspell.climate.persistence import typical_persistence
from darkspell.climate.site_climate import PROBABILITIES, SiteClimate
from darkspell.climate.temperature_defaults import daily_sd
from darkspell.climate.uncertainty import source_uncertainty
from darkspell.core.calendar import MONTH_LENGTHS, MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.core.errors import StudyError

REPORTED = 3
SUPPOSITIONS = (
    (lambda ghi: ghi / 3.6, "MJ/m2/day (divide by 3.6)"),
    (lambda ghi: ghi / MONTH_LENGTHS, "kWh/m2 a month (divide by the days of the month)"),
    (lambda ghi: ghi * 0.024, "W/m2, mean of day and night (multiply by 0.024)"),
    (lambda ghi: np.roll(ghi, 6), "the other hemisphere (check the sign of site.latitude_deg)"),
)


def from_monthly(site, climate):
    """Climate of a site from twelve monthly values of irradiation or clearness.

    Parameters
    ----------
    site : object
        With `latitude_deg`, `longitude_deg` and `altitude_m`.
    climate : object
        With one of `ghi_kwh_m2_day`, `peak_sun_hours`, `clearness_index` and `sunshine_hours` (the others None), and
        `temp_air_c` or None; January first. `years_of_means`, if it has it: years behind the values.

    Returns
    -------
    darkspell.climate.SiteClimate
        Its monthly means are the values given.

    Raises
    ------
    StudyError
        If a value is physically impossible.
    """
    notes = []
    kt = monthly_clearness(site.latitude_deg, climate, notes)
    temp_air = _temperature(site, climate)
    notes += differences(site, kt, "The monthly values")
    years, combined = getattr(climate, "years_of_means", None), None
    if years is not None:
        combined = combined_means(kt, years * MONTH_LENGTHS.astype(float), from_atlas(site))
        kt = combined.kt
    ceiling = clearness_ceiling(site, temp_air, grid_range(site, kt), kt)
    point = atlas_point(site.latitude_deg, site.longitude_deg)
    if point is None:
        shape = quantiles_without_atlas(kt, temp_air, ceiling)
        notes.append(
            "No land cell of the atlas is near: the mix of clear and dull days follows a published curve, its width "
            "from monthly means and air temperature, with a larger uncertainty."
        )
    else:
        shape = typical_quantiles(point.kt_quantiles, kt, ceiling)
    return SiteClimate(
        probabilities=PROBABILITIES,
        kt_quantiles=shape,
        kt_ceiling=ceiling,
        temp_air_mean=temp_air,
        temp_air_range=grid_range(site, kt),
        temp_air_sd=daily_sd(temp_air),
        **terrain(site, temp_air),
        **typical_persistence(site.latitude_deg, kt),
        **source_uncertainty("monthly", site.latitude_deg, years, cell=point is not None, combined=combined),
        source="twelve monthly means of the study; how much days differ within a month is from "
        + ("a published curve" if point is None else "the built-in atlas"),
        notes=notes,
    )


def monthly_clearness(latitude, climate, notes):
    """Monthly mean clearness from the given values, checked.

    In the polar night, where clearness is undefined, it is the mean of the other months.

    Parameters
    ----------
    latitude : float
        [degrees].
    climate : object
        As `from_monthly` takes it.
    notes : list of str
        Remarks are appended.

    Returns
    -------
    float64 array [12]
        [-].

    Raises
    ------
    StudyError
        If a value is physically impossible.
    """
    extra = monthly_extraterrestrial(latitude)
    lit = extra >= constant("climate", "polar_night")
    if getattr(climate, "sunshine_hours", None) is not None:
        key, unit, given = "sunshine_hours", "h/day", np.array(climate.sunshine_hours, float)
        kt = _clearness_of_sunshine(latitude, climate, given, lit)
        notes.append(
            "Irradiation follows from hours of bright sunshine (FAO 56, equation 35), by "
            f"{climate.angstrom_a:g} + {climate.angstrom_b:g} x their share of the day. Its own error, about a tenth "
            "where these two are not fitted at the place, is not in the intervals."
        )
    elif climate.clearness_index is not None:
        key, unit, given = "clearness_index", "-", np.array(climate.clearness_index, float)
        kt = given
    else:
        key, unit = "ghi_kwh_m2_day", "kWh/m2/day"
        if climate.ghi_kwh_m2_day is None:  # an hour of 1000 W/m2 is 1 kWh/m2
            key, unit = "peak_sun_hours", "h/day"
        given = np.array(getattr(climate, key), float)
        kt = np.divide(given, extra, out=np.zeros(12), where=lit)
    faults = [_fault(key, unit, given, kt, extra, month) for month in np.flatnonzero(lit & ~possible(kt))]
    if faults:
        more = [f"and {len(faults) - REPORTED} more months"] if len(faults) > REPORTED else []
        raise StudyError("\n".join([*faults[:REPORTED], *more, _cure(given, extra, lit, unit)]))
    if not lit.all():
        months = ", ".join(MONTH_NAMES[month] for month in np.flatnonzero(~lit))
        notes.append(f"Polar night: almost no sun outside the atmosphere in {months}; values there unused.")
        kt = np.where(lit, kt, kt[lit].mean())
    return kt


def day_length(latitude):
    """Mean hours from sunrise to sunset by month, FAO 56, equations 24, 25 and 34.

    Parameters
    ----------
    latitude : float
        [degrees].

    Returns
    -------
    float64 array [12]
        [h], January first.
    """
    day = np.arange(1, MONTH_LENGTHS.sum() + 1)
    declination = 0.409 * np.sin(2.0 * np.pi * day / 365.0 - 1.39)
    cosine = np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0)
    hours = 24.0 / np.pi * np.arccos(cosine)
    return np.bincount(np.repeat(np.arange(12), MONTH_LENGTHS), hours) / MONTH_LENGTHS


def _clearness_of_sunshine(latitude, climate, given, lit):
    """Clearness by month from hours of sunshine a day [-], FAO 56, equation 35."""
    longest = day_length(latitude)
    for month in np.flatnonzero(lit & (given > longest + 0.5)):
        text = f"climate.sunshine_hours: {MONTH_NAMES[month]} is {given[month]:g} h/day, and its days have"
        raise StudyError(f"{text} {longest[month]:.1f} h; check the unit and site.latitude_deg")
    share = np.divide(given, longest, out=np.zeros(12), where=longest > 0.0)
    return climate.angstrom_a + climate.angstrom_b * np.minimum(share, 1.0)


def possible(kt):
    """Whether a monthly mean clearness is physically possible.

    Parameters
    ----------
    kt : float array [...]
        [-].

    Returns
    -------
    bool array [...]
    """
    low, high = constant("climate", "monthly_kt_bounds")
    return (np.asarray(kt) >= low) & (np.asarray(kt) <= high)


def _fault(key, unit, given, kt, extra, month):
    low, high = constant("climate", "monthly_kt_bounds")
    text = f"climate.{key}: {MONTH_NAMES[month]} is {given[month]:g} {unit}"
    if unit != "-":
        text += f", {kt[month]:.2f} of the {extra[month]:.2f} {unit} outside the atmosphere"
    return f"{text}; possible values are {low:g} to {high:g}"


def _cure(given, extra, lit, unit):
    if unit == "-":
        return "clearness_index is a fraction, not a percentage: irradiation over that outside the atmosphere"
    fitting = [
        words
        for convert, words in SUPPOSITIONS
        if possible(np.divide(convert(given), extra, out=np.zeros(12), where=lit))[lit].all()
    ]
    if fitting:
        return f"The twelve values look like {', or like '.join(fitting)}"
    return "Give the mean of each month in kWh/m2/day, January first, on the flat; check site.latitude_deg"


def _temperature(site, climate):
    if climate.temp_air_c is not None:
        return np.array(climate.temp_air_c, float)
    return grid_temperature(site)
