"""A study's system: all that a simulation needs, derived once; no arithmetic of its own."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.bank.heater import warmed
from darkspell.bank.optional_features import extras_of
from darkspell.bank.step_values import Controls
from darkspell.chargers.expected_charge import chargers_from
from darkspell.chargers.hourly_power import aux_block
from darkspell.chemistry.bank_draws import bank_draws
from darkspell.chemistry.numbers import ChemistryNumbers, chemistry_numbers, reference_capacity
from darkspell.climate import SiteClimate
from darkspell.core.batches import no_power
from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.loads.budget import Appliance, appliances_from
from darkspell.loads.hourly_loads import load_block
from darkspell.pv.controller_curve import standing_draws
from darkspell.pv.dc_power import ArrayNumbers, array_numbers, pwm_amps_per_watt, wind_at_modules
from darkspell.pv.ratings import charging_voltage
from darkspell.simulation.input_series import BankPlace, TraceBlock, fill_hours, stochastic_days
from darkspell.weather.snow import Snow, scaled, snow_of
from darkspell.weather.solar_geometry import SiteSky
from darkspell.weather.surfaces import planes_of

NO_LIMIT = np.float32(1e6)
YEARS_OF_SNOW = 64  # to scale it by


@dataclass(frozen=True)
class System:
    """All that a simulation of one study needs, derived once from the study; see `build_system`.

    Parameters
    ----------
    study : darkspell.study.Study
        What everything below was derived from; never exchanged by itself, see `with_study` and `with_health`.
    calendar : darkspell.core.calendar.Calendar
    climate : darkspell.climate.SiteClimate
    sky : darkspell.weather.solar_geometry.SiteSky
        Sun and clear sky on the planes of the arrays. What-ifs that leave site and planes alone share it.
    arrays : darkspell.pv.dc_power.ArrayNumbers
    appliances : list of darkspell.loads.budget.Appliance
    chargers : dict of darkspell.loads.budget.Appliance
        Chargers other than the arrays, by name.
    chemistry : darkspell.chemistry.numbers.ChemistryNumbers
    controls : darkspell.bank.step_values.Controls
        Thresholds that switch loads, chargers and generator.
    surroundings : darkspell.simulation.input_series.BankPlace
        Temperatures about the bank.
    snow : darkspell.weather.snow.Snow or None
    seed : int
        Of all random draws.
    load_uncertainty_pct : float
        Standard deviation of the scale of the whole energy budget [%].
    members, parameter_draw : int arrays [members]
        Numbers of the synthetic years, and the parameter draw of each.
    measured : optional
        Days that replace simulated weather: an object with ``of(members)`` that returns
        `darkspell.weather.days.Days`, such as `darkspell.weather.measured_years.MeasuredDays`.
    """

    study: object
    calendar: Calendar
    climate: SiteClimate
    sky: SiteSky
    arrays: ArrayNumbers
    appliances: list[Appliance]
    chargers: dict[str, Appliance]
    chemistry: ChemistryNumbers
    controls: Controls
    surroundings: BankPlace
    snow: Snow | None
    seed: int
    load_uncertainty_pct: float
    members: np.ndarray
    parameter_draw: np.ndarray
    measured: object = None

    @property
    def capacity(self):
        """Present capacity of the bank at the reference rate and temperature [Ah]."""
        return present_capacity(self.study, self.study.bank.capacity_ah)

    def with_study(self, study, sky=None):
        """The system of a changed study with the same climate, and the same sky unless one is given.

        Parameters
        ----------
        study : darkspell.study.Study
        sky : darkspell.weather.solar_geometry.SiteSky, optional
            Needed where the change moves a plane.

        Returns
        -------
        System
            Everything is derived anew; measured weather stays.
        """
        fresh = build_system(study, self.climate, self.sky if sky is None else sky)
        if self.measured is None:
            return fresh
        return replace(
            fresh, measured=self.measured, members=self.members, parameter_draw=self.parameter_draw
        )

    def with_health(self, percent):
        """The system with a bank of another age, all else shared; `with_study` would derive the same anew.

        Parameters
        ----------
        percent : float
            Present over rated capacity [%].

        Returns
        -------
        System
        """
        study = self.study.with_changes({"bank.state_of_health_pct": percent})
        return replace(self, study=study, chemistry=bank_numbers(study))

    def with_members(self, chosen):
        """The system with some of its members.

        Parameters
        ----------
        chosen : slice or int array
            Positions among the members.

        Returns
        -------
        System
        """
        return replace(self, members=self.members[chosen], parameter_draw=self.parameter_draw[chosen])

    def days(self, members, parameter_draw):
        """Days of some members, simulated or measured.

        Parameters
        ----------
        members, parameter_draw : int arrays [lanes]

        Returns
        -------
        darkspell.weather.days.Days
        """
        if self.measured is not None:
            return self.measured.of(members)
        return stochastic_days(self.climate, self.calendar, members, parameter_draw, self.seed)

    def weather(self, members, parameter_draw):
        """Array output, temperatures and clearness of some members.

        Parameters
        ----------
        members, parameter_draw : int arrays [lanes]

        Returns
        -------
        tuple of arrays
            As `darkspell.simulation.input_series.fill_hours`, with the limit of a PWM controller.
        """
        study = self.study
        given = (
            self.arrays, pwm_amps_per_watt(study.system.nominal_voltage_v, study.arrays.values()),
            self.surroundings, study.site.albedo,
        )  # fmt: skip
        days = self.days(members, parameter_draw)
        standing = standing_draws(parameter_draw, self.seed)
        mpp, pwm, *rest = fill_hours(self.sky, days, *given, members, self.seed, self.snow, standing)
        limit = study.controller.current_limit_a
        if study.controller.kind == "pwm" and limit is not None:
            np.minimum(pwm, np.float32(limit), out=pwm)
        return mpp, pwm, *rest

    def traces(self, members, parameter_draw):
        """Input series of some members.

        Parameters
        ----------
        members, parameter_draw : int arrays [lanes]

        Returns
        -------
        darkspell.simulation.input_series.TraceBlock
        """
        study = self.study
        mpp, pwm, temp_bank, temp_air, kt = self.weather(members, parameter_draw)
        *loads, always = self._loads(self.appliances, members, parameter_draw, temp_air)
        aux = aux_block(self.chargers, self.calendar, members, parameter_draw, self.seed)
        met = loads[2]
        loads[2] = self._peak_for_cutoff(*loads[:3], always)
        none = no_power(len(members))
        aux = none if aux is None else aux
        temp_bank, heat = warmed(study.bank.heater, temp_bank)
        warm = np.float32(0.0) if heat is None else heat
        shares = self._shares(loads, met, warm, members, parameter_draw, temp_air)
        own = bank_draws(study.bank, parameter_draw, self.seed), *shares
        if heat is None:
            return TraceBlock(mpp, pwm, temp_bank, temp_air, *loads, kt, aux, always, none, *own)
        essential, deferrable, peak, past_monitor = loads
        return TraceBlock(
            mpp, pwm, temp_bank, temp_air, essential, deferrable, peak + heat, past_monitor, kt, aux,
            always + heat, heat, *own,
        )  # fmt: skip

    def _loads(self, appliances, members, parameter_draw, temp_air):
        return load_block(
            appliances, self.calendar, members, parameter_draw, self.seed, self.load_uncertainty_pct,
            temp_air=temp_air,
        )  # fmt: skip

    def _peak_for_cutoff(self, essential, deferrable, peak, always):
        """Greatest load that the bank's cut-off notices: one that waits outlasts any peak."""
        waits = self.study.bank.cutoff_delay_s > constant("bank", "common", "peak_lasts_s")
        return essential + deferrable + always if waits else peak

    def _shares(self, loads, met, warm, members, parameter_draw, temp_air):
        """What is switched off before the rest: the fields of the traces from ``essential_share`` on; none without.

        The same draws without some loads say what these ask for: each appliance has a stream of its own.
        """
        study, drawn = self.study, (members, parameter_draw, temp_air)
        behind = study.inverter_cutoff_v is not None
        if not behind and not study.has_critical:
            return ()
        kept = [one for one in self.appliances if one.tier in ("critical", "uninterruptible")]
        if not behind:
            critical, _, peak, _, _ = self._noticed(kept, warm, *drawn)
            every, whole = np.ones_like(loads[1]), loads[2] + warm
            shares = _share(loads[0] - critical, loads[0], 0.0), every, _share(peak, whole, 1.0), every
            return *shares, critical
        every = loads[0], loads[1], loads[2] + warm, met + warm
        shares = self._behind_inverter(every, self.appliances, warm, drawn)
        if not study.has_critical:
            return shares
        left = self._noticed(kept, warm, *drawn)
        of_kept = self._behind_inverter(left[:4], kept, warm, drawn)
        critical = _share(left[0], loads[0], 0.0), of_kept[0], _share(left[2], every[2], 1.0), *of_kept[2:]
        return *shares, left[0], critical

    def _behind_inverter(self, every, appliances, warm, drawn):
        """`PartShares` of the ac loads among some appliances that ask for `every`, see `_noticed`."""
        essential, deferrable, peak, met = every
        direct = self._noticed([one for one in appliances if not one.ac], warm, *drawn)
        return (
            _share(essential - direct[0], essential, 0.0),
            _share(deferrable - direct[1], deferrable, 0.0),
            _share(direct[2], peak, 1.0),
            _share(met, peak, 1.0),
        )

    def _noticed(self, appliances, warm, members, parameter_draw, temp_air):
        """Loads of some appliances [W]: essential, deferrable, peaks that cut-off and inverter meet, always on."""
        essential, deferrable, peak, _, always = self._loads(appliances, members, parameter_draw, temp_air)
        noticed = self._peak_for_cutoff(essential, deferrable, peak, always)
        return essential, deferrable, noticed + warm, peak + warm, always

    def bank(self, traces):
        """Years of the study's own design.

        Parameters
        ----------
        traces : darkspell.simulation.input_series.TraceBlock

        Returns
        -------
        darkspell.bank.bank_results.BankBlock
        """
        return run_block(traces.for_bank(), self.per_ah_factors(), self.controls, self.chemistry)

    def per_ah_factors(self, array_wp=None, bank_ah=None, limit_a=None):
        """Factors per ampere-hour of present capacity of one design of this study.

        Parameters
        ----------
        array_wp : float, optional
            Power of all arrays [Wp]; the study's if not given. The controller grows with the array.
        bank_ah : float, optional
            Rated capacity [Ah]; the study's if not given.
        limit_a : float, optional
            Current limit of that design's controller [A]; the study's, grown with the array, if not given.

        Returns
        -------
        tuple of numpy.float32
            As `darkspell.bank.run_years.run_members` takes them.
        """
        study, controller = self.study, self.study.controller
        share = 1.0 if array_wp is None else array_wp / study.array_wp
        ah = present_capacity(study, study.bank.capacity_ah if bank_ah is None else bank_ah)
        pwm = controller.kind == "pwm"
        limit = controller.current_limit_a
        if limit_a is not None:
            limit = limit_a * study.array_wp / array_wp
        if any(array.own_controller for array in study.arrays.values()):
            limit = None
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


