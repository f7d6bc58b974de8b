"""Section on the monitors: counted ampere-hours, a voltage, or what the batteries' own electronics say."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from darkspell.study.base import Section, key

KIND = (
    "shunt counts ampere-hours; gauge infers the charge from the voltage; pack is the electronics inside the "
    "batteries."
)
WARN = "Reading below which it warns."
EFFICIENCY = "Charge efficiency set in it, ampere-hours out over in."
FULL_VOLTS = "Voltage above which it may call the bank full."
FULL_AMPS = "Charging current, over the capacity set, below which it may call the bank full."


def _well_above(before):
    return min(before.get("below_soc_pct", 30) + 15.0, 100.0)


class Disconnect(Section):
    """A contact that the reading opens and closes: the one way in which a monitor steers the bank."""

    below_soc_pct: float = key("Reading below which it disconnects.", "%", above=0, high=100)
    above_soc_pct: float = key(
        "Reading at which it connects again.",
        "%",
        factory=_well_above,
        note="below_soc_pct + 15, at most 100",
        above=0,
        high=100,
    )
    loads: Literal["all", "deferrable"] = key(
        "Which loads it disconnects; all: essential ones too, but never those of tier uninterruptible.",
        default="all",
    )

    @field_validator("above_soc_pct")
    @classmethod
    def _above(cls, above, info):
        below = info.data.get("below_soc_pct")
        if below is not None and above < below:
            raise ValueError(f"is below below_soc_pct ({below:g} %); raise it or leave it out")
        return above


class _Watched(Section):
    """What all monitors share: when they warn, and what hangs on their reading."""

    warn_below_soc_pct: float = key(WARN, "%", 30, low=0, high=100)
    disconnect: Disconnect | None = key(
        "Disconnects loads by this reading, and asks how often it is wrong.", default=None, note="nothing"
    )


class Shunt(_Watched):
    """A monitor that counts ampere-hours through a shunt."""

    kind: Literal["shunt"] = key(KIND)
    rating_a: float = key("Largest current that the shunt can measure.", "A", 500, above=0, high=20_000)
    class_pct: float = key("Accuracy class of shunt and meter together.", "%", 0.5, low=0, high=20)
    offset_ma: float | None = key(
        "Current that it reads at zero current (one sigma, either sign).",
        "mA",
        None,
        note="1 microvolt over the shunt",
        low=0,
        high=5000,
    )
    offset_ma_per_k: float | None = key(
        "Change of that current with temperature, from 25 C (one sigma, either sign).",
        "mA/K",
        None,
        note="0.02 microvolt a kelvin over the shunt",
        low=0,
        high=500,
    )
    gain_error_pct: float | None = key(
        "Error of its scale (one sigma, either sign).",
        "%",
        None,
        note="class over the root of three",
        low=0,
        high=20,
    )
    dead_band_ma: float = key("Measured current below which it counts nothing.", "mA", 0, low=0, high=10_000)
    set_up: Literal["label", "fitted", "neglected"] = key(
        "Settings that are not given: from the bank's label; as they fit the bank's present capacity; or as "
        "nobody ever set them.",
        default="label",
    )
    capacity_set_ah: float | None = key(
        "Capacity that is set in the monitor.", "Ah", None, note="by set_up", above=0, high=100_000
    )
    rate_exponent_set: float | None = key(
        "Exponent set for discharge beyond the 20 h current: it counts for more than it is.",
        "",
        None,
        note="1; 1.2 if neglected",
        low=1,
        high=1.6,
    )
    ah_efficiency_set_pct: float | None = key(EFFICIENCY, "%", None, note="by chemistry", low=50, high=100)
    full_voltage_v: float | None = key(
        FULL_VOLTS, "V", None, note="by chemistry and nominal voltage", low=5, high=80
    )
    full_current_pct: float | None = key(FULL_AMPS, "%", None, note="by chemistry", above=0, high=50)
    full_dwell_min: float = key("How long both conditions must last.", "min", 5, low=0, high=240)


class Gauge(_Watched):
    """A monitor that reads the voltage and shows a state of charge for it."""

    kind: Literal["gauge"] = key(KIND)
    table: Literal["rested", "loaded", "corrected"] = key(
        "Its table: for a bank at rest; under the mean load of this study; at rest, the drop of the load in "
        "hand and the cold taken out (it then measures current and temperature too).",
        default="rested",
    )
    waits_for_rest: bool = key("true if it reads only while almost no current flows.", default=False)
    voltmeter_error_mv: float = key(
        "Error of its voltmeter (one sigma, either sign).", "mV", 10, low=0, high=1000
    )
    table_error_mv: float | None = key(
        "Error of its table for the bank at hand (one sigma, either sign).",
        "mV",
        None,
        note="by chemistry, such as 100 mV for lead-acid of 12 V",
        low=0,
        high=2000,
    )


class Pack(_Watched):
    """Electronics inside the batteries, one set in each of several equal ones in parallel."""

    kind: Literal["pack"] = key(KIND)
    batteries: int = key("Batteries in parallel.", "", 2, low=1, high=32)
    offset_ma: float = key(
        "Current that each reads at zero current (one sigma, either sign).", "mA", 20, low=0, high=5000
    )
    gain_error_pct: float = key("Error of its scale (one sigma).", "%", 1, low=0, high=20)
    dead_band_ma: float = key("Current below which each counts nothing.", "mA", 150, low=0, high=10_000)
    capacity_error_pct: float = key(
        "Error of the capacity that each battery assumes (one sigma).", "%", 3, low=0, high=30
    )
    share_spread_pct: float = key(
        "Uneven sharing of the current among them (one sigma).", "%", 5, low=0, high=30
    )
    shown: Literal["mean", "lowest"] = key("Which of several values is shown.", default="mean")
    ah_efficiency_set_pct: float | None = key(EFFICIENCY, "%", None, note="by chemistry", low=50, high=100)
    full_voltage_v: float | None = key(
        "Voltage at which its cells count as full.", "V", None, note="by chemistry", low=5, high=80
    )
    full_current_pct: float = key(FULL_AMPS, "%", 10, above=0, high=200)


Monitor = Annotated[Shunt | Gauge | Pack, Field(discriminator="kind")]
