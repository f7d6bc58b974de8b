"""Sections on the client and the place: study, site, climate."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.fields import Section, key

Temperature = Annotated[float, Field(ge=-70, le=55)]
Irradiation = Annotated[float, Field(ge=0, le=13)]
Height = Annotated[float, Field(ge=0, le=80)]
Clearness = Annotated[float, Field(gt=0, le=0.9)]


class About(Section):
    """Who asks and who answers; text that is only ever printed."""

    title: str = key("Title of the proposal.", max_length=200, min_length=1)
    client: str = key("Whom the proposal is for.", max_length=200, min_length=1)
    prepared_by: str = key("Who prepared it.", max_length=200, min_length=1)
    note: str = key("Free text under the title; say here what is invented.", default="", max_length=2000)
    currency: str = key("Currency of the prices; a label only.", default="EUR", max_length=12, min_length=1)


def _time_zone(before):
    return float(round(before.get("longitude_deg", 0) / 15))


def _sunny_half(before):
    return "july" if before.get("latitude_deg", 0) >= 0 else "january"


class Site(Section):
    """Where the system stands."""

    name: str = key("Name of the place.", max_length=200, min_length=1)
    latitude_deg: float = key("Latitude, north positive.", "deg", low=-80, high=80)
    longitude_deg: float = key("Longitude, east positive.", "deg", low=-180, high=180)
    altitude_m: float = key("Height above the sea.", "m", 0, low=-450, high=6000)
    utc_offset_h: float = key(
        "Local standard time less UTC, without summer time.",
        "h",
        factory=_time_zone,
        note="longitude / 15, rounded",
        low=-12,
        high=14,
    )
    albedo: float = key(
        "Share of light that the ground reflects; fresh snow about 0.8.", "-", 0.2, low=0, high=1
    )
    horizon_deg: list[Height] = key(
        "Heights of the skyline in directions evenly spaced from north through east; [0] for a free view.",
        "deg",
        [0.0],
        min_length=1,
        max_length=360,
        note="0",
    )
    record_low_temperature_c: float | None = key(
        "Lowest air temperature on record, for the voltage of cold strings.", "degC", None, low=-70, high=40
    )
    year_starts: Literal["july", "january"] = key(
        "First month of the study year; the sunny half keeps winter whole.",
        factory=_sunny_half,
        note="july north of the equator, january south",
    )

    @property
    def start_month(self):
        """Calendar month (1-12) with which the study year begins."""
        return 7 if self.year_starts == "july" else 1


class Climate(Section):
    """Where the knowledge of the weather comes from."""

    source: Literal["atlas", "monthly", "typical_year"] = key(
        "atlas: the built-in one (land only); monthly: twelve values typed in; typical_year: a weather file."
    )
    ghi_kwh_m2_day: list[Irradiation] | None = key(
        "Mean daily irradiation on the flat, January to December; for source monthly.", "kWh/m2/day", None
    )
    clearness_index: list[Clearness] | None = key(
        "Monthly clearness index in place of the irradiation, January to December; for source monthly.",
        "-",
        None,
    )
    temp_air_c: list[Temperature] | None = key(
        "Mean air temperature, January to December; for source monthly.",
        "degC",
        None,
        note="from the atlas",
    )
    file: str | None = key(
        "Weather file, relative to the study file, or pvlib:<name> for one in pvlib's own data folder; "
        "for source typical_year.",
        default=None,
        max_length=500,
        min_length=1,
    )

    @field_validator("ghi_kwh_m2_day", "clearness_index", "temp_air_c")
    @classmethod
    def _twelve(cls, values, info):
        if values is not None and len(values) != 12:
            raise ValueError(f"has {len(values)} values; give twelve, January to December")
        if values is not None and info.data.get("source", "monthly") != "monthly":
            raise ValueError(
                f"is not read with source {info.data['source']}; remove it, or use source: monthly"
            )
        return values

    @field_validator("clearness_index")
    @classmethod
    def _not_both(cls, values, info):
        if values is not None and info.data.get("ghi_kwh_m2_day") is not None:
            raise ValueError("is given beside ghi_kwh_m2_day; keep one of the two")
        missing = values is None and info.data.get("ghi_kwh_m2_day", 0) is None
        if missing and info.data.get("source") == "monthly":
            raise ValueError(
                "and ghi_kwh_m2_day are both missing; source: monthly needs one of them, twelve values"
            )
        return values

    @field_validator("file")
    @classmethod
    def _file_with_source(cls, value, info):
        source = info.data.get("source")
        if source == "typical_year" and value is None:
            raise ValueError("is missing; source: typical_year needs the path of a weather file")
        if source in ("atlas", "monthly") and value is not None:
            raise ValueError(f"is not read with source {source}; remove it, or use source: typical_year")
        return value
