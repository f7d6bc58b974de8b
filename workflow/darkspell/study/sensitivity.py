"""Sections on the ranges within which the inputs may lie."""

from typing import Literal

from pydantic import model_validator

from darkspell.statistics.registry import SENSITIVITY_KEYS
from darkspell.study.base import Name, Section, key


class Input(Section):
    """One input and its range."""

    low: float = key("Lower end of its range, in the unit of the key.", low=-1e6, high=1e6)
    high: float = key("Upper end of its range.", low=-1e6, high=1e6)
    kind: Literal["chosen", "unknown"] = key("chosen: a decision; unknown: an uncertain value.")
    key: str = key("The key that it changes, dotted, as in a what-if; a number.", max_length=120)

    @model_validator(mode="after")
    def _order(self):
        if self.low >= self.high:
            raise ValueError(f"low ({self.low:g}) is not below high ({self.high:g}); exchange the two")
        return self


class Sensitivity(Section):
    """Which inputs move the answer: every input by itself, from many starting points."""

    statistic: Literal[*SENSITIVITY_KEYS] = key(
        "The yearly mean whose changes are ranked.", default="eue_kwh"
    )
    trajectories: int = key("Starting points, drawn evenly over the ranges.", "", 10, low=4, high=200)
    members: int = key("Synthetic years at each point, the same at all.", "", 128, low=16, high=10_000)
    inputs: dict[Name, Input] = key("Inputs by name.", min_length=2, max_length=30)
