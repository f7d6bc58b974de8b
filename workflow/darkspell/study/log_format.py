"""The section on a monitor's log: which columns mean what, and where the weather of its dates comes from."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.base import Section, key
from darkspell.study.climate import Column, Series

KINDS = ("soc", "current", "charge_current", "load_current", "voltage", "power", "temperature")


class Log(Section):
    """How to read a log of the system, for `darkspell compare`."""

    time_column: Column | Annotated[list[Column], Field(min_length=1, max_length=6)] = key(
        "Column of the time, or several that are joined by a space, such as [date, time] or [year, month, day, hour, "
        'minute, second]. A file without names has its columns by position: "1", "2" and so on, here and below.',
        default="time",
        note="`time`, `timestamp` or `datetime`, or `date` and `time`",
    )
    time_format: str | None = key(
        'How the time reads, such as "%d.%m.%Y %H:%M"; seconds or milliseconds where it counts from 1970.',
        default=None,
        note="ISO 8601 (2025-03-31 14:00:00), or counted from 1970 where it is a large number",
        max_length=60,
        min_length=2,
    )
    rows_are: Literal["means", "samples"] | None = key(
        "Whether a row holds means over the interval between rows, or momentary values.",
        default=None,
        note="what the rows below the names, or the names (such as V_Avg), say",
    )
    row_time: Literal["beginning", "middle", "end"] | None = key(
        "Which moment of its interval the time of a row of means is.",
        default=None,
        note="what the log says: the end in a table that begins with TOA5, or where the first row is one interval "
        "after midnight and the last at midnight",
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
    charge_current_column: Column | None = key(
        "Column of the current that charges, where charge and load are logged apart.",
        default=None,
        note="`charge_current` if there",
    )
    load_current_column: Column | None = key(
        "Column of the current that the loads take.", default=None, note="`load_current` if there"
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
    header_row: int | None = key(
        "Row that names the columns, counted from 1.",
        default=None,
        note="found by the names",
        low=1,
        high=1000,
    )
    skip_rows: int | None = key(
        "Rows between the header and the first values, such as a row of units.",
        default=None,
        note="those without a time",
        low=0,
        high=1000,
    )
    missing: list[str] = key(
        "Texts or numbers for a missing value, in addition to empty cells, nan, -999, -9999, 7999 and the like.",
        default=[],
        max_length=20,
    )
    name_column: Column | None = key(
        "Column that names the quantity, where each row holds one value; the other keys then name quantities.",
        default=None,
    )
    value_column: Column | None = key("Column of that value.", default=None)
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

    @field_validator("time_column", *(f"{kind}_column" for kind in KINDS), mode="before")
    @classmethod
    def _position(cls, value):
        """Positions may be written as numbers."""
        if isinstance(value, list):
            return [cls._position(one) for one in value]
        return str(value) if isinstance(value, int) and not isinstance(value, bool) else value

    @field_validator("time_format")
    @classmethod
    def _is_format(cls, value):
        return value if value == "milliseconds" else Series._is_format(value)

    @field_validator("time_zone")
    @classmethod
    def _known_zone(cls, value):
        return Series._known_zone(value)

    @field_validator("missing", mode="before")
    @classmethod
    def _as_texts(cls, value):
        return [str(one) for one in value] if isinstance(value, list) else value

    @field_validator("value_column")
    @classmethod
    def _named_values(cls, value, info):
        if (value is None) != (info.data.get("name_column") is None):
            raise ValueError("and name_column go together; give both or neither")
        return value

    @field_validator("weather_series")
    @classmethod
    def _both(cls, value, info):
        if (value is None) != (info.data.get("weather_file") is None):
            raise ValueError("and weather_file go together; give both or neither")
        return value
