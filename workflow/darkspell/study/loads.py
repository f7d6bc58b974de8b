"""Sections on what draws from the bank: loads, measured loads, the inverter, what is shed first."""

from typing import Literal

from pydantic import field_validator, model_validator

from darkspell.study.base import Section, key
from darkspell.study.days_and_months import Days, Months
from darkspell.study.energy_forms import check_energy, filled_from_energy
from darkspell.study.times_of_day import ClockTime, some_length, start_and_length

TIERS = (
    "deferrable is shed first, to spare the others; essential is served as long as the bank can supply it; critical "
    "(a vaccine fridge, a radio) too, and then essential is shed before it, see `critical`; uninterruptible is never "
    "disconnected, not even from an empty bank (bilge pump, navigation lights, gas alarm)."
)
Tier = Literal["essential", "deferrable", "critical", "uninterruptible"]
SUPPLY = "dc from the bank, or ac through the study's inverter."


def _same_power(before):
    return before.get("watts")


def _by_duty(before):
    duty, window = before.get("duty_pct"), before.get("window")
    return None if duty is None or window is None else duty / 100.0 * start_and_length(window)[1]


class ByTemperature(Section):
    """How a load follows the air: a compressor that works more in warmth, a heater that does in cold."""

    full_at_c: float = key(
        "Temperature at which the load runs its hours_per_day; it runs on beyond in proportion.",
        "degC",
        low=-60,
        high=60,
    )
    none_at_c: float = key(
        "Temperature at which it does not run at all: a fridge's inside, a heater's thermostat.",
        "degC",
        low=-60,
        high=60,
    )
    room_min_c: float | None = key(
        "Lowest temperature of its room.", "degC", None, note="outdoors", low=-60, high=60
    )
    room_max_c: float | None = key(
        "Highest temperature of its room.", "degC", None, note="outdoors", low=-60, high=60
    )

    @field_validator("none_at_c")
    @classmethod
    def _apart(cls, value, info):
        full = info.data.get("full_at_c")
        if full is not None and abs(full - value) < 1.0:
            raise ValueError(f"is within 1 K of full_at_c ({full:g} degC); move the two apart")
        return value

    @field_validator("room_max_c")
    @classmethod
    def _order(cls, value, info):
        low = info.data.get("room_min_c")
        if None not in (low, value) and value < low:
            raise ValueError(f"is below room_min_c ({low:g} degC); exchange the two or raise it")
        return value


class Load(Section):
    """One appliance, or several alike."""

    watts: float = key(
        "Power of one appliance while it runs.",
        "W",
        None,
        note="**required**, or amps, or an energy and the hours",
        above=0,
        high=100_000,
    )
    amps: float | None = key(
        "Current of one while it runs, at the system's nominal voltage, in place of watts.",
        "A",
        None,
        above=0,
        high=5000,
    )
    wh_per_day: float | None = key(
        "Energy of one on a day of use, in place of watts or of the hours.",
        "Wh",
        None,
        above=0,
        high=1_000_000,
    )
    kwh_per_year: float | None = key(
        "The same from a label that states a year of daily use: a day's energy is its 365th part.",
        "kWh",
        None,
        above=0,
        high=100_000,
    )
    count: int = key("Number of such appliances.", "", 1, low=1, high=1000)
    tier: Tier = key(TIERS)
    window: list[ClockTime] = key(
        "Between which times of day it runs, local standard time; may pass midnight.",
        "HH:MM",
        ["00:00", "24:00"],
        min_length=2,
        max_length=2,
    )
    duty_pct: float | None = key(
        "Share of its window that it runs, in place of hours_per_day.", "%", None, above=0, high=100
    )
    hours_per_day: float | None = key(
        "Hours that it runs on a day of use.",
        "h",
        factory=_by_duty,
        note="from duty_pct or the energy; one of the three is required",
        above=0,
        high=24,
    )
    peak_watts: float | None = key(
        "Highest power of one, for example when a motor starts.",
        "W",
        factory=_same_power,
        note="watts",
        above=0,
        high=200_000,
    )
    months: Months = key(
        "Months in which it is used: numbers, 1 January to 12 December, or names; over New Year as in [11, 12, 1] or "
        "Nov-Jan.",
        "",
        list(range(1, 13)),
        note="all",
    )
    days: Days = key(
        "Days of the week on which it is used: all, weekdays, weekends (Saturday and Sunday), or by name as in "
        "Fri-Sun or [Mon, Thu].",
        default="all",
    )
    when: Literal["any", "home", "away", "guests"] = key(
        "any: whoever is there; home: only while people are; away: only while nobody is; guests: only with "
        "guests. See occupancy.",
        default="any",
    )
    increases_with_guests: bool = key("true if guests increase it (occupancy.guests).", default=False)
    chance_of_use_pct: float = key("Share of days on which it is used at all.", "%", 100, above=0, high=100)
    spread_pct: float = key("Standard deviation of its daily energy, day to day.", "%", 20, low=0, high=200)
    supply: Literal["dc", "ac"] = key(SUPPLY, default="dc")
    by_temperature: ByTemperature | None = key(
        "How it follows the temperature of its surroundings; it does not without this.", default=None
    )
    bypasses_shunt: bool = key("true if its current does not pass the shunt.", default=False)

    @model_validator(mode="before")
    @classmethod
    def _from_energy(cls, given):
        return filled_from_energy(given, _by_duty)

    @field_validator("watts", mode="before")
    @classmethod
    def _some_power(cls, watts):
        if watts is None:
            raise ValueError("is missing; add it [W], or amps [A], or wh_per_day [Wh] with hours_per_day [h]")
        return watts

    @model_validator(mode="after")
    def _one_energy(self):
        check_energy(self)
        return self

    @field_validator("hours_per_day", mode="before")
    @classmethod
    def _hours_or_duty(cls, value, info):
        duty = info.data.get("duty_pct")
        if value is None and "duty_pct" in info.data:
            raise ValueError("is missing; add it [h], or duty_pct [%], or wh_per_day [Wh]")
        by_duty = _by_duty(info.data)
        if duty is not None and by_duty is not None and value != by_duty:
            raise ValueError(f"is given together with duty_pct ({duty:g} %); keep one of the two")
        return value

    @field_validator("hours_per_day")
    @classmethod
    def _fits(cls, hours, info):
        window = info.data.get("window")
        length = 24.0 if window is None else start_and_length(window)[1]
        if hours is not None and hours > length + 1e-9:
            raise ValueError(f"does not fit into a window of {length:g} h; widen window or lower the hours")
        return hours

    @field_validator("window")
    @classmethod
    def _has_length(cls, window):
        return some_length(window)

    @field_validator("peak_watts")
    @classmethod
    def _peak_above_mean(cls, peak, info):
        watts = info.data.get("watts")
        if None not in (peak, watts) and peak < watts:
            raise ValueError(f"is below watts ({watts:g} W); raise it or leave it out")
        return peak

    @property
    def window_hours(self):
        """Start of the window [h of the day, 0-24) and its length [h], midnight passed if need be."""
        return start_and_length(self.window)


