"""Sections on what is wanted and how long to compute: target, sizing, engine."""

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from darkspell.core.constants import CHEMISTRIES
from darkspell.statistics.registry import PRECISION_KEYS, TARGET_KEYS
from darkspell.study.base import Faults, Name, Section, key
from darkspell.study.catalogue import AdditionalTarget, Catalogue
from darkspell.study.life_cycle import LifeCycle

LARGEST_GRID = 5000
# Measured: of a site whose loss is known, the 95 % interval holds 94 to 96 % with 200 draws of 5 years; with
# fewer years a draw, its own sampling error cannot be taken out.
MOST_DRAWS, YEARS_A_DRAW = 200, 5
MOST = {"lolp": 1, "lolh": 8760, "short_nights": 365}
Size = Annotated[float, Field(ge=1, le=1_000_000)]
PricePerAh = Annotated[float, Field(ge=0, le=1_000_000)]


class FullCharge(Section):
    """How often the bank has to be full: a lead-acid bank that waits too long hardens."""

    within_days: float = key("Longest time in a year between two full charges.", "days", low=1, high=180)
    years_pct: float = key("Share of the years that must meet it.", "%", 90, low=1, high=99)


class Target(Section):
    """What the design has to reach."""

    availability_pct: float | None = key(
        "Share of the hours in which essential loads are served, in place of the two keys below: 99.9 is lolp of at "
        "most 0.001.",
        "%",
        None,
        low=50,
        high=100,
    )
    statistic: Literal[*TARGET_KEYS] = key(
        "Mean over the years that the target limits: nights, probability, hours or kWh a year.",
        default=None,
        note="**required**, or availability_pct",
    )
    at_most: float = key(
        "The highest value accepted, in the unit of the statistic.",
        "",
        None,
        note="**required**, or availability_pct",
        low=0,
        high=1e6,
    )
    chance_pct: float = key(
        "Probability that this site meets the target, all that is not known considered, that a design must reach.",
        "%",
        80,
        low=50,
        high=99,
    )

    additional: dict[Name, AdditionalTarget] = key(
        "Further targets by name; the designer holds them all.", default={}, max_length=10, note="none"
    )

    full_charge: FullCharge | None = key(
        "How often the bank has to be full; sizing and designer keep it together with the statistic.",
        default=None,
        note="not asked",
    )

    @model_validator(mode="before")
    @classmethod
    def _from_availability(cls, given):
        """The statistic and its limit that an availability means."""
        share = given.get("availability_pct") if isinstance(given, dict) else None
        if type(share) not in (int, float) or not {"statistic", "at_most"}.isdisjoint(given):
            return given
        return given | {"statistic": "lolp", "at_most": max(0.0, round(1.0 - share / 100.0, 12))}

    @field_validator("statistic", "at_most", mode="before")
    @classmethod
    def _some_target(cls, value, info):
        if value is None:
            raise ValueError("is missing; add statistic and at_most, or availability_pct [%]")
        share = info.data.get("availability_pct")
        implied = {"statistic": "lolp", "at_most": None if share is None else round(1.0 - share / 100.0, 12)}
        if share is not None and value != implied[info.field_name]:
            raise ValueError(f"is given together with availability_pct ({share:g} %); keep one of the two")
        return value

    @field_validator("at_most")
    @classmethod
    def _possible(cls, value, info):
        most = MOST.get(info.data.get("statistic"), float("inf"))
        if value > most:
            raise ValueError(f"exceeds what {info.data['statistic']} can reach ({most}); lower it")
        return value


class Prices(Section):
    """What a design costs, in the study's currency."""

    array_per_wp: float = key("Price of the array.", "currency/Wp", low=0, high=1_000_000)
    bank_per_ah: float = key(
        "Price of the bank at the nominal voltage. A what-if with another voltage, or a file with extends or cross "
        "and no price of its own, keeps the price per Wh.",
        "currency/Ah",
        low=0,
        high=1_000_000,
    )
    bank_per_ah_by_chemistry: dict[Literal[CHEMISTRIES], PricePerAh] = key(
        "Price of a bank by chemistry, as {agm: 2.6}; of those not listed it is `bank_per_ah`, but a what-if that "
        "changes to them has no price.",
        "currency/Ah",
        default={},
        note="none",
    )
    fixed: float = key("Price of the rest, the same for all designs.", "currency", 0, low=0, high=1e9)
    fuel_per_l: float | None = key(
        "Price of the generator's fuel at the site; it gives each generator hour a price.",
        "currency/l",
        None,
        low=0,
        high=1e6,
    )
    fuel_years: float = key(
        "Years of fuel that are compared with the price of a module or a battery.",
        "years",
        10,
        low=1,
        high=50,
    )

    @field_validator("bank_per_ah_by_chemistry", mode="before")
    @classmethod
    def _known_chemistries(cls, value):
        wrong = [name for name in value if name not in CHEMISTRIES] if isinstance(value, dict) else []
        if wrong:
            raise Faults(*((str(name), f"is no chemistry; give {', '.join(CHEMISTRIES)}") for name in wrong))
        return value

    def bank_rate(self, chemistry):
        """Price of a bank of some chemistry [currency/Ah].

        Parameters
        ----------
        chemistry : str
            One of `darkspell.core.constants.CHEMISTRIES`.

        Returns
        -------
        float
            That of ``bank_per_ah_by_chemistry``, or ``bank_per_ah`` where it is not listed there.
        """
        return self.bank_per_ah_by_chemistry.get(chemistry, self.bank_per_ah)


