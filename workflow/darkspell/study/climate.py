"""The section on the weather: where the knowledge of it comes from, and how its files are to be read."""

import re
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, field_validator

from darkspell.core.timestamps import format_fault
from darkspell.study.base import Section, key

Temperature = Annotated[float, Field(ge=-70, le=55)]
WetDays = Annotated[float, Field(ge=0, le=31)]
MOST_IRRADIATION = 13  # kWh/m2 a day; outside the atmosphere 12.6 at most
Irradiation = Annotated[float, Field(ge=0, le=MOST_IRRADIATION)]
Clearness = Annotated[float, Field(gt=0, le=0.9)]
SunHours = Annotated[float, Field(ge=0, le=24)]
Column = Annotated[str, StringConstraints(min_length=1, max_length=100)]
Repair = Literal["duplicates", "short_gaps", "shift"]

MONTHLY = ("ghi_kwh_m2_day", "peak_sun_hours", "sunshine_hours", "clearness_index")
WITH_FILE = ("typical_year", "measured")
WITH_YEARS = ("measured", "satellite")
OFFSET = r"UTC(([+-])(\d{1,2})(:(00|15|30|45))?)?"


class Series(Section):
    """How to read a measured series: a CSV with named columns."""

    step: Literal["hourly", "daily"] = key(
        "Period of one row; daily rows get their hours from the sky model."
    )
    time_columns: list[Column] = key(
        "Columns of the time, joined by a space, such as [date] or [date, hour].",
        default=["date"],
        min_length=1,
        max_length=4,
    )
    time_format: str | None = key(
        'How the joined time reads, such as "%d.%m.%Y %H:%M" or "%Y %j"; seconds for seconds since 1970.',
        default=None,
        note="ISO 8601 (2019-07-31, 2019-07-31 14:00)",
        max_length=60,
        min_length=2,
    )
    time_zone: str | None = key(
        'Of the times of hourly rows: "UTC", "UTC+1", or a name such as "Europe/Vienna" where they follow '
        "summer time.",
        default=None,
        note="local standard time of the site",
        max_length=60,
    )
    hour_label: Literal["beginning", "middle", "end"] = key(
        "Which moment of its hour the time of a row means.", default="beginning"
    )
    ghi_column: Column = key("Column of global horizontal irradiation.", default="ghi")
    ghi_unit: Literal["W/m2", "Wh/m2", "kWh/m2", "J/cm2", "kJ/m2", "MJ/m2"] = key(
        "Its unit, per hour or per day; W/m2 is the mean over the hour, or over day and night."
    )
    temp_column: Column | None = key("Column of mean air temperature.", default=None)
    temp_min_column: Column | None = key(
        "Column of the day's lowest air temperature; daily rows.", default=None
    )
    temp_max_column: Column | None = key(
        "Column of the day's highest air temperature; daily rows.", default=None
    )
    wind_column: Column | None = key(
        "Column of wind speed [m/s], hourly rows; it cools the modules hour by hour in measured years, and by its "
        "mean in simulated ones unless site.wind_m_s is given.",
        default=None,
    )
    temp_unit: Literal["C", "K", "F"] = key("Unit of the temperatures.", default="C")
    separator: Literal[",", ";", "tab", "blank"] = key("Separator of the columns.", default=",")
    decimal: Literal[".", ","] = key("Decimal mark.", default=".")
    header_row: int = key("Row that names the columns, counted from 1.", "", 1, low=1, high=200)
    satellite: bool = key(
        "Whether the series is derived from satellites; its means and day-to-day variability are then corrected.",
        default=False,
    )
    repair: list[Repair] = key(
        "What may be repaired; the rest is only reported. duplicates: of rows that disagree on one time the "
        "first is kept; short_gaps: up to three missing hours are filled by clearness; shift: hours are moved "
        "to where the sun says they belong.",
        default=[],
        note="nothing",
        max_length=3,
    )

    @field_validator("time_format")
    @classmethod
    def _is_format(cls, value):
        fault = format_fault(value) if value not in (None, "seconds") else None
        if fault:
            raise ValueError(fault)
        return value

    @field_validator("time_zone")
    @classmethod
    def _known_zone(cls, value):
        if value is None or re.fullmatch(OFFSET, value):
            return value
        from zoneinfo import available_timezones

        if value not in available_timezones():
            raise ValueError(
                'is no time zone; write "UTC", "UTC+1", "UTC+5:30", or a name such as "Europe/Vienna"'
            )
        return value

    @field_validator("wind_column")
    @classmethod
    def _of_hours(cls, value, info):
        if value is not None and info.data.get("step") == "daily":
            raise ValueError("is for hourly rows; with step: daily give site.wind_m_s")
        return value

    @field_validator("temp_max_column")
    @classmethod
    def _both_ends(cls, value, info):
        if (value is None) != (info.data.get("temp_min_column") is None):
            raise ValueError("and temp_min_column go together; give both or neither")
        if value is not None and info.data.get("step") == "hourly":
            raise ValueError("is for daily rows; with step: hourly give temp_column")
        return value