class MeasuredLoad(Section):
    """A load known from measured hours."""

    file: str = key(
        "CSV file next to the study file: a header, then one row an hour in whole days, mean watts in the "
        "last column. 365 days are taken as a calendar year begun in January.",
        max_length=500,
        min_length=1,
    )
    tier: Tier = key(TIERS)
    peak_watts: float | None = key("Highest power within any hour.", "W", None, above=0, high=200_000)
    supply: Literal["dc", "ac"] = key(SUPPLY, default="dc")
    bypasses_shunt: bool = key("true if its current does not pass the shunt.", default=False)


class Inverter(Section):
    """The inverter that the ac loads run through."""

    power_w: float = key("Continuous output power.", "W", above=0, high=100_000)
    surge_w: float | None = key(
        "Output power for some seconds.", "W", None, note="power_w", above=0, high=200_000
    )
    no_load_w: float = key("Power that it draws without a load.", "W", 10, low=0, high=1000)
    efficiency_pct: float = key("Output power over input power at half its power.", "%", 90, low=40, high=100)
    efficiency_full_pct: float = key("The same at its full power.", "%", 86, low=40, high=100)
    always_on: bool = key("false if it is switched on only while an ac load runs.", default=True)
    cutoff_voltage_v: float | None = key(
        "Voltage at its terminals, the greatest load running, below which it switches off for the hour: its loads "
        "drop and dc loads go on. The bank's cut-off then sees its current over the bank alone, not over the cable.",
        "V",
        None,
        note="none: it shares the bank's cut-off",
        low=5,
        high=60,
    )

    @field_validator("surge_w")
    @classmethod
    def _above_power(cls, surge, info):
        power = info.data.get("power_w")
        if None not in (surge, power) and surge < power:
            raise ValueError(f"is below power_w ({power:g} W); raise it or leave it out")
        return surge

    @field_validator("efficiency_full_pct")
    @classmethod
    def _possible(cls, full, info):
        power, idle, half = (info.data.get(name) for name in ("power_w", "no_load_w", "efficiency_pct"))
        if None in (power, idle, half):
            return full
        if idle > 0.5 * power * (100.0 / half - 1.0) or idle > power * (100.0 / full - 1.0):
            raise ValueError(
                f"and efficiency_pct ({half:g} %) leave no room for no_load_w ({idle:g} W of {power:g} W); "
                "lower one of the three: the losses at work include the idle ones"
            )
        return full


class Deferrable(Section):
    """When deferrable loads are shed to spare the essential ones."""

    shed_below_soc_pct: float = key("State of charge below which they are shed.", "%", 50, low=0, high=100)
    resume_above_soc_pct: float = key("State of charge above which they come back.", "%", 65, low=0, high=100)

    @field_validator("resume_above_soc_pct")
    @classmethod
    def _hysteresis(cls, value, info):
        shed = info.data.get("shed_below_soc_pct")
        if shed is not None and value <= shed:
            raise ValueError(f"is not above shed_below_soc_pct ({shed:g} %); raise it")
        return value


class Critical(Section):
    """When essential loads are shed to spare the critical ones."""

    shed_essential_below_soc_pct: float = key(
        "State of charge below which essential and deferrable loads are shed, if any load is of tier critical.",
        "%",
        30,
        low=0,
        high=100,
    )
    resume_essential_above_soc_pct: float = key(
        "State of charge above which essential loads come back.", "%", 45, low=0, high=100
    )

    @field_validator("resume_essential_above_soc_pct")
    @classmethod
    def _hysteresis(cls, value, info):
        shed = info.data.get("shed_essential_below_soc_pct")
        if shed is not None and value <= shed:
            raise ValueError(f"is not above shed_essential_below_soc_pct ({shed:g} %); raise it")
        return value