class Sizing(Section):
    """The designs to compare."""

    array_wp: list[Size] = key(
        "Array sizes, ascending, or {from, to, steps}; the groups keep their shares.",
        "Wp",
        min_length=1,
        max_length=200,
    )
    bank_ah: list[Size] = key(
        "Bank sizes, ascending, or {from, to, steps}.", "Ah", min_length=1, max_length=200
    )
    prices: Prices = key("What they cost.")
    life_cycle: LifeCycle = key("What they cost over their life.", default=LifeCycle())
    minimise: Literal["first_cost", "life_cycle_cost"] = key(
        "Of designs that meet the target, the grid and the designer choose the least of this.",
        default="first_cost",
    )
    catalogue: Catalogue | None = key(
        "What can be bought; with it the designer picks whole pieces.", default=None
    )
    remedies: bool = key(
        "true compares remedies: one more module or battery, another tilt, one appliance less.", default=False
    )
    protected_loads: list[str] = key(
        "Loads that no remedy removes: everything that keeps people safe.",
        default=[],
        max_length=200,
        note="none; loads never disconnected are kept in any case",
    )

    @field_validator("array_wp", "bank_ah", mode="before")
    @classmethod
    def _expand(cls, value):
        return steps_of(value) if isinstance(value, dict) else value

    @field_validator("array_wp", "bank_ah")
    @classmethod
    def _ascending(cls, sizes):
        if any(later <= earlier for earlier, later in zip(sizes, sizes[1:], strict=False)):
            raise ValueError("must ascend without repeats")
        return sizes

    @field_validator("bank_ah")
    @classmethod
    def _affordable(cls, sizes, info):
        designs = len(sizes) * len(info.data.get("array_wp", ()))
        if designs > LARGEST_GRID:
            raise ValueError(f"and array_wp make {designs} designs; keep to {LARGEST_GRID}")
        return sizes


def steps_of(given):
    """Evenly spaced sizes, rounded to a tenth.

    Parameters
    ----------
    given : dict
        Keys ``from``, ``to``, ``steps``.

    Returns
    -------
    list of float

    Raises
    ------
    ValueError
        If a key is missing or unknown, or a value is out of range.
    """
    if set(given) != {"from", "to", "steps"}:
        raise ValueError("as a mapping needs exactly the keys from, to and steps")
    low, high, steps = given["from"], given["to"], given["steps"]
    if not all(type(number) in (int, float) and 0 < number <= 1_000_000 for number in (low, high)):
        raise ValueError("needs numbers above 0 for from and to")
    if type(steps) is not int or not 2 <= steps <= 200 or low >= high:
        raise ValueError("needs from below to, and steps as a whole number from 2 to 200")
    return [round(low + (high - low) * step / (steps - 1), 1) for step in range(steps)]


class Precision(Section):
    """How well the differences of the what-ifs have to be known."""

    statistic: Literal[*PRECISION_KEYS] = key(
        "The statistic whose differences count.", default="short_nights"
    )
    half_width: float = key(
        "Years are added until half of every interval is no wider than this, in the statistic's unit.",
        above=0,
        high=1e6,
    )
    max_members: int = key("Most years to simulate.", "", 16_000, low=2, high=100_000)


class Engine(Section):
    """How many years to draw, and from which seed."""

    members: int = key("Synthetic years.", "", 1000, low=1, high=100_000)
    seed: int = key("Any whole number; the same seed gives the same years.", "", 1, low=-(2**53), high=2**53)
    parameter_draws: int = key(
        "Samples of what is uncertain (climate, loads); the years are distributed over them.",
        "",
        factory=lambda given: max(1, min(MOST_DRAWS, given["members"] // YEARS_A_DRAW)),
        low=1,
        high=10_000,
        note="200, but no more than leave 5 years to each",
    )
    precision: Precision | None = key(
        "How well the what-ifs' differences have to be known; without it they meet `members` years.",
        default=None,
    )
