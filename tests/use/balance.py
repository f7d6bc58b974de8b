"""An energy balance that shares no code with the package: monthly sun on a tilted plane, and a store of energy.

Formulas are quoted from memory of Duffie & Beckman, Solar Engineering of Thermal Processes: the declination of
Cooper (1969), the irradiation outside the atmosphere, Klein's (1977) monthly mean of Liu and Jordan's isotropic sky,
and Page's (1961) diffuse share.
"""

import numpy as np

MID_DAYS = np.array(
    [17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344]
)  # Klein's mean day of each month
SOLAR_CONSTANT = 1.361  # kW/m2
ALBEDO = 0.2


def tilted(ghi, latitude, tilt):
    """Mean daily irradiation on a plane that faces the equator, January to December.

    Parameters
    ----------
    ghi : sequence of float
        On the horizontal, January to December [kWh/m2/day].
    latitude, tilt : float
        [degrees]; south negative.

    Returns
    -------
    float array [12]
        [kWh/m2/day].
    """
    ghi, slope = np.asarray(ghi, float), np.radians(tilt)
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + MID_DAYS) / 365) * np.sign(latitude)
    phi = np.radians(abs(latitude))  # the south is the north half a year later
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination), -1, 1))
    on_plane = np.minimum(sunset, np.arccos(np.clip(-np.tan(phi - slope) * np.tan(declination), -1, 1)))

    def over_day(angle, hour):
        return np.cos(angle) * np.cos(declination) * np.sin(hour) + hour * np.sin(angle) * np.sin(declination)

    distance = 1 + 0.033 * np.cos(2 * np.pi * MID_DAYS / 365)
    outside = 24 / np.pi * SOLAR_CONSTANT * distance * over_day(phi, sunset)
    diffuse = 1.0 - 1.13 * ghi / outside
    beam = over_day(phi - slope, on_plane) / over_day(phi, sunset)
    sky, ground = (1 + np.cos(slope)) / 2, (1 - np.cos(slope)) / 2
    return ghi * ((1 - diffuse) * beam + diffuse * sky + ALBEDO * ground)


def hours_short_by_tier(offered, ordinary, critical, store_wh, efficiency, shed, resume):
    """Hours in which a plain store cannot carry ordinary loads, and critical ones for which the others are shed.

    Parameters
    ----------
    offered, ordinary, critical : float arrays [members, hours]
        What the sources could give, and what is asked for by either tier [W].
    store_wh, efficiency
        As `hours_short` takes them.
    shed, resume : float
        Shares of `store_wh` below which the ordinary loads are off, and above which they come back [-].

    Returns
    -------
    ordinary, critical : int arrays [members]
    """
    held, on = np.full(len(critical), float(store_wh)), np.ones(len(critical), bool)
    lost, dark = np.zeros(len(critical), int), np.zeros(len(critical), int)
    for sun, first, last in zip(offered.T, ordinary.T, critical.T, strict=True):
        on = (held > resume * store_wh) | (on & (held >= shed * store_wh))
        net = sun - last - np.where(on, first, 0.0)
        held = held + np.where(net > 0, efficiency * net, net)
        lost += (~on & (first > 0)) | (held < 0)
        dark += held < 0
        held = np.clip(held, 0, store_wh)
    return lost, dark


def hours_short(offered, load, store_wh, efficiency, may_charge=True):
    """Hours in which a plain store of energy cannot carry the load; it starts full.

    Parameters
    ----------
    offered, load : float arrays [members, hours]
        What the sources could give, and what is asked for [W].
    store_wh : float
        Usable energy [Wh].
    efficiency : float
        Energy out over energy in [-].
    may_charge : bool or bool array [members, hours]

    Returns
    -------
    int array [members]
    """
    offered, load = np.asarray(offered, float), np.asarray(load, float)
    may_charge = np.broadcast_to(may_charge, load.shape)
    held, short = np.full(len(load), float(store_wh)), np.zeros(len(load), int)
    for net, charges in zip((offered - load).T, may_charge.T, strict=True):
        held = held + np.where(net > 0, efficiency * net * charges, net)
        short += held < 0
        held = np.clip(held, 0, store_wh)
    return short
