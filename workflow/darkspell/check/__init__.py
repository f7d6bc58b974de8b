"""The hand calculation: what a careful engineer would work out on paper before anything is simulated."""

from darkspell.check.assess import HandCheck, hand_check
from darkspell.check.finding import Finding
from darkspell.check.findings import findings

__all__ = ["Finding", "HandCheck", "findings", "hand_check"]