def _share(part, whole, nothing):
    """Part over whole, `nothing` where there is no whole; float32."""
    return np.divide(part, whole, out=np.full(whole.shape, nothing, np.float32), where=whole > 0.0)


def build_system(study, climate, sky, occupied=True):
    """The one way from a study to what its simulation needs.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    sky : darkspell.weather.solar_geometry.SiteSky
    occupied : bool
        False while nobody is there: loads that need people or guests stop, and engines, generators and shore
        lines do not run; the sun and turbines go on.

    Returns
    -------
    System
    """
    if not occupied:
        study = study.model_copy(update={"generator": None})
    bank, members = study.bank, np.arange(study.engine.members)
    calendar, voltage = Calendar(study.site.start_month), charging_voltage(study)
    chargers = chargers_from(study, calendar, voltage)
    if not occupied:
        chargers = {name: c for name, c in chargers.items() if study.chargers[name].kind == "turbine"}
    deferrable = study.deferrable
    levels = deferrable.shed_below_soc_pct / 100.0, deferrable.resume_above_soc_pct / 100.0
    return System(
        study=study,
        calendar=calendar,
        climate=climate,
        sky=sky,
        arrays=array_numbers(
            study.arrays.values(),
            study.controller,
            voltage,
            pwm_amps_per_watt(study.system.nominal_voltage_v),
            wind_at_modules(study.site, climate),
        ),
        appliances=appliances_from(study, left=not occupied),
        chargers=chargers,
        chemistry=bank_numbers(study),
        controls=Controls(*map(np.float32, levels), extras_of(study)),
        surroundings=bank_surroundings(bank),
        snow=snow_on(study, climate, calendar),
        seed=study.engine.seed,
        load_uncertainty_pct=study.load_uncertainty_pct,
        members=members,
        parameter_draw=members % study.engine.parameter_draws,
    )


