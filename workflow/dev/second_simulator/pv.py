"""Direct-current power of the modules by minute: Perez sky, ASHRAE reflection, an efficiency model by ADR."""

import numpy as np
from pvlib import iam, irradiance, pvarray, temperature

# Ordinary crystalline module; k_a taken as 1 so that the rating is met at standard conditions (pvlib's example
# of the ADR model gives such values for the other four).
ADR = dict(k_a=1.0, k_d=-5.5, tc_d=0.019, k_rs=0.07, k_rsh=0.26)


def array_power(system, sky, rng):
    """Power of all modules at their maximum power point, all losses included.

    Parameters
    ----------
    system : dev.second_simulator.system.PlainSystem
    sky : pandas.DataFrame
        Of `dev.second_simulator.sky.weather`.
    rng : numpy.random.Generator
        For the wind.

    Returns
    -------
    float64 array [minutes]
        [W].
    """
    wind = np.repeat(rng.weibull(2.0, len(sky) // 60 + 1) * 2.2, 60)[: len(sky)]
    total = np.zeros(len(sky))
    for surface in system.surfaces:
        args = surface.tilt, surface.azimuth
        angle = irradiance.aoi(*args, sky["zenith"], sky["azimuth"])
        mass = np.clip(1.0 / np.maximum(np.cos(np.radians(sky["zenith"])), 0.03), 1.0, 30.0)
        diffuse = irradiance.perez(
            *args, sky["dhi"], sky["dni"], sky["extra"], sky["zenith"], sky["azimuth"], mass
        ).fillna(0.0)
        beam = sky["dni"] * np.maximum(np.cos(np.radians(angle)), 0.0)
        ground = irradiance.get_ground_diffuse(surface.tilt, sky["ghi"], albedo=system.albedo)
        front = beam * iam.ashrae(angle).fillna(0.0) + 0.95 * (diffuse + ground)
        front = np.clip(np.nan_to_num(front.to_numpy()), 0.0, 1500.0)
        cell = temperature.faiman(front, sky["temp_air"].to_numpy(), wind)
        unit = float(pvarray.pvefficiency_adr(1000.0, 25.0, **ADR))
        efficiency = np.nan_to_num(pvarray.pvefficiency_adr(np.maximum(front, 1.0), cell, **ADR)) / unit
        total += surface.watts * (1.0 - surface.loss) * front / 1000.0 * np.maximum(efficiency, 0.0)
    return total


def under_snow(system, sky, rng):
    """Share of the array's power that snow leaves, by minute: a simple cover that melts above 2 degC or in sun.

    Parameters
    ----------
    system : simulated system
    sky : pandas.DataFrame
        By minute: ``temp_air`` [degC], ``ghi`` [W/m2].
    rng : numpy.random.Generator
    """
    days = len(sky) // 1440
    air = sky["temp_air"].to_numpy().reshape(days, 1440).mean(1)
    sun = sky["ghi"].to_numpy().reshape(days, 1440).mean(1) * 0.024
    cover, left = 0.0, np.ones(days)
    steep = min(max(np.mean([s.tilt for s in system.surfaces]) / 60.0, 0.0), 1.0)
    for day in range(days):
        if air[day] < 1.0 and rng.random() < 0.18:
            cover = 1.0 - 0.5 * steep * rng.random()
        cover *= np.clip(1.0 - 0.25 * max(air[day], 0.0) - 0.12 * sun[day] * (1.0 + steep), 0.0, 1.0)
        left[day] = 1.0 - cover
    return np.repeat(left, 1440)
