"""What a measured record is once it has been read and checked."""

from dataclasses import dataclass, field

import numpy as np

NAMED = 4  # runs of dates that a sentence names; the table has them all


@dataclass(frozen=True)
class Fault:
    """One kind of fault of a record: how often, when, and what was done about it.

    Parameters
    ----------
    kind : str
        What is wrong, in words before a number: "days without a value".
    runs : list of (str, str)
        First and last date of each run of days with it, ISO 8601.
    count : int
        How often; the unit stands in `kind`.
    done : str
        What was done: "set aside", "first row kept", ...
    """

    kind: str
    runs: list
    count: int
    done: str

    def sentence(self):
        """The fault with its count, first dates, and what was done."""
        names = [first if first == last else f"{first} to {last}" for first, last in self.runs[:NAMED]]
        more = f" and {len(self.runs) - NAMED} more times" if len(self.runs) > NAMED else ""
        return f"{self.kind}: {self.count} ({', '.join(names)}{more}), {self.done}."


@dataclass(frozen=True)
class Record:
    """Measured days without a break in the dates, 29 February left out; what is not known is NaN.

    Parameters
    ----------
    dates : datetime64[D] array [days]
    kt : float64 array [days]
        Daily clearness, GHI over extraterrestrial [-]; NaN where missing, at fault, or in the polar night.
    dark : bool array [days]
        Polar night: too little sun outside the atmosphere for a clearness.
    ghi : float32 array [days, 24] or None
        Global horizontal irradiation of each hour of local standard time, labelled by its beginning [Wh/m2].
    temp_air : float64 array [days] or None
        Daily mean air temperature [degC].
    temp_air_hours : float32 array [days, 24] or None
        [degC].
    temp_air_range : float64 array [days] or None
        Daily maximum less minimum [K].
    name : str
        The file, or the service.
    step : {"hourly", "daily"}
    faults : list of Fault
    """

    dates: np.ndarray
    kt: np.ndarray
    dark: np.ndarray
    ghi: np.ndarray | None
    temp_air: np.ndarray | None
    temp_air_hours: np.ndarray | None
    temp_air_range: np.ndarray | None
    name: str
    step: str
    faults: list[Fault] = field(default_factory=list)

    @property
    def month(self):
        """Calendar month of each day, 0-11; int array [days]."""
        return self.dates.astype("datetime64[M]").astype(int) % 12

    @property
    def day_of_year(self):
        """Day of a year of 365 days, 1-365; int array [days]."""
        return day_of_year(self.dates)

    @property
    def span(self):
        """First and last year in words: ``1980 to 2019``."""
        first, last = (str(day)[:4] for day in (self.dates[0], self.dates[-1]))
        return first if first == last else f"{first} to {last}"

    def sentences(self):
        """What a reader should know of the record's faults."""
        return [f"{self.name}: {fault.sentence()}" for fault in self.faults]


def day_of_year(dates):
    """Day of a year of 365 days, 1-365; 29 February counts as 28."""
    days = (dates - dates.astype("datetime64[Y]")).astype(int) + 1
    year = dates.astype("datetime64[Y]").astype(int) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return np.where(leap & (days > 59), days - 1, days)


def leap_day(dates):
    """Whether a date is a 29 February; bool array."""
    month = dates.astype("datetime64[M]")
    return (month.astype(int) % 12 == 1) & ((dates - month).astype(int) == 28)


def runs_of(dates):
    """Runs of consecutive days among sorted dates; list of (first, last) in ISO 8601."""
    dates = np.unique(dates)
    if not dates.size:
        return []
    breaks = np.flatnonzero(np.diff(dates).astype(int) > 1)
    firsts = dates[np.concatenate([[0], breaks + 1])]
    lasts = dates[np.concatenate([breaks, [dates.size - 1]])]
    return [(str(first), str(last)) for first, last in zip(firsts, lasts, strict=True)]
