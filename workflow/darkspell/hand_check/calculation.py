"""The hand calculation of one study, put together."""

from dataclasses import dataclass

import numpy as np

from darkspell.chargers.expected_charge import chargers_ah
from darkspell.climate.itinerary import parts_of
from darkspell.core.calendar import MONTH_NAMES, Calendar
from darkspell.core.constants import constant
from darkspell.hand_check import formulas as hand
from darkspell.hand_check.mean_day_irradiance import STEP_H, mean_days, plane_irradiance
from darkspell.loads.budget import appliances_from, budget_of, yearly_spread
from darkspell.pv.dc_power import wind_at_modules
from darkspell.study.itinerary import places
from darkspell.weather.snow import expected_days
from darkspell.weather.surfaces import planes_of

STANDING = "standing draw"


@dataclass(frozen=True)
class HandCheck:
    """What the hand calculation says of a study. Arrays by month are [12], January first.

    Parameters
    ----------
    load_wh : dict of str to array
        Energy of each appliance, of the ``standing draw`` and of a ``bank heater`` [Wh/day].
    load_spread_wh : float
        Standard deviation of a drawn year's energy, from day to day alone [Wh].
    plane_sun : dict of str to array
        Irradiation in the plane of each array [kWh/m2/day].
    sun_hours : array
        The same, the arrays weighted by their power [kWh/m2/day].
    temp_air, temp_bank : array
        Monthly means [degC].
    snow_days : float
        Expected days with snowfall, estimated where the study does not give them [days/year].
    array_ah, load_ah : array
        Charge of the array and of all loads [Ah/day].
    charger_ah : dict of str to array
        Charge on offer from each charger other than the arrays [Ah/day].
    reserve_plan, reserve_limit : array
        Days of battery reserve to the planning depth and to the depth limit [days].
    refill : array
        Days that bring a bank at its depth limit back to full [days]; infinite where nothing is left over.
    month : int
        Design month, 0-11: the lowest array-to-load ratio.
    storage_days : tuple of float
        Advisory days of storage for 95 and 99 % availability [days].
    bank_ah : tuple of float
        Rated capacity by hand for those days [Ah].
    voltages : tuple of float
        Bank voltages at which ampere-hours are counted, discharging and charging [V].
    efficiency : float
        Ampere-hours out of the bank over ampere-hours in [-].
    """

    load_wh: dict
    load_spread_wh: float
    plane_sun: dict
    sun_hours: np.ndarray
    temp_air: np.ndarray
    temp_bank: np.ndarray
    snow_days: float
    array_ah: np.ndarray
    load_ah: np.ndarray
    charger_ah: dict
    reserve_plan: np.ndarray
    reserve_limit: np.ndarray
    refill: np.ndarray
    month: int
    storage_days: tuple
    bank_ah: tuple
    voltages: tuple
    efficiency: float
    month_order: np.ndarray

    @property
    def ratio(self):
        """Array-to-load ratio by month [-]."""
        return self.array_ah / self.load_ah

    @property
    def month_name(self):
        """Name of the design month."""
        return MONTH_NAMES[self.month]


def hand_check(study, climate):
    """Work a study out by hand.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
        Of its site.

    Returns
    -------
    HandCheck
    """
    bank, site = study.bank, study.site
    planes = _planes(study, climate)
    sun = [plane.sum(axis=1) * STEP_H / 1000.0 for plane in planes]
    voltages = hand.working_voltages(study)
    appliances = appliances_from(study)
    load_wh = budget_of(appliances, climate)
    load_wh[STANDING] = np.full(12, study.self_consumption_w * 24.0)
    temp_bank, heat = hand.bank_temperature(bank, climate.temp_air_mean)
    if bank.heater:
        load_wh["bank heater"] = heat * 24.0
    load_ah = sum(load_wh.values()) / voltages[0]
    wind = wind_at_modules(site, climate)
    array_ah = hand.day_ah(hand.charge_current(study, planes, climate.temp_air_mean, wind, voltages[1]))
    share = np.array([array.power_wp for array in study.arrays.values()]) / study.array_wp
    sun_hours = share @ np.array(sun)
    return HandCheck(
        load_wh=load_wh,
        load_spread_wh=yearly_spread(appliances, climate),
        plane_sun=dict(zip(study.arrays, sun, strict=True)),
        sun_hours=sun_hours,
        temp_air=np.asarray(climate.temp_air_mean),
        temp_bank=temp_bank,
        snow_days=float(np.mean([expected_days(part, study.climate.wet_days) for part in parts_of(climate)])),
        array_ah=array_ah,
        load_ah=load_ah,
        charger_ah=chargers_ah(study, voltages[1]),
        voltages=voltages,
        month_order=Calendar(site.start_month).month_order,
        **_storage(bank, temp_bank, array_ah, load_ah, sun_hours),
    )


def _planes(study, climate):
    """Irradiance in each plane through the mean days [W/m2]; an itinerary's places weighed by their days."""
    total = [0.0] * len(study.arrays)
    shares = getattr(climate, "shares", np.ones((12, 1)))
    for place, one, share in zip(places(study), parts_of(climate), shares.T, strict=True):
        days = mean_days(place.site.latitude_deg, one.monthly_kt())
        for row, plane in enumerate(planes_of(study)):
            light = plane_irradiance(days, plane, place.site.horizon_deg, study.site.albedo)
            total[row] = total[row] + share[:, None] * light
    return total


def _storage(bank, temp_bank, array_ah, load_ah, sun_hours):
    """What follows for the bank, as keywords of `HandCheck`."""
    chemistry = bank.chemistry
    present = bank.capacity_ah * bank.state_of_health_pct / 100.0
    plan, limit = bank.planning_depth_pct / 100.0, bank.depth_limit_pct / 100.0
    daily = constant("hand_check", chemistry, "daily_depth_pct") / 100.0
    efficiency = constant("bank", chemistry, "coulombic_efficiency_pct") / 100.0
    cold = hand.cold_share(chemistry, temp_bank)
    month = int(np.argmin(array_ah / load_ah))
    wanted = hand.storage_days(float(sun_hours[month]))
    return {
        "reserve_plan": hand.reserve_days(present, plan, cold, load_ah),
        "reserve_limit": hand.reserve_days(present, limit, cold, load_ah),
        "refill": hand.refill_days(present * limit, array_ah, load_ah, efficiency),
        "month": month,
        "storage_days": wanted,
        "bank_ah": tuple(
            hand.bank_by_hand(float(load_ah[month]), days, plan, daily, float(cold[month])) for days in wanted
        ),
        "efficiency": efficiency,
    }
