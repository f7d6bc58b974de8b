"""Section on the cost of a design over its life."""

from darkspell.study.base import Section, key


class LifeCycle(Section):
    """What a design costs over a period of study: replacements, fuel and visits, discounted."""

    horizon_years: float = key("Years over which costs are counted.", "years", 20, low=1, high=60)
    discount_rate_pct: float = key(
        "Real discount rate: interest less inflation. All prices are those of today.", "%", 3, low=0, high=30
    )
    bank_disposal_per_ah: float = key(
        "Price of taking an old bank away; negative where scrap is paid for.",
        "currency/Ah",
        0,
        low=-1_000_000,
        high=1_000_000,
    )
    bank_replacement: float = key(
        "Work and transport of each replacement of the bank.", "currency", 0, low=0, high=1e9
    )
    array_life_years: float = key("Years after which the modules are replaced.", "years", 25, low=1, high=60)
    equipment: float = key(
        "Share of the fixed price that wears out: controller, inverter, monitor.",
        "currency",
        0,
        low=0,
        high=1e9,
    )
    equipment_life_years: float = key("Years after which it is replaced.", "years", 12, low=1, high=60)
    visits_per_year: float = key("Maintenance visits a year.", "", 0, low=0, high=365)
    visit: float = key("Price of a visit, with travel.", "currency", 0, low=0, high=1e6)
