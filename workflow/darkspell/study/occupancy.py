"""Section on the people: when they are there, who comes, and what they do about a low reading."""

from typing import Literal

from pydantic import field_validator

from darkspell.study.base import Faults, Name, Section, key
from darkspell.study.dates import Month, Span, shared_days


class Visit(Span):
    """Guests, from the first to the last day."""

    more_pct: float = key("Increase of the loads marked increases_with_guests.", "%", 50, low=0, high=1000)


def _a_little_above(before):
    return min(before.get("below_soc_pct", 50) + 10.0, 100.0)


class Saving(Section):
    """What people do once the monitor reads low: they ask for less."""

    below_soc_pct: float = key("Reading at 18:00 below which they begin to save.", "%", 50, above=0, high=100)
    until_soc_pct: float = key(
        "Reading at 18:00 at which they stop.",
        "%",
        factory=_a_little_above,
        note="below_soc_pct + 10, at most 100",
        above=0,
        high=100,
    )
    less_pct: float = key("Reduction of their use while they save.", "%", 30, above=0, high=100)
    loads: Literal["deferrable", "all"] = key(
        "Which loads they save on; all: essential ones too, but never those of tier uninterruptible.",
        default="deferrable",
    )

    @field_validator("until_soc_pct")
    @classmethod
    def _above(cls, until, info):
        below = info.data.get("below_soc_pct")
        if below is not None and until < below:
            raise ValueError(f"lies below below_soc_pct ({below:g} %); raise it or leave it out")
        return until


class Unattended(Section):
    """How long the place may be left to itself."""

    start_months: list[Month] = key(
        "Months on whose first day everybody leaves, with the bank full.",
        "",
        list(range(1, 13)),
        min_length=1,
        max_length=12,
        note="all",
    )
    longest_days: int = key("Longest time that is examined.", "days", 180, low=1, high=365)
    probability_pct: float = key(
        "Probability with which the loads that stay on must last.", "%", 90, above=0, high=100
    )

    @field_validator("start_months")
    @classmethod
    def _months(cls, months):
        if sorted(set(months)) != months:
            raise ValueError("must hold months from 1 to 12, ascending without repeats")
        return months


class Occupancy(Section):
    """When people are there, and how they use energy."""

    at_home: Literal["all_days", "weekdays", "weekends"] = key(
        "Days on which they are there outside their absences; weekends are Saturday and Sunday.",
        default="all_days",
    )
    absences: dict[Name, Span] = key(
        "Spans of days on which nobody is there, by name.", default={}, max_length=50, note="none"
    )
    guests: dict[Name, Visit] = key(
        "Spans of days with guests, by name.", default={}, max_length=50, note="none"
    )
    saving: Saving | None = key("What they do about a low reading; off without it.", default=None)
    unattended: Unattended | None = key(
        "Asks how long the place may be left to itself; not asked without it.", default=None
    )

    @field_validator("absences")
    @classmethod
    def _apart(cls, absences):
        _refuse_shared(absences, "absence")
        return absences

    @field_validator("guests")
    @classmethod
    def _hosted(cls, guests, info):
        _refuse_shared(guests, "visit")
        for name, visit in guests.items():
            for other, absence in info.data.get("absences", {}).items():
                if set(visit.days) & set(absence.days):
                    text = f"shares days with the absence {other}; guests need their hosts: part the dates"
                    raise Faults((name, text))
        return guests


def _refuse_shared(spans, word):
    for one, other in shared_days(spans):
        text = f"shares days with the {word} {one} ({spans[one].first} to {spans[one].last}); part the dates"
        raise Faults((other, text))