class Satellite(Section):
    """Which years to download, and where they are kept."""

    first_year: int = key("First year.", "", 2005, low=2001, high=2100)
    last_year: int = key("Last year.", "", 2024, low=2001, high=2100)
    folder: str = key(
        "Folder for the downloaded years, relative to the study file; years in it are not downloaded again.",
        default="weather",
        max_length=200,
        min_length=1,
    )

    @field_validator("last_year")
    @classmethod
    def _in_order(cls, value, info):
        if value < info.data.get("first_year", value):
            raise ValueError("is before first_year; swap the two")
        return value


class Climate(Section):
    """Where the climate data come from."""

    source: Literal["atlas", "monthly", "typical_year", "measured", "satellite"] = key(
        "atlas: the built-in one, land and sea; monthly: twelve values typed in; typical_year: a weather file; "
        "measured: a series of years, by the hour or the day; satellite: years downloaded (needs a network once)."
    )
    ghi_kwh_m2_day: list[Irradiation] | None = key(
        "Mean daily global horizontal irradiation, January to December; for source monthly.",
        "kWh/m2/day",
        None,
    )
    peak_sun_hours: list[Irradiation] | None = key(
        "The same as peak sun hours (hours of 1000 W/m2 on a horizontal surface); for source monthly.",
        "h/day",
        None,
    )
    sunshine_hours: list[SunHours] | None = key(
        "Mean hours of bright sunshine a day in place of the irradiation, January to December, from a climate table; "
        "for source monthly. Irradiation follows by angstrom_a and angstrom_b (FAO 56, equation 35).",
        "h/day",
        None,
    )
    clearness_index: list[Clearness] | None = key(
        "Monthly clearness index in place of the irradiation, January to December; for source monthly.",
        "-",
        None,
    )
    angstrom_a: float = key(
        "Share of the irradiation outside the atmosphere that arrives on sunless days.",
        "-",
        0.25,
        low=0.05,
        high=0.5,
    )
    angstrom_b: float = key(
        "Further share that arrives on days of sunshine from dawn to dusk.", "-", 0.5, low=0.1, high=0.8
    )
    years_of_means: int | None = key(
        "Years that the twelve values are the mean of; those of few years are combined with the built-in atlas, and "
        "widen the intervals; for source monthly.",
        "years",
        None,
        note="ten or more",
        low=1,
        high=200,
    )
    temp_air_c: list[Temperature] | None = key(
        "Mean air temperature, January to December; for source monthly.",
        "degC",
        None,
        note="from the atlas",
    )
    file: str | None = key(
        "Weather file, relative to the study file, or pvlib:<name> for one in pvlib's own data folder; "
        "for source typical_year (EPW, TMY3, TMY2) and measured (CSV).",
        default=None,
        max_length=500,
        min_length=1,
    )
    series: Series | None = key("How to read the CSV; for source measured.", default=None)
    satellite: Satellite | None = key("Which years; for source satellite.", default=None)
    replay: bool | None = key(
        "Whether the measured years are also run as recorded; not with an itinerary.",
        default=None,
        note="`true` with source measured or satellite",
    )
    snow_days: float | None = key(
        "Days a year with 1 cm of fresh snow or more, from a climate table; 0 leaves snow out.",
        "days/year",
        None,
        note="from temperature, precipitation and how dull the days are",
        low=0,
        high=250,
    )
    wet_days: list[WetDays] | None = key(
        "Days with 1 mm of rain or snow or more in each month, January to December, where a climate table gives "
        "them; snowfall then follows them.",
        "days/month",
        None,
        note="from the mean precipitation of the month",
    )
    fill_days: int = key(
        "Missing or impossible days that a replayed year may have; they are filled with days of the same month "
        "and counted, years with more are left out by name.",
        "days/year",
        10,
        low=0,
        high=60,
    )

    @field_validator(*MONTHLY, mode="before")
    @classmethod
    def _in_the_unit(cls, values, info):
        if not isinstance(values, list) or not all(type(one) in (int, float) for one in values):
            return values
        most = max(values, default=0.0)
        if info.field_name == "sunshine_hours":
            if 24.0 < most <= 744.0:
                raise ValueError(
                    f"reaches {most:g}; give hours a day: divide hours a month by the month's days"
                )
        elif info.field_name == "clearness_index":
            if 5.0 < most <= 100.0:
                raise ValueError(f"reaches {most:g}; it is a fraction, not a percentage: divide by 100")
        elif MOST_IRRADIATION < most < 1e6:
            raise ValueError(
                f"reaches {most:g}, and no day brings more than {MOST_IRRADIATION} kWh/m2; divide MJ/m2 a day by "
                "3.6, kWh/m2 a month by its days, Wh/m2 a day by 1000, and multiply W/m2 by 0.024"
            )
        return values

    @field_validator("wet_days")
    @classmethod
    def _twelve_wet(cls, values):
        if values is not None and len(values) != 12:
            raise ValueError(f"has {len(values)} values; give twelve, January to December")
        return values

    @field_validator(*MONTHLY, "temp_air_c")
    @classmethod
    def _twelve(cls, values, info):
        if values is not None and len(values) != 12:
            raise ValueError(f"has {len(values)} values; give twelve, January to December")
        if values is not None and info.data.get("source", "monthly") != "monthly":
            raise ValueError(
                f"is not read with source {info.data['source']}; remove it, or use source: monthly"
            )
        return values

    @field_validator("years_of_means")
    @classmethod
    def _years_of_values(cls, value, info):
        if value is not None and info.data.get("source", "monthly") != "monthly":
            raise ValueError(
                f"is not read with source {info.data['source']}; remove it, or use source: monthly"
            )
        return value

    @field_validator("clearness_index")
    @classmethod
    def _one_of_them(cls, values, info):
        given = [name for name in MONTHLY[:-1] if info.data.get(name) is not None]
        given += ["clearness_index"] if values is not None else []
        if len(given) > 1:
            raise ValueError(f"{' and '.join(given)} are given together; keep one of them")
        whole = all(name in info.data for name in MONTHLY[:-1])
        if not given and whole and info.data.get("source") == "monthly":
            raise ValueError(
                "is missing, and so are ghi_kwh_m2_day, peak_sun_hours and sunshine_hours; source: monthly needs one "
                "of them, twelve values"
            )
        return values

    @field_validator("file")
    @classmethod
    def _file_with_source(cls, value, info):
        source = info.data.get("source")
        if source in WITH_FILE and value is None:
            raise ValueError(f"is missing; source: {source} needs the path of a file")
        if source is not None and source not in WITH_FILE and value is not None:
            raise ValueError(
                f"is not read with source {source}; remove it, or use source: typical_year or measured"
            )
        return value

    @field_validator("series")
    @classmethod
    def _series_with_source(cls, value, info):
        source = info.data.get("source")
        if source == "measured" and value is None:
            raise ValueError("is missing; source: measured needs at least series.step and series.ghi_unit")
        if source not in ("measured", None) and value is not None:
            raise ValueError(f"is not read with source {source}; remove it, or use source: measured")
        return value

    @field_validator("satellite")
    @classmethod
    def _satellite_with_source(cls, value, info):
        source = info.data.get("source")
        if source == "satellite":
            return value or Satellite()
        if source is not None and value is not None:
            raise ValueError(f"is not read with source {source}; remove it, or use source: satellite")
        return value

    @field_validator("replay")
    @classmethod
    def _years_to_replay(cls, value, info):
        source = info.data.get("source")
        if value and source not in (*WITH_YEARS, None):
            raise ValueError(f"needs years to replay, and source {source} has none; remove it")
        return value

    @property
    def replays(self):
        """Whether measured years are run as they are."""
        return self.source in WITH_YEARS and self.replay is not False
