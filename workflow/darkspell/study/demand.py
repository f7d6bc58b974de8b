"""Sections on what draws from the bank: loads, and what is shed first."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, field_validator

from darkspell.study.fields import Section, key

ClockTime = Annotated[str, StringConstraints(pattern=r"^(([01][0-9]|2[0-3]):[0-5][0-9]|24:00)$")]
Month = Annotated[int, Field(ge=1, le=12)]


def _hours(clock):
    hours, minutes = clock.split(":")
    return int(hours) + int(minutes) / 60


def _window_hours(window):
    start, end = (_hours(clock) for clock in window)
    return start, (end - start if end > start else end - start + 24)


def _same_power(before):
    return before.get("watts")


class Load(Section):
    """One appliance, or several alike."""

    watts: float = key("Power of one while it runs.", "W", above=0, high=100_000)
    hours_per_day: float = key("Hours that it runs on a day of use.", "h", above=0, high=24)
    count: int = key("How many there are.", "", 1, low=1, high=1000)
    tier: Literal["essential", "deferrable"] = key(
        "essential is served as long as the bank can; deferrable is shed earlier."
    )
    window: list[ClockTime] = key(
        "Between which times of day it runs, local standard time; may pass midnight.",
        "HH:MM",
        ["00:00", "24:00"],
        min_length=2,
        max_length=2,
    )
    peak_watts: float | None = key(
        "Highest power of one, as at a motor's start.",
        "W",
        factory=_same_power,
        note="watts",
        above=0,
        high=200_000,
    )
    months: list[Month] = key(
        "Months in which it is used, 1 January to 12 December.",
        "",
        list(range(1, 13)),
        min_length=1,
        max_length=12,
        note="all",
    )
    chance_of_use_pct: float = key("Share of days on which it is used at all.", "%", 100, above=0, high=100)
    spread_pct: float = key("Standard deviation of its daily energy, day to day.", "%", 20, low=0, high=200)
    wired_past_monitor: bool = key("true if its current does not pass the shunt.", default=False)

    @field_validator("window")
    @classmethod
    def _fits(cls, window, info):
        if window[0] == window[1] or window[0] == "24:00":
            raise ValueError('has no length; for the whole day write ["00:00", "24:00"]')
        _, length = _window_hours(window)
        needed = info.data.get("hours_per_day", 0)
        if needed > length + 1e-9:
            raise ValueError(
                f"is {length:g} h long but hours_per_day is {needed:g} h; widen it or lower the hours"
            )
        return window

    @field_validator("peak_watts")
    @classmethod
    def _peak_above_mean(cls, peak, info):
        watts = info.data.get("watts")
        if None not in (peak, watts) and peak < watts:
            raise ValueError(f"lies below watts ({watts:g} W); raise it or leave it out")
        return peak

    @field_validator("months")
    @classmethod
    def _ascending(cls, months):
        if any(later <= earlier for earlier, later in zip(months, months[1:], strict=False)):
            raise ValueError("must ascend without repeats, as in [5, 6, 7]")
        return months

    @property
    def window_hours(self):
        """Start of the window [h of the day, 0-24) and its length [h], midnight passed if need be."""
        return _window_hours(self.window)

    @property
    def day_wh(self):
        """Mean energy of a day in a month of use, chance of use included [Wh]."""
        return self.watts * self.count * self.hours_per_day * self.chance_of_use_pct / 100


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
