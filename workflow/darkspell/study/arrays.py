"""Sections on what the sun does for the bank: arrays, their shadows, controllers."""

from math import isclose
from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.base import Name, Section, key
from darkspell.study.dates import CalendarDate, month_and_day
from darkspell.study.days_and_months import Months
from darkspell.study.typing_slips import compass_degrees

Tilt = Annotated[float, Field(ge=0, le=90)]
Share = Annotated[float, Field(ge=0, le=100)]


class Shade(Section):
    """An object that shades an array: a mast, a vent, a tree, a parapet."""

    from_deg: float = key(
        "Direction of its first edge, clockwise from north (from the bow where the array turns).",
        "deg",
        low=0,
        high=360,
    )
    to_deg: float = key("Direction of its other edge, clockwise of the first.", "deg", low=0, high=360)
    height_deg: float = key(
        "Elevation of its top above the horizontal, seen from the array.", "deg", above=0, high=90
    )
    touched_pct: float = key(
        "Share of the array's cell groups that its shadow touches at a time; small for a narrow object.",
        "%",
        100,
        above=0,
        high=100,
    )
    opacity_pct: float = key(
        "Share of the light that it blocks; perhaps half for a bare tree.", "%", 100, above=0, high=100
    )
    months: Months = key(
        "Months in which it is there or in leaf, as for loads.", "", list(range(1, 13)), note="all"
    )


def _standing_loss(tenth, info):
    """Refuse an efficiency at a tenth that leaves a running controller no loss of its own."""
    half, full = info.data.get("efficiency_pct"), info.data.get("efficiency_full_pct")
    if tenth is None or half is None:
        return tenth
    lost = 100.0 - half
    at_full = 1.1 * lost if full is None else 100.0 - full
    if tenth > half + 0.8 * (at_full - lost) + 1e-9:
        raise ValueError(
            f"is too good for {half:g} % at half and {100.0 - at_full:g} % at full power: a converter draws "
            "something by itself; check the three"
        )
    return tenth


def _half_load():
    return key("Output power over input power, at half of its rated power.", "%", 96, low=50, high=100)


def _full_load():
    meaning = "The same at its rated power: its current limit, or the power of its arrays; not for pwm."
    return key(meaning, "%", None, note="its loss a tenth more", low=50, high=100)


def _tenth_load():
    note = "its loss a third larger, not exactly known"
    return key("The same at a tenth of its rated power; not for pwm.", "%", None, note=note, low=30, high=100)


def _current_limit():
    return key("Highest charging current that it passes.", "A", None, note="no limit", above=0, high=2000)


class OwnController(Section):
    """A controller that serves one array alone."""

    kind: Literal["mppt", "pwm"] = key(
        "mppt tracks the maximum power point; pwm connects the array to the bank.", default="mppt"
    )
    efficiency_pct: float = _half_load()
    efficiency_full_pct: float | None = _full_load()
    efficiency_10_pct: float | None = _tenth_load()
    current_limit_a: float | None = _current_limit()
    start_voltage_v: float | None = key(
        "Array voltage above which it starts, from its data sheet.", "V", None, above=0, high=1500
    )
    self_consumption_w: float = key("Power that it always draws.", "W", 0, low=0, high=100)

    _standing = field_validator("efficiency_10_pct")(_standing_loss)


def _of_modules(before):
    count, each = before.get("modules"), before.get("module_wp")
    return None if None in (count, each) else count * each


