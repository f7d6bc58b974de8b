"""Section on the people: when they are there, who comes, and what they do about a low reading."""

from typing import Literal

from pydantic import field_validator

from darkspell.study.base import Faults, Name, Section, key
from darkspell.study.dates import Span, shared_days
from darkspell.study.days_and_months import DaysAtHome, Months


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
            raise ValueError(f"is below below_soc_pct ({below:g} %); raise it or leave it out")
        return until


class Unattended(Section):
    """How long the place may be left to itself."""

    start_months: Months = key(
        "Months on whose first day everybody leaves, with the bank full.", "", list(range(1, 13)), note="all"
    )
    longest_days: int = key("Longest time that is examined.", "days", 180, low=1, high=365)
    probability_pct: float = key(
        "Probability with which the loads that stay on must last.", "%", 90, above=0, high=100
    )


class Occupancy(Section):
    """When people are there, and how they use energy."""

    stays: dict[Name, Span] = key(
        "Spans of days on which they are there, by name; nobody is there on other days, except as at_home says.",
        default={},
        max_length=50,
        note="none",
    )
    at_home: DaysAtHome | None = key(
        "Days of the week on which they are there outside their absences: all_days, weekdays, weekends, or by name "
        "as in Fri-Sun or [Mon, Thu].",
        default=None,
        note="`all_days`; none with stays",
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

    @field_validator("stays")
    @classmethod
    def _one_stay_at_a_time(cls, stays):
        _refuse_shared(stays, "stay")
        return stays

    @field_validator("at_home")
    @classmethod
    def _days_there(cls, days, info):
        stays = info.data.get("stays")
        if stays and days == "all_days":
            raise ValueError("leaves no day for stays to add; leave one of the two out")
        return "all_days" if days is None and not stays else days

    @field_validator("absences")
    @classmethod
    def _apart(cls, absences, info):
        _refuse_shared(absences, "absence")
        for name, absence in absences.items():
            for other, stay in info.data.get("stays", {}).items():
                if set(absence.days) & set(stay.days):
                    raise Faults((name, f"shares days with the stay {other}; part the dates"))
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
