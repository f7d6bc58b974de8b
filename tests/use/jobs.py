"""Five jobs of new users, all invented: what each puts into the file that `darkspell new` writes.

Places are points on the map; people, appliances, prices and climates are made up. Nothing describes a real building,
boat, vehicle or clinic. A job replaces whole sections; None removes one.
"""

PRICES = {"array_per_wp": 1.2, "bank_per_ah": 5.0, "fixed": 900}

COMMON = {
    "whatifs": {},
    "monitors": None,
    "deferrable": None,
    "load_uncertainty_pct": 0,
}  # a measured list of loads


def _load(watts, hours, tier="essential", **more):
    return {"watts": watts, "hours_per_day": hours, "tier": tier, **more}


def _job(place, **sections):
    return {"place": place, "sections": {**COMMON, **sections}}


JOBS = {
    # A cabin used all winter; the lithium bank is in an unheated shed.
    "winter_cabin": _job(
        (61.0, 9.0, "lfp"),
        climate={
            "source": "monthly",
            "ghi_kwh_m2_day": [0.35, 1.1, 2.4, 4.1, 5.2, 5.6, 5.2, 4.0, 2.5, 1.1, 0.45, 0.2],
            "temp_air_c": [-9, -8, -3, 2, 9, 13, 15, 13, 8, 2, -4, -8],
            "snow_days": 0,
        },
        arrays={"wall": {"power_wp": 1200, "tilt_deg": 90, "azimuth_deg": "south", "loss_pct": 10}},
        bank={"chemistry": "lfp", "capacity_ah": 300, "location": "outdoors"},
        loads={"lights": _load(30, 5, window=["16:00", "23:00"]), "radio": _load(5, 24, spread_pct=0)},
        target={"statistic": "short_nights", "at_most": 1},
        sizing={"array_wp": [1200], "bank_ah": [300], "prices": PRICES},
    ),
    # A van with an induction pan behind an inverter, on a thin cable.
    "van": _job(
        (37.0, -5.0, "lfp"),
        climate={
            "source": "monthly",
            "ghi_kwh_m2_day": [2.5, 3.4, 4.8, 5.9, 7.0, 7.9, 7.9, 7.1, 5.5, 4.0, 2.8, 2.3],
            "temp_air_c": [11, 12, 15, 17, 21, 25, 28, 28, 25, 20, 15, 12],
        },
        arrays={"roof": {"power_wp": 560, "tilt_deg": 0, "azimuth_deg": 180, "mounting": "roof", "loss_pct": 10}},
        system={"nominal_voltage_v": 12, "cable_resistance_mohm": 7},
        bank={"chemistry": "lfp", "capacity_ah": 200, "location": "indoors", "indoor_min_c": 12},
        inverter={"power_w": 2000, "surge_w": 4000, "no_load_w": 10, "always_on": False},
        loads={
            "fridge": _load(40, 8),
            "lights": _load(12, 4, window=["18:00", "23:00"]),
            "pan": _load(1500, 0.2, supply="ac", window=["18:00", "20:00"]),
        },
        target={"statistic": "short_nights", "at_most": 0.5},
        sizing={"array_wp": [560], "bank_ah": [200], "prices": PRICES},
    ),
    # A boat at anchor in the trade winds; the engine helps on one day of three.
    "trade_wind_boat": _job(
        (14.0, -61.0, "agm"),
        climate={
            "source": "monthly",
            "ghi_kwh_m2_day": [5.0, 5.6, 6.1, 6.3, 6.0, 5.7, 5.8, 5.8, 5.5, 5.1, 4.8, 4.7],
            "temp_air_c": [26, 26, 26, 27, 28, 28, 28, 28, 28, 28, 27, 26],
        },
        arrays={"deck": {"power_wp": 260, "tilt_deg": 0, "azimuth_deg": 0, "mounting": "deck", "loss_pct": 15}},
        bank={"chemistry": "agm", "capacity_ah": 330, "location": "outdoors"},
        chargers={
            "engine": {
                "kind": "alternator", "charger_a": 30, "label_a": 90, "hours_per_day": 1,
                "chance_of_use_pct": 33,
            }
        },
        loads={
            "fridge": _load(50, 12),
            "anchor_light": _load(3, 12, "uninterruptible", window=["18:00", "06:00"]),
            "instruments": _load(10, 24, spread_pct=5),
        },
        target={"statistic": "short_nights", "at_most": 4},
        sizing={"array_wp": [260], "bank_ah": [330], "prices": PRICES},
    ),
    # A clinic with a vaccine refrigerator that nothing may switch off.
    "clinic": _job(
        (-8.0, 32.0, "flooded"),
        climate={
            "source": "monthly",
            "ghi_kwh_m2_day": [5.2, 5.4, 5.4, 5.3, 5.3, 5.4, 5.5, 5.8, 6.3, 6.3, 5.8, 5.3],
            "temp_air_c": [22, 22, 22, 22, 20, 18, 18, 20, 23, 25, 24, 23],
        },
        system={"nominal_voltage_v": 24, "cable_resistance_mohm": 3},
        arrays={"frame": {"power_wp": 480, "tilt_deg": 12, "azimuth_deg": "north", "loss_pct": 12}},
        bank={"chemistry": "flooded", "capacity_ah": 300, "location": "indoors", "indoor_min_c": 18},
        loads={
            "vaccine_fridge": _load(70, 11, "critical", spread_pct=10),
            "lights": _load(60, 5, window=["18:00", "24:00"]),
            "centrifuge": _load(200, 1, window=["09:00", "15:00"]),
        },
        target={"availability_pct": 99.9},
        sizing={"array_wp": [480], "bank_ah": [300], "prices": PRICES},
    ),
    # A radio repeater on a hill, with ten years of its own daily record (written by the test).
    "repeater": _job(
        (48.0, 11.0, "agm"),
        climate={
            "source": "measured",
            "file": "record.csv",
            "series": {"step": "daily", "ghi_unit": "kWh/m2", "temp_column": "t"},
            "snow_days": 0,
        },
        arrays={"mast": {"power_wp": 160, "tilt_deg": 70, "azimuth_deg": 180, "loss_pct": 8}},
        bank={"chemistry": "agm", "capacity_ah": 160, "location": "outdoors"},
        loads={"repeater": _load(8, 24, spread_pct=2)},
        target={"statistic": "short_nights", "at_most": 1},
        sizing={"array_wp": [160], "bank_ah": [160], "prices": PRICES},
    ),
}  # fmt: skip
