"""Sections on what can be bought, and on what else the design has to reach."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from darkspell.statistics.registry import ADDITIONAL_MONTHLY_KEYS, ADDITIONAL_YEARLY_KEYS, AUTONOMY_KINDS
from darkspell.study.base import Name, Section, key
from darkspell.study.typing_slips import compass_degrees


class AdditionalTarget(Section):
    """A further target: on the mean over the years, or kept in a stated share of them."""

    statistic: Literal[*AUTONOMY_KINDS, *ADDITIONAL_YEARLY_KEYS, "days_with_full_charge"] = key(
        "What it limits: a column of members.csv, of months.csv with `month`, or days of autonomy."
    )
    at_most: float | None = key(
        "The highest value accepted, in the statistic's unit.", "", None, low=0, high=1e6
    )
    at_least: float | None = key(
        "The lowest value accepted, in the statistic's unit.", "", None, low=0, high=1e6
    )
    month: int | None = key(
        "Month that it applies to, 1 to 12; the whole year if left out.", "", None, low=1, high=12
    )
    years_pct: float | None = key(
        "Share of years that must meet it; without it, the mean over the years.",
        "%",
        None,
        low=1,
        high=99.9,
    )

    @model_validator(mode="after")
    def _sensible(self):
        if (self.at_most is None) == (self.at_least is None):
            raise ValueError("needs either at_most or at_least")
        if self.statistic in AUTONOMY_KINDS and (
            None in (self.month, self.years_pct) or self.at_least is None
        ):
            raise ValueError(f"{self.statistic} needs month, at_least and years_pct")
        if self.statistic in AUTONOMY_KINDS and not 1 <= self.at_least <= 60:
            raise ValueError("days of autonomy are followed from 1 to 60; change at_least")
        allowed = (
            ADDITIONAL_YEARLY_KEYS if self.month is None else (*ADDITIONAL_MONTHLY_KEYS, *AUTONOMY_KINDS)
        )
        if self.statistic not in allowed:
            other = "give a month" if self.month is None else "leave month out"
            raise ValueError(f"{self.statistic} is not known for that span; {other}")
        return self


class SoldModule(Section):
    """A module as it is sold."""

    power_wp: float = key("Power of one module.", "Wp", above=0, high=2000)
    price: float = key("Price of one, with its share of frame and cable.", "currency", low=0, high=1e6)
    modules_per_string: int = key(
        "Modules that one string takes; arrays grow by whole strings.", "", 1, low=1, high=30
    )
    max_count: int = key("Largest number of modules that fit.", "", 20, low=1, high=500)


class SoldBlock(Section):
    """A battery as it is sold."""

    capacity_ah: float = key("Rated capacity of one, at the bank's rate.", "Ah", above=0, high=10_000)
    nominal_voltage_v: Literal[2, 6, 12, 24, 48] = key("Nominal voltage of one.", "V")
    price: float = key("Price of one.", "currency", low=0, high=1e6)
    max_in_parallel: int = key("Strings of them that may be joined in parallel.", "", 4, low=1, high=60)


class SoldController(Section):
    """A charge controller as it is sold."""

    current_limit_a: float = key("Highest charging current that it passes.", "A", above=0, high=2000)
    price: float = key("Price of one.", "currency", low=0, high=1e6)
    input_voltage_max_v: float | None = key(
        "Maximum input voltage; not checked if left out.", "V", None, above=0, high=1500
    )


def _direction(value):
    degrees = compass_degrees(value)
    return value if degrees is None else degrees


class Catalogue(Section):
    """What can be bought: the designer puts whole pieces together."""

    modules: dict[Name, SoldModule] = key("Modules by name.", min_length=1, max_length=5)
    blocks: dict[Name, SoldBlock] = key("Batteries by name.", min_length=1, max_length=5)
    controllers: dict[Name, SoldController] = key(
        "Controllers by name; without any the study's, growing with the array.",
        default={},
        max_length=6,
        note="none",
    )
    tilts_deg: list[Annotated[float, Field(ge=0, le=90)]] = key(
        "Tilts tried, the same for all arrays; none: as in the study.",
        "deg",
        default=[],
        max_length=6,
        note="none",
    )
    azimuths_deg: list[Annotated[float, Field(ge=0, le=360), BeforeValidator(_direction)]] = key(
        "Azimuths tried, the same for all arrays; none: as in the study.",
        "deg",
        default=[],
        max_length=6,
        note="none",
    )
