"""Section on the monitors: a shunt that counts ampere-hours, or a gauge that reads voltage."""

from typing import Annotated, Literal

from pydantic import Field

from darkspell.study.fields import Section, key


class Shunt(Section):
    """A monitor that counts ampere-hours through a shunt."""

    kind: Literal["shunt"] = key("shunt counts ampere-hours; gauge infers the charge from the voltage.")
    offset_ma: float = key(
        "Current that it reads when none flows (one sigma, either sign).", "mA", 10, low=0, high=5000
    )
    gain_error_pct: float = key("Error of its scale (one sigma, either sign).", "%", 0.3, low=0, high=20)
    capacity_set_ah: float | None = key(
        "Capacity set in its menu.", "Ah", None, note="bank.capacity_ah", above=0, high=100_000
    )
    ah_efficiency_set_pct: float | None = key(
        "Charge efficiency set in its menu, ampere-hours out over in.",
        "%",
        None,
        note="by chemistry",
        low=50,
        high=100,
    )
    full_voltage_v: float | None = key(
        "Voltage above which it may call the bank full.",
        "V",
        None,
        note="by chemistry and nominal voltage",
        low=5,
        high=80,
    )
    full_current_pct: float | None = key(
        "Charging current, over the capacity set, below which it may call the bank full.",
        "%",
        None,
        note="by chemistry",
        above=0,
        high=50,
    )
    full_dwell_min: float = key("How long both must hold.", "min", 3, low=0, high=240)
    warn_below_soc_pct: float = key("Reading below which it warns.", "%", 30, low=0, high=100)


class Gauge(Section):
    """A monitor that reads the voltage and shows a state of charge for it."""

    kind: Literal["gauge"] = key("shunt counts ampere-hours; gauge infers the charge from the voltage.")
    warn_below_soc_pct: float = key("Reading below which it warns.", "%", 30, low=0, high=100)


Monitor = Annotated[Shunt | Gauge, Field(discriminator="kind")]
