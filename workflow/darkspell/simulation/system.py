"""From a validated study to the numbers that the rooms take; no arithmetic of its own."""

from dataclasses import dataclass

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.bank.heater import warmed
from darkspell.bank.optional_features import extras_of
from darkspell.bank.step import Controls
from darkspell.chargers.expected_charge import chargers_from
from darkspell.chargers.hourly_power import aux_block
from darkspell.chemistry.numbers import ChemistryNumbers, chemistry_numbers, reference_capacity
from darkspell.climate import SiteClimate
from darkspell.core.batches import no_power
from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.loads.budget import Appliance, appliances_from
from darkspell.loads.hourly_loads import load_block
from darkspell.pv.dc_power import ArrayNumbers, array_numbers, pwm_amps_per_watt
from darkspell.pv.ratings import charging_voltage
from darkspell.simulation.input_series import BankPlace, TraceBlock, fill_hours, stochastic_days
from darkspell.study.itinerary import place_by_date, places
from darkspell.weather.snow import Snow, scaled, snow_of
from darkspell.weather.solar_geometry import SiteSky, composed, site_sky
from darkspell.weather.surfaces import planes_of

NO_LIMIT = np.float32(1e6)
YEARS_OF_SNOW = 64  # to scale it by


@dataclass(frozen=True)
class Assembly:
    """A study's parts, ready to run.

    `site` is what needs pvlib and the climate's files: made once, stored, and shared by all what-ifs that
    leave place and planes alone. `measured` (`darkspell.weather.measured_years.MeasuredDays`) takes the place
    of drawn weather.
    """

    study: object
    calendar: Calendar
    climate: SiteClimate
    sky: SiteSky
    arrays: ArrayNumbers
    appliances: list[Appliance]
    chargers: dict[str, Appliance]
    chemistry: ChemistryNumbers
    place: BankPlace
    members: np.ndarray
    parameter_draw: np.ndarray
    measured: object = None
    snow: Snow | None = None

    @property
    def controls(self):
        """Thresholds that switch loads and chargers, as the bank step takes them."""
        d = self.study.deferrable
        levels = d.shed_below_soc_pct / 100.0, d.resume_above_soc_pct / 100.0
        return Controls(*map(np.float32, levels), extras_of(self.study))

    @property
    def capacity(self):
        """Present capacity of the bank at the reference rate and temperature [Ah]."""
        return present_capacity(self.study, self.study.bank.capacity_ah)

    def days(self, members, parameter_draw):
        """Days of some members, drawn or measured; `darkspell.simulation.input_series.Days`."""
        if self.measured is not None:
            return self.measured.of(members)
        return stochastic_days(self.climate, self.calendar, members, parameter_draw, self.study.engine.seed)

    def weather(self, members, parameter_draw):
        """Array output, temperatures and clearness; see `darkspell.simulation.input_series.fill_hours`."""
        study, seed = self.study, self.study.engine.seed
        system = self.arrays, pwm_amps_per_watt(study.system.nominal_voltage_v), self.place, study.site.albedo
        days = self.days(members, parameter_draw)
        mpp, pwm, *rest = fill_hours(self.sky, days, *system, members, seed, self.snow)
        limit = study.controller.current_limit_a
        if study.controller.kind == "pwm" and limit is not None:
            np.minimum(pwm, np.float32(limit), out=pwm)
        return mpp, pwm, *rest

    def traces(self, members, parameter_draw):
        """Traces of some members; see `darkspell.simulation.input_series`."""
        study = self.study
        mpp, pwm, temp_bank, temp_air, kt = self.weather(members, parameter_draw)
        seed, doubt = study.engine.seed, study.load_uncertainty_pct
        *loads, always = load_block(
            self.appliances, self.calendar, members, parameter_draw, seed, doubt, temp_air=temp_air
        )
        aux = aux_block(self.chargers, self.calendar, members, parameter_draw, seed)
        if study.bank.cutoff_delay_s > constant("bank", "common", "peak_lasts_s"):
            loads[2] = loads[0] + loads[1] + always  # the cut-off outlasts any peak
        none = no_power(len(members))
        aux = none if aux is None else aux
        temp_bank, heat = warmed(study.bank.heater, temp_bank)
        if heat is None:
            return TraceBlock(mpp, pwm, temp_bank, temp_air, *loads, kt, aux, always, none)
        essential, deferrable, peak, past_monitor = loads
        return TraceBlock(
            mpp, pwm, temp_bank, temp_air, essential, deferrable, peak + heat, past_monitor, kt, aux,
            always + heat, heat,
        )  # fmt: skip

    def bank(self, traces, members):
        """Years of the study's own design under its members' traces; `darkspell.bank.bank_results.BankBlock`."""
        return run_block(traces.for_bank(), self.scales(), self.controls, self.chemistry)

    def scales(self, array_wp=None, bank_ah=None):
        """Factors per Ah of one design, as `darkspell.bank.run_years.run_members` takes them.

        The controller grows with the array.
        """
        study, controller = self.study, self.study.controller
        share = 1.0 if array_wp is None else array_wp / study.array_wp
        ah = self.capacity if bank_ah is None else present_capacity(study, bank_ah)
        pwm = controller.kind == "pwm"
        limit = None if any(a.own_controller for a in study.arrays.values()) else controller.current_limit_a
        return tuple(
            np.float32(value)
            for value in (
                share * controller.efficiency_pct / 100.0 / ah,
                share / ah if pwm else 0.0,
                0.0 if pwm else NO_LIMIT if limit is None else limit * share / ah,
                1.0 / ah,
                study.self_consumption_w / ah,
                study.system.cable_resistance_mohm * 1e-3 * ah,
            )
        )


