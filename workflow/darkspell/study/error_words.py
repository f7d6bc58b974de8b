"""Words of the messages on faults: kinds, patterns, types, and what is often written for a value or a key."""

KINDS = {"monitors": ("shunt", "gauge", "pack"), "chargers": ("alternator", "shore", "turbine")}
PATTERNS = {  # what a pattern asks for, by what such a text looks like
    "18:30": 'a time of day in quotes, "00:00" to "24:00"',
    "05-31": 'month and day in quotes, as in "05-31"',
    "before_size": "before_, after_ or instead_ and a section, as in before_size",
    "2026-05-31": 'a date in quotes, as in "2026-05-31"',
}
NICKNAMES = {
    "lithium": "lfp", "lifepo4": "lfp", "lead-acid": "flooded", "wet": "flooded", "sodium": "naion",
    "sodium-ion": "naion", "nickel-cadmium": "nicd", "nickel-iron": "nife", "li-ion": "nmc", "lead": "flooded",
    "bms": "pack", "electronics": "pack", "battery": "pack", "voltmeter": "gauge", "voltage": "gauge",
    "counter": "shunt", "coulomb": "shunt", "engine": "alternator", "mains": "shore", "hydro": "turbine",
    "wind": "turbine", "inside": "indoors", "outside": "outdoors", "important": "essential", "vital": "critical",
    "tmy": "typical_year", "epw": "typical_year", "plus": "positive", "minus": "negative", "german": "de",
    "deutsch": "de", "english": "en", "imperial": "us", "si": "metric", "blackouts": "short_nights",
}  # fmt: skip
SYNONYMS = {  # of keys, where the second exists
    "type": "kind", "panels": "arrays", "modules": "arrays", "battery": "bank", "batteries": "bank",
    "appliances": "loads", "timezone": "utc_offset_h", "time_zone": "utc_offset_h", "years": "members",
    "from": "first", "to": "last", "watts": "power_w", "fuel": "fuel_l_per_kwh", "begin": "first", "end": "last",
}  # fmt: skip
TYPES = {
    "float_type": "a number without quotes or unit",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "string_type": "a text; put it between quotes",
    "string_unicode": "a text of valid characters",
    "list_type": "a list, as in [1, 2, 3]",
    "dict_type": "a mapping of keys to values",
    "model_type": "a mapping of keys to values",
    "model_attributes_type": "a mapping of keys to values",
    "finite_number": "a finite number",
}
REMOVED = ("off", "no", "none", "false", "remove", "removed", "0")  # written for an entry that is to go
