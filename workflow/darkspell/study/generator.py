"""Section on a generator: when it starts and stops, what it gives, what it burns."""

from pydantic import field_validator

from darkspell.core.constants import constant
from darkspell.study.base import Section, key
from darkspell.study.times_of_day import ClockTime, hours_of


class Generator(Section):
    """A generator with its charger, started and stopped by the bank's state of charge."""

    charge_w: float = key(
        "Output of its charger at the bank's terminals; less where the bank accepts less.",
        "W",
        above=0,
        high=100_000,
    )
    start_soc_pct: float = key(
        "State of charge at which it starts; it also starts when loads have been cut off.",
        "%",
        30,
        low=1,
        high=95,
    )
    stop_soc_pct: float = key("State of charge at which it stops.", "%", 80, low=2, high=100)
    window: list[ClockTime] = key(
        "Times of day between which it may run, local standard time; may pass midnight.",
        "HH:MM",
        ["08:00", "20:00"],
        min_length=2,
        max_length=2,
    )
    rated_w: float | None = key(
        "Rated power of the generator itself, for its fuel.",
        "W",
        None,
        note="charge_w and a quarter",
        above=0,
        high=200_000,
    )
    fuel_idle_l_per_h_kw: float = key(
        "Fuel used per hour at no load, per kilowatt of rated power.",
        "l/h/kW",
        constant("bank", "common", "generator_fuel_idle"),
        low=0,
        high=2,
    )
    fuel_l_per_kwh: float = key(
        "Additional fuel per kilowatt-hour to the bank or the loads.",
        "l/kWh",
        constant("bank", "common", "generator_fuel_energy"),
        low=0,
        high=3,
    )

    @field_validator("stop_soc_pct")
    @classmethod
    def _stops_above_its_start(cls, stop, info):
        start = info.data.get("start_soc_pct")
        if start is not None and stop <= start:
            raise ValueError(f"is not above start_soc_pct ({start:g} %); raise it")
        return stop

    @field_validator("window")
    @classmethod
    def _some_hours(cls, hours):
        if hours[0] == hours[1]:
            raise ValueError(f'begin and end at {hours[0]}; for the whole day give "00:00" and "24:00"')
        return hours

    @property
    def window_hours(self):
        """Hours of the day between which it may run [h]."""
        return tuple(hours_of(clock) for clock in self.window)

    @property
    def fuel_idle_l_per_h(self):
        """Fuel of an hour's running without load [l/h]."""
        rated = 1.25 * self.charge_w if self.rated_w is None else self.rated_w
        return self.fuel_idle_l_per_h_kw * rated / 1000.0