def assemble(study, climate, sky):
    """Put a study's parts together.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    sky : darkspell.weather.solar_geometry.SiteSky

    Returns
    -------
    Assembly
    """
    bank, members = study.bank, np.arange(study.engine.members)
    calendar = Calendar(study.site.start_month)
    return Assembly(
        study=study,
        calendar=calendar,
        climate=climate,
        sky=sky,
        arrays=array_numbers(
            study.arrays.values(),
            study.controller,
            charging_voltage(study),
            pwm_amps_per_watt(study.system.nominal_voltage_v),
        ),
        appliances=appliances_from(study),
        chargers=chargers_from(study, calendar, charging_voltage(study)),
        chemistry=chemistry_numbers(
            bank.chemistry,
            study.system.nominal_voltage_v,
            cut_off=bank.cutoff_voltage_v,
            reconnect=bank.reconnect_soc_pct / 100.0,
            depth_limit=bank.depth_limit_pct / 100.0,
            state_of_health=bank.state_of_health_pct / 100.0,
        ),
        place=bank_place(bank),
        members=members,
        parameter_draw=members % study.engine.parameter_draws,
        snow=snow_on(study, climate, calendar),
    )


def snow_on(study, climate, calendar):
    """Snow on a study's arrays; None where none can fall or lie, see `darkspell.weather.snow`."""
    wanted, habits = study.climate.snow_days, [array.snow for array in study.arrays.values()]
    snow = None if wanted == 0.0 else snow_of(planes_of(study), habits, climate, calendar)
    if snow is None or wanted is None:
        return snow
    years = np.arange(YEARS_OF_SNOW)
    return scaled(snow, stochastic_days(climate, calendar, years, years, study.engine.seed), wanted)


def bank_place(bank):
    """Thermal surroundings of a study's bank."""
    lag = constant("bank", "common", "thermal_lag_h")
    if bank.location == "indoors":
        return BankPlace(lag, bank.indoor_min_c, bank.indoor_max_c)
    return BankPlace(lag)


def present_capacity(study, bank_ah):
    """Capacity of a bank of the study's kind and age at the reference rate [Ah], from the label's."""
    bank = study.bank
    return reference_capacity(bank.chemistry, bank_ah, bank.rate_h) * bank.state_of_health_pct / 100.0


def sky_of(study):
    """Sun and clear sky of a study's site, or of all places of its itinerary, on its planes (needs pvlib)."""
    calendar, planes = Calendar(study.site.start_month), planes_of(study)
    skies = [
        site_sky(
            site.latitude_deg,
            site.longitude_deg,
            site.altitude_m,
            site.utc_offset_h,
            planes,
            calendar,
            site.horizon_deg,
        )
        for site in (place.site for place in places(study))
    ]
    return skies[0] if len(skies) == 1 else composed(skies, place_by_date(study)[calendar.day_of_year - 1])