class Array(Section):
    """One group of modules that face one way."""

    modules: int | None = key(
        "Number of modules, with module_wp in place of power_wp.", "", None, low=1, high=2000
    )
    module_wp: float | None = key(
        "Power of one module at standard test conditions, from its label.", "Wp", None, above=0, high=2000
    )
    power_wp: float = key(
        "Power of the group at standard test conditions (STC).",
        "Wp",
        factory=_of_modules,
        note="**required**, or modules and module_wp",
        above=0,
        high=100_000,
    )
    tilt_deg: float = key("Tilt of the modules, 0 horizontal, 90 vertical.", "deg", low=0, high=90)
    azimuth_deg: float = key(
        "Direction that the modules face, 0 north, 90 east, 180 south, or a compass word such as south or SSW; from "
        "the bow with any_heading.",
        "deg",
        low=0,
        high=360,
    )
    tilt_by_date: dict[CalendarDate, Tilt] = key(
        'Tilts set by hand during the year, "MM-DD" to degrees; they replace tilt_deg.',
        "deg",
        default={},
        max_length=24,
        note="none",
    )
    any_heading: bool = key("true on a boat or vehicle: all headings are equally likely.", default=False)
    mounting: Literal["open", "roof", "deck"] = key(
        "Ventilation of the back of the modules: open rack, close to a roof, flat on a deck.", default="open"
    )
    loss_pct: float = key(
        "Constant loss: everything that the keys below do not cover.", "%", 10, low=0, high=95
    )
    mismatch_pct: float = key("Loss because the modules of a string differ slightly.", "%", 0, low=0, high=50)
    wiring_pct: float = key(
        "Loss in the cables in full sun; it grows with the current.", "%", 0, low=0, high=30
    )
    age_years: float = key("Age of the modules.", "years", 0, low=0, high=60)
    ageing_pct_year: float = key("Power lost for each year of age.", "%/year", 0.5, low=0, high=5)
    soiling_pct: list[Share] = key(
        "Light lost to dirt, January to December.", "%", [0.0] * 12, min_length=12, max_length=12, note="0"
    )
    temp_coefficient_pct_k: float = key(
        "Change of power with cell temperature.", "%/K", -0.35, low=-1, high=0
    )
    efficiency_200_pct: float | None = key(
        "Efficiency at 200 W/m2 over that at 1000 W/m2, from the data sheet (IEC 61853-1).",
        "%",
        None,
        low=70,
        high=110,
        note="96.8",
    )
    glass: Literal["anti_reflective", "plain", "none"] = key(
        "Cover of the modules, which reflects slanting light; none: loss_pct contains it already.",
        default="anti_reflective",
    )
    modules_in_series: int = key("Modules in one string.", "", 1, low=1, high=30)
    module_voc_v: float | None = key(
        "Open-circuit voltage of one module at 25 degC, from its label.", "V", None, low=1, high=200
    )
    module_voc_temp_coefficient_pct_k: float = key(
        "Change of open-circuit voltage with cell temperature.", "%/K", -0.28, low=-1, high=0
    )
    module_vmp_v: float | None = key(
        "Voltage of one module at maximum power and 25 degC, from its label; for hot strings and for PWM.",
        "V",
        None,
        note="by module_voc_v",
        low=1,
        high=200,
    )
    module_isc_a: float | None = key(
        "Short-circuit current of one module at 25 degC, from its label. With module_vmp_v and module_wp it gives "
        "the current through a PWM controller: the mean of this and of the current at maximum power.",
        "A",
        None,
        note="by module_wp, modules of 18 V",
        above=0,
        high=50,
    )
    module_isc_temp_coefficient_pct_k: float = key(
        "Change of short-circuit current with cell temperature; it acts on the current through a PWM controller.",
        "%/K",
        0,
        low=-0.2,
        high=0.3,
    )
    shades: dict[Name, Shade] = key("Objects that shade it, by name.", default={}, max_length=50, note="none")
    shade_groups: int = key(
        "Groups of cells, each with a bypass diode (or a string of its own), in the whole array.",
        "",
        3,
        low=1,
        high=10_000,
    )
    shade_wiring: Literal["series", "parallel"] = key(
        "series: a shaded group is bypassed or limits the others; parallel: each group loses only its own light.",
        default="series",
    )
    snow: Literal["slides", "held", "swept"] = key(
        "What becomes of snow on it. slides: off by itself with sun, warmth and slope; held: by a rail, a ledge or a "
        "drift below until it melts; swept: somebody clears it every time.",
        default="slides",
    )
    own_controller: OwnController | None = key(
        "A controller of its own; without one it hangs on the study's.", default=None
    )

    @field_validator("power_wp", mode="before")
    @classmethod
    def _by_count(cls, power, info):
        count, each = info.data.get("modules"), info.data.get("module_wp")
        if power is None:
            other = "module_wp [Wp]" if count else "modules and module_wp [Wp]"
            raise ValueError(f"is missing; add it [Wp], or {other}")
        together = None if None in (count, each) else count * each
        if together and type(power) in (int, float) and not isclose(power, together, rel_tol=1e-9):
            raise ValueError(
                f"is not modules x module_wp ({count} x {each:g} Wp = {together:g} Wp); leave one out"
            )
        return power

    @field_validator("module_isc_a")
    @classmethod
    def _with_the_rest_of_the_label(cls, amps, info):
        each, volts = info.data.get("module_wp"), info.data.get("module_vmp_v")
        if amps is not None and None in (each, volts):
            raise ValueError("needs module_wp and module_vmp_v too; add them, or leave it out")
        if amps is not None and amps < each / volts:
            text = f"is below the current at maximum power ({each:g} Wp / {volts:g} V = {each / volts:.2f} A)"
            raise ValueError(f"{text}; check the three on the label")
        return amps

    @field_validator("module_vmp_v")
    @classmethod
    def _below_open_circuit(cls, volts, info):
        most = info.data.get("module_voc_v")
        if None not in (volts, most) and volts >= most:
            raise ValueError(f"is not below module_voc_v ({most:g} V); exchange the two")
        return volts

    @field_validator("azimuth_deg", mode="before")
    @classmethod
    def _compass(cls, value):
        degrees = compass_degrees(value)
        return value if degrees is None else degrees

    @field_validator("tilt_by_date")
    @classmethod
    def _dates(cls, dates):
        for date in dates:
            month_and_day(date)
        return dict(sorted(dates.items()))

    @property
    def tilts(self):
        """Dates from which each tilt is set, as (month, day, degrees)."""
        if not self.tilt_by_date:
            return ((1, 1, self.tilt_deg),)
        return tuple((*month_and_day(date), tilt) for date, tilt in self.tilt_by_date.items())


class Controller(Section):
    """The charge controller between arrays and bank."""

    kind: Literal["mppt", "pwm"] = key(
        "mppt tracks the maximum power point; pwm connects the array to the bank."
    )
    efficiency_pct: float = _half_load()
    efficiency_full_pct: float | None = _full_load()
    efficiency_10_pct: float | None = _tenth_load()
    current_limit_a: float | None = _current_limit()
    input_voltage_max_v: float | None = key(
        "Maximum input voltage, from its data sheet.", "V", None, above=0, high=1500
    )
    start_voltage_v: float | None = key(
        "Array voltage above which it starts, from its data sheet.", "V", None, above=0, high=1500
    )
    absorption_voltage_v: float | None = key(
        "Charging voltage that it and the other chargers hold at the bank at 25 degC.",
        "V",
        None,
        note="by chemistry and nominal voltage",
        low=5,
        high=80,
    )
    float_voltage_v: float | None = key(
        "Voltage to which they fall back after bank.absorption_h hours at the charging voltage.",
        "V",
        None,
        note="by chemistry and nominal voltage",
        low=5,
        high=80,
    )
    self_consumption_w: float = key("Power that it always draws.", "W", 0, low=0, high=100)
    bypasses_shunt: bool = key("true if the arrays' current does not pass the shunt.", default=False)

    _standing = field_validator("efficiency_10_pct")(_standing_loss)
