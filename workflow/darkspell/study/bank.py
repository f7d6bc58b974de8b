"""Sections on the hardware: system and bank."""

from typing import Literal

from pydantic import field_validator

from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.study.base import Section, key


class System(Section):
    """Properties of the whole system."""

    nominal_voltage_v: Literal[12, 24, 48] = key("Nominal voltage of the bank.", "V")
    cable_resistance_mohm: float = key(
        "Resistance of both conductors between bank and load terminals.", "mohm", 5, low=0, high=1000
    )
    load_voltage_max_v: float | None = key(
        "Highest voltage that the loads survive, from their data sheets.", "V", None, above=0, high=150
    )


def _of_chemistry(name):
    def default(before):
        chemistry = before.get("chemistry")
        return None if chemistry is None else float(constant("bank", chemistry, name))

    return default


class Heater(Section):
    """A pad that warms the bank; it also draws power after the loads are disconnected."""

    power_w: float = key("Its maximum power.", "W", above=0, high=5000)
    setpoint_c: float = key("Temperature that it keeps the bank at.", "degC", 5, low=-20, high=30)
    temperature_rise_k: float = key(
        "Steady temperature rise of the bank above its surroundings at maximum power.",
        "K",
        20,
        above=0,
        high=60,
    )


class Bank(Section):
    """The battery bank."""

    chemistry: Literal[CHEMISTRIES] = key(
        "flooded, agm or gel lead-acid; lfp (lithium iron phosphate) or nmc (lithium nickel manganese cobalt); "
        "naion (sodium-ion, the fluorophosphate kind); nicd (nickel-cadmium) or nife (nickel-iron)."
    )
    capacity_ah: float = key("Rated capacity of the whole bank.", "Ah", low=1, high=100_000)
    rate_h: float = key("Discharge time at which that capacity is rated.", "h", 20, low=1, high=120)
    second_capacity_pct: float | None = key(
        "Capacity at a second rate of its data sheet, over capacity_ah: the two points give Peukert's exponent in "
        "place of the chemistry's.",
        "%",
        None,
        note="by chemistry",
        low=30,
        high=300,
    )
    second_rate_h: float | None = key(
        "Discharge time of that second capacity.", "h", None, note="none", low=1, high=240
    )
    state_of_health_pct: float = key(
        "Present over rated capacity: 100 when new, 80 at the usual end of life.", "%", 100, low=20, high=100
    )
    capacity_uncertainty_pct: float = key(
        "Uncertainty of its present capacity: one standard deviation; 0 where it was measured.",
        "%",
        5,
        low=0,
        high=30,
    )
    property_uncertainty_pct: float = key(
        "How much of their published ranges resistance, self-discharge, charge losses, capacity at slow rates and "
        "loss of it in the cold are drawn over.",
        "%",
        100,
        low=0,
        high=100,
    )
    location: Literal["outdoors", "indoors"] = key(
        "outdoors follows the air temperature; indoors stays between the two below.", default="outdoors"
    )
    indoor_min_c: float = key("Lowest temperature at the bank indoors.", "degC", 10, low=-40, high=50)
    indoor_max_c: float = key("Highest temperature at the bank indoors.", "degC", 25, low=-40, high=60)
    depth_limit_pct: float | None = key(
        "Depth of discharge at which the load is cut off at any voltage.",
        "%",
        factory=_of_chemistry("depth_limit_pct"),
        note="by chemistry",
        low=5,
        high=100,
    )
    planning_depth_pct: float | None = key(
        "Depth of discharge that it should not pass in normal use.",
        "%",
        factory=_of_chemistry("planning_depth_pct"),
        note="by chemistry",
        low=5,
        high=100,
    )
    cutoff_voltage_v: float | None = key(
        "Terminal voltage below which the load is cut off.",
        "V",
        None,
        note="by chemistry and nominal voltage",
        low=5,
        high=60,
    )
    reconnect_soc_pct: float | None = key(
        "State of charge at which the load is reconnected.",
        "%",
        factory=_of_chemistry("reconnect_soc_pct"),
        note="by chemistry",
        low=1,
        high=100,
    )
    reconnect_voltage_v: float | None = key(
        "Terminal voltage that also reconnects the load, for example while charging in the morning.",
        "V",
        None,
        note="none: by state of charge alone",
        low=5,
        high=70,
    )
    cutoff_delay_s: float = key(
        "How long the voltage must stay low before the load is cut off; beyond a minute a motor's start no "
        "longer does it.",
        "s",
        0,
        low=0,
        high=3600,
    )
    absorption_h: float | None = key(
        "Hours at the charging voltage after which the chargers fall back to float, until they have rested.",
        "h",
        None,
        note="no limit: they hold it as long as they can",
        above=0,
        high=24,
    )
    charge_current_max_a: float | None = key(
        "Largest charge current of the whole bank, from its data sheet; sizing scales it with the bank.",
        "A",
        None,
        note="by chemistry",
        above=0,
        high=20_000,
    )
    discharge_current_max_a: float | None = key(
        "Largest discharge current of the whole bank, from its data sheet. `check` warns where loads that may run at "
        "once pass it; the simulation does not switch off for it.",
        "A",
        None,
        note="none",
        above=0,
        high=50_000,
    )
    charge_temperature_min_c: float | None = key(
        "Temperature below which the bank accepts no charge, from its data sheet.",
        "degC",
        None,
        note="by chemistry",
        low=-60,
        high=30,
    )
    charge_temperature_full_c: float | None = key(
        "Temperature from which it accepts its largest charge current.",
        "degC",
        None,
        note="as far above the one before as by chemistry",
        low=-59,
        high=45,
    )
    charge_temperature_max_c: float | None = key(
        "Temperature above which the bank accepts no charge, from its data sheet.",
        "degC",
        None,
        note="none",
        low=20,
        high=90,
    )
    block_voltage_v: float | None = key(
        "Nominal voltage of one block (battery), where the bank is made of several.",
        "V",
        None,
        low=1,
        high=60,
    )
    blocks_in_series: int | None = key("Blocks in one string.", "", None, low=1, high=48)
    strings_in_parallel: int = key("Strings in parallel.", "", 1, low=1, high=50)
    block_capacity_ah: float | None = key(
        "Rated capacity of one block; capacity_ah is then this times the strings.",
        "Ah",
        None,
        above=0,
        high=50_000,
    )
    heater: Heater | None = key("A pad that warms the bank.", default=None, note="none")
    self_consumption_w: float = key(
        "Power still drawn after cut-off: monitor, controller, protection.", "W", 0.5, low=0, high=500
    )

    @property
    def capacity_points(self):
        """Both rates and the ratio of the capacities, as `darkspell.chemistry.numbers.capacity_law`; or None."""
        if self.second_capacity_pct is None or self.second_rate_h is None:
            return None
        return self.rate_h, self.second_rate_h, self.second_capacity_pct / 100.0

    @property
    def charge_from_c(self):
        """Temperature below which the bank accepts no charge [degC]."""
        given = self.charge_temperature_min_c
        return float(constant("bank", self.chemistry, "cold_charge_limit_c")) if given is None else given

    @property
    def charge_full_from_c(self):
        """Temperature from which it accepts its largest charge current [degC]."""
        if self.charge_temperature_full_c is not None:
            return self.charge_temperature_full_c
        full, limit = (constant("bank", self.chemistry, f"cold_charge_{end}_c") for end in ("full", "limit"))
        return self.charge_from_c + full - limit

    @property
    def largest_charge_a(self):
        """Largest charge current of the bank, by its data sheet or its chemistry [A]."""
        if self.charge_current_max_a is not None:
            return self.charge_current_max_a
        per_ah = constant("bank", self.chemistry, "charge_current_max_c")
        return per_ah * self.capacity_ah * self.state_of_health_pct / 100.0

    @field_validator("charge_temperature_full_c")
    @classmethod
    def _full_above_least(cls, full, info):
        chemistry, least = (info.data.get(name) for name in ("chemistry", "charge_temperature_min_c"))
        if full is None or chemistry is None:
            return full
        least = constant("bank", chemistry, "cold_charge_limit_c") if least is None else least
        if full <= least:
            raise ValueError(f"is not above the temperature of the first charge ({least:g} degC); raise it")
        return full

    @field_validator("indoor_max_c")
    @classmethod
    def _indoor_order(cls, value, info):
        low = info.data.get("indoor_min_c")
        if low is not None and value < low:
            raise ValueError(f"is below indoor_min_c ({low:g} degC); exchange the two or raise it")
        return value

    @field_validator("planning_depth_pct")
    @classmethod
    def _plan_within_limit(cls, value, info):
        limit = info.data.get("depth_limit_pct")
        if None not in (value, limit) and value > limit:
            raise ValueError(f"exceeds depth_limit_pct ({limit:g} %); lower it, or raise the limit")
        return value

    @field_validator("reconnect_soc_pct")
    @classmethod
    def _reconnect_above_cutoff(cls, value, info):
        limit = info.data.get("depth_limit_pct")
        if None not in (value, limit) and value <= 100 - limit:
            raise ValueError(
                f"is not above what is left at cut-off (100 - depth_limit_pct = {100 - limit:g} %); raise it"
            )
        return value
