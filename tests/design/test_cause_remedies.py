"""Two jobs of new users: the remedy must act on the cause of loss, and larger sizes must not be sold instead."""

import json

import numpy as np
import pytest

from darkspell.bank.causes import main_cause, main_cause_headline
from darkspell.cli.headline import headline
from darkspell.climate import site_climate
from darkspell.design.cause_remedies import all_of_causes, remedies_of_cause, try_remedies
from darkspell.design.requirements import chance_headline
from darkspell.simulation.run import simulate
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of
from study.example import STUDY, spoilt

ENGINE = {"members": 64, "seed": 3}
TARGET = {"statistic": "short_nights", "at_most": 1}
COMMON = {
    "document": {"title": "t", "client": "c", "prepared_by": "p"},
    "climate": {"source": "atlas"},
    "controller": {"kind": "mppt"},
    "monitors": {"panel": {"kind": "shunt"}},
    "target": TARGET,
    "sizing": {
        "array_wp": [600, 1200],
        "bank_ah": [200, 400],
        "prices": {"array_per_wp": 1.2, "bank_per_ah": 5, "fixed": 500},
    },
    "engine": ENGINE,
}
# A cabin at 61 N, its lithium bank in an unheated shed; only the frost keeps it from its target.
CABIN = COMMON | {
    "site": {"name": "Cabin (invented)", "latitude_deg": 61.0, "longitude_deg": 9.5, "altitude_m": 700},
    "system": {"nominal_voltage_v": 12},
    "arrays": {"wall": {"power_wp": 1200, "tilt_deg": 80, "azimuth_deg": 180}},
    "bank": {"chemistry": "lfp", "capacity_ah": 200, "location": "outdoors"},
    "loads": {"link": {"watts": 8, "hours_per_day": 24, "tier": "essential"}},
}
# A van whose pan of 1.5 kW pulls the shared cut-off through 5 mohm of cable, with sun enough.
VAN = COMMON | {
    "site": {"name": "Van (invented)", "latitude_deg": 38.0, "longitude_deg": -4.0, "altitude_m": 200},
    "system": {"nominal_voltage_v": 12, "cable_resistance_mohm": 5},
    "arrays": {"roof": {"power_wp": 800, "tilt_deg": 5, "azimuth_deg": 180}},
    # Where the resistance of the bank is not known, the cable alone meets the target with a chance of 73 % only.
    "bank": {
        "chemistry": "agm",
        "capacity_ah": 350,
        "location": "indoors",
        "capacity_uncertainty_pct": 0,
        "property_uncertainty_pct": 0,
    },  # fmt: skip
    "loads": {
        "pan": {"watts": 1500, "hours_per_day": 0.3, "tier": "essential", "window": ["18:00", "20:00"]},
        "fridge": {"watts": 40, "hours_per_day": 8, "tier": "essential"},
    },
}


def told(given, folder):
    """The answer on the terminal, and the remedies tried, of a study."""
    study = study_from(given)
    system = build_system(study, site_climate(study, None), sky_of(study))
    result = simulate(system, autonomy=False, workers=2)
    cause = main_cause_headline(result.members)
    name = main_cause(result.members)[0]
    rows = try_remedies(system, lambda one: (system.climate, system.sky), name, workers=2)
    cause["main_cause"]["remedies"] = rows
    nights = {"value": float(np.mean(result.members["short_nights"])), "place_low": None, "place_high": None}
    summary = {"short_nights": nights} | cause | chance_headline(study, result, system.parameter_draw)
    (folder / "results" / "job").mkdir(parents=True)
    (folder / "results" / "job" / "summary.json").write_text(json.dumps(summary))
    return name, nights["value"], rows, headline("job", folder)


def test_a_frozen_bank_is_to_be_warmed(tmp_path):
    """Indoors and heater cut its nights to a quarter; the terminal says so, and that larger sizes are no cure."""
    cause, nights, rows, text = told(CABIN, tmp_path)
    values = {row["remedy"]: row["value"] for row in rows}
    assert cause == "too_cold" and nights > 5
    assert values["indoors"] < 0.25 * nights and values["heater"] < 0.6 * nights
    assert "too cold to charge" in text and "indoors" in text and "heating pad" in text
    assert "Larger sizes are no cure" in text


def test_a_sagging_voltage_is_to_be_cabled(tmp_path):
    """A thicker cable meets the target that the pan misses; nobody is sold more watts."""
    cause, nights, rows, text = told(VAN, tmp_path)
    best = rows[0]
    assert cause == "voltage" and nights > 5
    assert best["remedy"] == "thicker_cable" and best["changes"] == {"system.cable_resistance_mohm": 1.0}
    assert best["value"] <= TARGET["at_most"] and best["probability_met"] > 0.8
    assert "below the cut-off" in text and "thicker cable" in text and "Larger sizes are no cure" in text


@pytest.mark.parametrize("cause", ["empty", "depth_limit", "reconnection", None])
def test_causes_of_size_have_no_remedy_of_their_own(cause):
    assert remedies_of_cause(study_from(CABIN), cause) == {}


def test_an_inverter_of_its_own_is_a_remedy_where_it_feeds_loads():
    """At 10.5 V for 12 V; not where it has a cut-off already, nor for loads on direct current."""
    loads = VAN["loads"] | {"pan": VAN["loads"]["pan"] | {"supply": "ac"}}
    given = VAN | {"loads": loads, "inverter": {"power_w": 2000}}
    made = remedies_of_cause(study_from(given), "voltage")
    assert made["own_inverter_cutoff"] == {"inverter.cutoff_voltage_v": 10.5}
    has = given | {"inverter": {"power_w": 2000, "cutoff_voltage_v": 11.0}}
    assert "own_inverter_cutoff" not in remedies_of_cause(study_from(has), "voltage")
    assert "own_inverter_cutoff" not in remedies_of_cause(study_from(VAN), "voltage")


def test_a_bank_too_hot_to_charge_is_to_be_kept_in_a_cooler_room():
    """Outdoors, or in a warmer room; a room of 30 degC at most is no hotter than the remedy's."""
    hot = {"location": "outdoors", "charge_temperature_max_c": 45}
    study = study_from(spoilt({"bank": STUDY["bank"] | hot}))
    cooler = {"bank.location": "indoors", "bank.indoor_min_c": 10.0, "bank.indoor_max_c": 30.0}
    assert remedies_of_cause(study, "too_hot") == {"cooler_indoors": cooler}
    assert "cooler_indoors" in all_of_causes(study)
    cool = study.with_changes({"bank.location": "indoors"})
    assert remedies_of_cause(cool, "too_hot") == {}


def test_what_is_done_already_is_no_remedy():
    """A heated bank indoors, a short cable and a slow cut-off leave another chemistry at most."""
    bank = {"location": "indoors", "heater": {"power_w": 50}, "cutoff_delay_s": 300}
    given = CABIN | {
        "bank": CABIN["bank"] | bank,
        "system": {"nominal_voltage_v": 12, "cable_resistance_mohm": 0.5},
    }
    assert set(all_of_causes(study_from(given))) == {"agm"}  # no whole number of sodium-ion cells makes 12 V
