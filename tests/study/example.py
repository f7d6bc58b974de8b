"""A small study as a mapping, to be spoilt by the tests."""

from copy import deepcopy

STUDY = {
    "document": {"title": "A test", "client": "Nobody", "prepared_by": "Nobody"},
    "site": {"name": "Somewhere", "latitude_deg": 50.0, "longitude_deg": 8.0},
    "climate": {"source": "monthly", "clearness_index": [0.4] * 12, "temp_air_c": [8.0] * 12},
    "system": {"nominal_voltage_v": 12},
    "arrays": {"roof": {"power_wp": 200, "tilt_deg": 45, "azimuth_deg": 180}},
    "controller": {"kind": "mppt"},
    "bank": {"chemistry": "agm", "capacity_ah": 100},
    "loads": {
        "lamp": {"watts": 10, "hours_per_day": 4, "tier": "essential", "window": ["18:30", "23:00"]},
        "radio": {"watts": 5, "hours_per_day": 10, "tier": "deferrable"},
    },
    "target": {"statistic": "short_nights", "at_most": 1},
    "sizing": {
        "array_wp": [100, 200],
        "bank_ah": [100, 200],
        "prices": {"array_per_wp": 1, "bank_per_ah": 3},
    },
}


def spoilt(changes):
    """A copy of `STUDY` with dotted keys set; None removes the key."""
    study = deepcopy(STUDY)
    for dotted, value in changes.items():
        *path, last = dotted.split(".")
        place = study
        for part in path:
            place = place.setdefault(part, {})
        if value is None:
            del place[last]
        else:
            place[last] = value
    return study
