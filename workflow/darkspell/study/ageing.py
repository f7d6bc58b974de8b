"""Section on the years to come."""

from darkspell.study.base import Section, key


class Ageing(Section):
    """The study at commissioning, in mid-life and at the end of the bank's life."""

    members: int = key(
        "Synthetic years run at each age, of those of the study.", "", 1000, low=8, high=100_000
    )
    end_of_life_pct: float = key(
        "Present over rated capacity at which the bank counts as worn out.", "%", 80, low=40, high=95
    )