def bank_numbers(study):
    """Numbers of a study's bank, by its chemistry, its age and what the study states of it.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    darkspell.chemistry.numbers.ChemistryNumbers
    """
    bank = study.bank
    amps = bank.charge_current_max_a
    return chemistry_numbers(
        bank.chemistry,
        study.system.nominal_voltage_v,
        cut_off=bank.cutoff_voltage_v,
        reconnect=bank.reconnect_soc_pct / 100.0,
        depth_limit=bank.depth_limit_pct / 100.0,
        state_of_health=bank.state_of_health_pct / 100.0,
        charge_current=None if amps is None else amps / present_capacity(study, bank.capacity_ah),
        charge_from=bank.charge_from_c,
        charge_full_from=bank.charge_full_from_c,
        charge_until=bank.charge_temperature_max_c,
        absorption=study.controller.absorption_voltage_v,
        points=bank.capacity_points,
    )


def snow_on(study, climate, calendar):
    """Snow on a study's arrays; None where no snow can fall or stay, see `darkspell.weather.snow`.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    darkspell.weather.snow.Snow or None
    """
    wanted, habits = study.climate.snow_days, [array.snow for array in study.arrays.values()]
    snow = (
        None
        if wanted == 0.0
        else snow_of(planes_of(study), habits, climate, calendar, study.climate.wet_days)
    )
    if snow is None or wanted is None:
        return snow
    years = np.arange(YEARS_OF_SNOW)
    return scaled(snow, stochastic_days(climate, calendar, years, years, study.engine.seed), wanted)


def bank_surroundings(bank):
    """Temperatures around a bank.

    Parameters
    ----------
    bank : darkspell.study.bank.Bank
        Section of the study.

    Returns
    -------
    darkspell.simulation.input_series.BankPlace
    """
    lag = constant("bank", "common", "thermal_lag_h")
    if bank.location == "indoors":
        return BankPlace(lag, bank.indoor_min_c, bank.indoor_max_c)
    return BankPlace(lag)


def present_capacity(study, bank_ah):
    """Present capacity of a bank of the study's kind and age at the reference rate.

    Parameters
    ----------
    study : darkspell.study.Study
    bank_ah : float
        Rated capacity [Ah].

    Returns
    -------
    float
        Capacity [Ah].
    """
    bank = study.bank
    return (
        reference_capacity(bank.chemistry, bank_ah, bank.rate_h, bank.capacity_points)
        * bank.state_of_health_pct
        / 100.0
    )
