"""The section on a monitor's log: which columns mean what, and where the weather of its dates comes from."""

from typing import Literal

from pydantic import field_validator

from darkspell.study.base import Section, key
from darkspell.study.climate import Column, Series


class Log(Section):
    """How to read a log of the system, for `darkspell compare`."""

    time_column: Column = key("Column that holds the time.", default="time")
    time_format: str | None = key(
        'How the time reads, such as "%d.%m.%Y %H:%M"; seconds for seconds since 1970.',
        default=None,
        note="ISO 8601 (2025-03-31 14:00:00)",
        max_length=60,
        min_length=2,
    )
    time_zone: str | None = key(
        'Of times without an offset of their own: "UTC", "UTC+1", or a name such as "Europe/Vienna" where they '
        "follow summer time.",
        default=None,
        note="local standard time of the site",
        max_length=60,
    )
    soc_column: Column | None = key("Column of the state of charge.", default=None, note="`soc` if there")
    soc_unit: Literal["%", "fraction"] | None = key(
        "Its unit.", default=None, note="judged by its largest value"
    )
    current_column: Column | None = key(
        "Column of the bank's current.", default=None, note="`current` if there"
    )
    current_unit: Literal["A", "mA"] = key("Its unit.", default="A")
    charging: Literal["positive", "negative"] = key(
        "Sign of current and power while the bank is charged.", default="positive"
    )
    voltage_column: Column | None = key(
        "Column of the bank's voltage.", default=None, note="`voltage` if there"
    )
    voltage_unit: Literal["V", "mV"] = key("Its unit.", default="V")
    power_column: Column | None = key(
        "Column of the bank's power; read where there is no current.", default=None, note="`power` if there"
    )
    power_unit: Literal["W", "kW"] = key("Its unit.", default="W")
    temperature_column: Column | None = key(
        "Column of the bank's temperature.", default=None, note="`temperature` if there"
    )
    temperature_unit: Literal["C", "K", "F"] = key("Its unit.", default="C")
    weather_file: str | None = key(
        "CSV of irradiation over the log's dates, relative to the study file.",
        default=None,
        note="the study's own record where it covers the dates",
        max_length=500,
        min_length=1,
    )
    weather_series: Series | None = key("How to read that CSV.", default=None)
    download: bool = key(
        "Whether to download the weather of the log's years where it is not known (as source satellite does).",
        default=False,
    )

    @field_validator("time_zone")
    @classmethod
    def _known_zone(cls, value):
        return Series._known_zone(value)

    @field_validator("weather_series")
    @classmethod
    def _both(cls, value, info):
        if (value is None) != (info.data.get("weather_file") is None):
            raise ValueError("and weather_file go together; give both or neither")
        return value
