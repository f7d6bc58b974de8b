"""Chargers other than the arrays: an engine's alternator, a shore line, a small turbine."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.base import Faults, Name, Section, key
from darkspell.study.dates import Span, shared_days
from darkspell.study.days_and_months import Days, Months
from darkspell.study.times_of_day import ClockTime, some_length, start_and_length

KIND = (
    "alternator: an engine's, through a DC-DC charger; shore: a charger on a shore line; turbine: hours from "
    "a file."
)
PAST = "true if its current does not pass the shunt."
WINDOW = "Between which times of day, local standard time; may pass midnight."


class _Timed(Section):
    """What alternator and shore line share."""

    @field_validator("window", check_fields=False)
    @classmethod
    def _has_length(cls, window):
        return some_length(window)

    @field_validator("hours_per_day", check_fields=False)
    @classmethod
    def _fits(cls, hours, info):
        window = info.data.get("window")
        if window is not None and hours > start_and_length(window)[1] + 1e-9:
            raise ValueError(
                f"does not fit into a window of {start_and_length(window)[1]:g} h; widen it or lower the hours"
            )
        return hours

    @property
    def window_hours(self):
        """Start of the window [h of the day, 0-24) and its length [h], midnight passed if need be."""
        return start_and_length(self.window)


class Alternator(_Timed):
    """An engine's alternator through a DC-DC charger."""

    kind: Literal["alternator"] = key(KIND)
    bypasses_shunt: bool = key(PAST, default=False)
    charger_a: float = key("Current that the DC-DC charger passes into the bank.", "A", above=0, high=1000)
    label_a: float = key("Current on the alternator's label.", "A", above=0, high=2000)
    window: list[ClockTime] = key(WINDOW, "HH:MM", ["08:00", "20:00"], min_length=2, max_length=2)
    hours_per_day: float = key("Hours that the engine runs on a day of use.", "h", above=0, high=24)
    chance_of_use_pct: float = key("Share of these days on which it runs.", "%", 100, above=0, high=100)
    spread_pct: float = key("Standard deviation of the hours, day to day.", "%", 50, low=0, high=200)
    months: Months = key("Months in which it runs, as for loads.", "", list(range(1, 13)), note="all")
    days: Days = key("Days of the week on which it runs, as for loads.", default="all")
    every_days: int = key(
        "n: it runs on every n-th day only, counted from the first day of the study year.",
        "days",
        1,
        low=1,
        high=180,
    )


class Shore(_Timed):
    """A charger on a shore line, on nights in port."""

    kind: Literal["shore"] = key(KIND)
    bypasses_shunt: bool = key(PAST, default=False)
    charger_a: float = key("Current that the charger gives.", "A", above=0, high=2000)
    window: list[ClockTime] = key(WINDOW, "HH:MM", ["18:00", "08:00"], min_length=2, max_length=2)
    chance_of_use_pct: float = key("Share of nights in port.", "%", 100, above=0, high=100)
    months: Months = key(
        "Months in which there are such nights, as for loads.", "", list(range(1, 13)), note="all"
    )
    stays: dict[Name, Span] = key(
        "Spans of days in port, by name; only on them, where there are any.",
        default={},
        max_length=50,
        note="none",
    )

    @field_validator("stays")
    @classmethod
    def _apart(cls, stays):
        for one, other in shared_days(stays):
            raise Faults((other, f"shares days with the stay {one}; part the dates"))
        return stays


class Turbine(Section):
    """A small wind or water turbine, as hours from a file."""

    kind: Literal["turbine"] = key(KIND)
    bypasses_shunt: bool = key(PAST, default=False)
    file: str = key(
        "CSV file next to the study file: a header, then one row an hour, mean watts at the bank in the last "
        "column; whole calendar years begun in January, each member takes one of them.",
        max_length=500,
        min_length=1,
    )
    share_pct: float = key("Share of the file's power that is counted.", "%", 100, above=0, high=1000)


Charger = Annotated[Alternator | Shore | Turbine, Field(discriminator="kind")]
