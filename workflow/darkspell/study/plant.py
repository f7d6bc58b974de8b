"""Sections on the hardware: system and bank."""

from typing import Literal

from pydantic import field_validator

from darkspell.constants import constant
from darkspell.study.fields import Section, key

CHEMISTRIES = ("flooded", "agm", "gel", "lfp")


class System(Section):
    """What holds for the whole system."""

    nominal_voltage_v: Literal[12, 24, 48] = key("Nominal voltage of the bank.", "V")
    cable_resistance_mohm: float = key(
        "Resistance between bank and load terminals, there and back.", "mohm", 5, low=0, high=1000
    )


def _of_chemistry(name):
    def default(before):
        chemistry = before.get("chemistry")
        return None if chemistry is None else float(constant("bank", chemistry, name))

    return default


class Bank(Section):
    """The battery bank."""

    chemistry: Literal["flooded", "agm", "gel", "lfp"] = key(
        "flooded, agm or gel lead-acid, or lfp (lithium iron phosphate)."
    )
    capacity_ah: float = key("Rated capacity of the whole bank.", "Ah", above=0, high=100_000)
    rate_h: float = key("Discharge time at which that capacity is rated.", "h", 20, low=1, high=120)
    age_capacity_pct: float = key(
        "Capacity present over rated: 100 new, 80 at the usual end of life.", "%", 100, low=20, high=100
    )
    location: Literal["outdoors", "indoors"] = key(
        "outdoors follows the air temperature; indoors stays between the two below.", default="outdoors"
    )
    indoor_min_c: float = key("Lowest temperature at the bank indoors.", "degC", 10, low=-40, high=50)
    indoor_max_c: float = key("Highest temperature at the bank indoors.", "degC", 25, low=-40, high=60)
    depth_limit_pct: float | None = key(
        "Depth of discharge at which the load is cut off whatever the voltage.",
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
        "State of charge at which a cut-off load comes back.",
        "%",
        factory=_of_chemistry("reconnect_soc_pct"),
        note="by chemistry",
        low=1,
        high=100,
    )
    standing_draw_w: float = key(
        "What goes on drawing after cut-off: monitor, controller, protection.", "W", 0.5, low=0, high=500
    )

    @field_validator("indoor_max_c")
    @classmethod
    def _indoor_order(cls, value, info):
        low = info.data.get("indoor_min_c")
        if low is not None and value < low:
            raise ValueError(f"lies below indoor_min_c ({low:g} degC); exchange the two or raise it")
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
