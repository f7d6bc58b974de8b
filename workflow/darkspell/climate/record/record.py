"""A measured record after reading and quality checks."""

from dataclasses import dataclass, field

import numpy as np

NAMED = 4  # runs of dates in a sentence; the table has all of them


@dataclass(frozen=True)
class Fault:
    """One kind of fault in a record: count, dates and treatment.

    Parameters
    ----------
    kind : str
        The fault, worded to precede a number: "days without a value".
    runs : list of (str, str)
        First and last date of each run of days with it, ISO 8601.
    count : int
        Number of cases; `kind` states the unit.
    done : str
        Treatment: "set aside", "first row kept", ...
    """

    kind: str
    runs: list
    count: int
    done: str

    def sentence(self):
        """The fault with its count, first dates and treatment."""
        names = [first if first == last else f"{first} to {last}" for first, last in self.runs[:NAMED]]
        more = f" and {len(self.runs) - NAMED} more times" if len(self.runs) > NAMED else ""
        return f"{self.kind}: {self.count} ({', '.join(names)}{more}), {self.done}."


@dataclass(frozen=True)
class Record:
    """Consecutive measured days without 29 February; unknown values are NaN.

    Parameters
    ----------
    dates : datetime64[D] array [days]
    kt : float64 array [days]
        Daily clearness, GHI over extraterrestrial irradiation [-]; NaN where missing, faulty or polar night.
    dark : bool array [days]
        Polar night: too little extraterrestrial irradiation to define clearness.
    ghi : float32 array [days, 24] or None
        Global horizontal irradiation of each hour of local standard time, labelled by its beginning [Wh/m2].
    temp_air : float64 array [days] or None
        Daily mean air temperature [degC].
    temp_air_hours : float32 array [days, 24] or None
        [degC].
    temp_air_range : float64 array [days] or None
        Daily maximum minus minimum [K].
    name : str
        The file, or the service.
    step : {"hourly", "daily"}
    faults : list of Fault
    wind_hours : float32 array [days, 24], optional
        Wind speed of each hour [m/s]; NaN where missing.
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
    wind_hours: np.ndarray | None = None

    @property
    def wind_in_sun(self):
        """Mean wind of the hours, weighted by their irradiation [m/s]; None where it was not measured."""
        if self.wind_hours is None or not np.isfinite(self.wind_hours).any():
            return None
        light = np.where(np.isfinite(self.wind_hours), np.nan_to_num(self.ghi), 0.0).astype(float)
        return float((light * np.nan_to_num(self.wind_hours)).sum() / light.sum())

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
        """Faults of the record, in sentences."""
        return [f"{self.name}: {fault.sentence()}" for fault in self.faults]


def day_of_year(dates):
    """Day of a year of 365 days; 29 February counts as 28 February.

    Parameters
    ----------
    dates : datetime64[D] array [days]

    Returns
    -------
    int array [days]
        1-365.
    """
    days = (dates - dates.astype("datetime64[Y]")).astype(int) + 1
    year = dates.astype("datetime64[Y]").astype(int) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return np.where(leap & (days > 59), days - 1, days)


def leap_day(dates):
    """Whether a date is 29 February.

    Parameters
    ----------
    dates : datetime64[D] array [days]

    Returns
    -------
    bool array [days]
    """
    month = dates.astype("datetime64[M]")
    return (month.astype(int) % 12 == 1) & ((dates - month).astype(int) == 28)


def runs_of(dates):
    """Runs of consecutive days.

    Parameters
    ----------
    dates : datetime64[D] array [days]

    Returns
    -------
    list of (str, str)
        First and last date of each run, ISO 8601.
    """
    dates = np.unique(dates)
    if not dates.size:
        return []
    breaks = np.flatnonzero(np.diff(dates).astype(int) > 1)
    firsts = dates[np.concatenate([[0], breaks + 1])]
    lasts = dates[np.concatenate([breaks, [dates.size - 1]])]
    return [(str(first), str(last)) for first, last in zip(firsts, lasts, strict=True)]
