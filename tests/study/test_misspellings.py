"""Keys and words as new users write them: each message names the key and the word that was probably meant."""

import pytest

from darkspell.core.errors import StudyError
from darkspell.study import study_from
from study.example import spoilt

ABSENCE = {"absences": {"november": {"from": "11-01", "to": "11-30"}}}


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        # monitors and chargers have kinds
        ("monitors.x", {"kind": "shnt"}, '"shnt" is not allowed; give one of shunt, gauge, pack; did you mean '
         "shunt?"),
        ("monitors.x", {"kind": "Shunt"}, "did you mean shunt?"),
        ("monitors.x", {"kind": "bms"}, "did you mean pack?"),
        ("monitors.x", {"kind": "voltmeter"}, "did you mean gauge?"),
        ("monitors.x", {"offset_ma": 3}, "monitors.x.kind: is missing; add it (shunt, gauge, pack)"),
        ("monitors.x", {"kind": "shunt", "ofset_ma": 3}, "monitors.x.ofset_ma: unknown key; did you mean offset_ma?"),
        ("monitors.x", {"kind": "shunt", "batteries": 2}, "monitors.x.batteries: is no key of kind: shunt"),
        ("monitors.x", {"kind": "gauge", "rating_a": 2}, "is no key of kind: gauge; remove it, or change kind"),
        ("chargers.e", {"kind": "alternater"}, "shore, turbine; did you mean alternator?"),
        ("chargers.e", {"kind": "generator"}, "a generator has a section of its own: generator"),
        ("chargers.e", {"kind": "wind"}, "did you mean turbine?"),
        ("chargers.e", {"charger_a": 30}, "chargers.e.kind: is missing; add it (alternator, shore, turbine)"),
        ("chargers.e", {"kind": "shore"}, "Current that the charger gives."),
        # keys under another name
        ("controller.type", "mppt", "controller.type: unknown key; did you mean kind?"),
        ("site.lat", 47, "did you mean latitude_deg?"),
        ("site.alt", 47, "did you mean altitude_m?"),
        ("site.lattitude_deg", 47, "did you mean latitude_deg?"),
        ("site.timezone", "Europe/Vienna", "did you mean utc_offset_h?"),
        ("engine.years", 100, "did you mean members?"),
        ("occupancy", ABSENCE, "november.from: unknown key; did you mean first?"),
        ("inverter", {"watts": 600}, "inverter.watts: unknown key; did you mean power_w?"),
        ("generator", {"charge_w": 500, "fuel": 3}, "did you mean fuel_l_per_kwh?"),
        ("sizing.prices", {"array": 1, "bank": 3}, "sizing.prices.bank: unknown key; did you mean bank_per_ah?"),
        ("panels", {}, "panels: unknown key; did you mean arrays?"),
        ("battery", {}, "battery: unknown key; did you mean bank?"),
        ("Loads", {}, "did you mean loads?"),
        ("loads.lamp.watt", 45, "did you mean watts?"),
        ("loads.lamp.hours", 4, "did you mean hours_per_day?"),
        ("arrays.roof.tilt", 45, "did you mean tilt_deg?"),
        ("arrays.roof.power_kwp", 0.4, "did you mean power_wp?"),
        ("bank.capacity_kwh", 3, "did you mean capacity_ah?"),
        ("system.voltage", 12, "did you mean nominal_voltage_v?"),
        ("load_uncertainty", 10, "did you mean load_uncertainty_pct?"),
        ("log", {"current_units": "mA"}, "did you mean current_unit?"),
        # words for a value
        ("loads.lamp.tier", "esential", "did you mean essential?"),
        ("loads.lamp.tier", "important", "did you mean essential?"),
        ("bank.location", "inside", "did you mean indoors?"),
        ("bank.location", "outside", "did you mean outdoors?"),
        ("bank.chemistry", "AGM", "did you mean agm?"),
        ("bank.chemistry", "li-ion", "did you mean nmc?"),
        ("climate.source", "satelite", "did you mean satellite?"),
        ("climate.source", "tmy", "did you mean typical_year?"),
        ("controller.kind", "MPPT", "did you mean mppt?"),
        ("arrays.roof.mounting", "rooftop", "did you mean roof?"),
        ("target.statistic", "lollp", "did you mean lolp?"),
        ("target.statistic", "blackouts", "did you mean short_nights?"),
        ("document.language", "german", "did you mean de?"),
        ("document.units", "imperial", "did you mean us?"),
        ("log", {"charging": "plus"}, "did you mean positive?"),
        ("bank.chemistry", "lead", "did you mean flooded?"),
        ("whatifs", {"x": {"loads.lamp": "off"}}, "keys to values; null in a change removes an entry"),
        # numbers with their unit, and times
        ("site.utc_offset_h", "UTC+1", "give hours, east positive: 1"),
        ("site.utc_offset_h", "UTC-3:30", "give hours, east positive: -3.5"),
        ("sizing.prices.array_per_wp", "1.20 EUR", "give a number without quotes or unit: 1.20"),
        ("system.nominal_voltage_v", "12V", "did you mean 12?"),
        ("loads.lamp.hours_per_day", "4h", "give a number without quotes or unit: 4"),
        ("loads.lamp.window", [17, "23:00"], 'window[1]: 17 is not allowed; give a time of day in quotes'),
    ],
)  # fmt: skip
def test_what_was_probably_meant_is_named(key, value, words):
    with pytest.raises(StudyError) as fault:
        study_from(spoilt({key: value}), "test")
    assert words in str(fault.value)
    assert "a mapping is not allowed" not in str(fault.value) and "HH:MM is" not in str(fault.value)
