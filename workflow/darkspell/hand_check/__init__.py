"""The hand calculation: what a careful engineer would work out on paper before anything is simulated."""

from darkspell.hand_check.calculation import HandCheck, hand_check
from darkspell.hand_check.warning import Finding
from darkspell.hand_check.warnings import findings

__all__ = ["Finding", "HandCheck", "findings", "hand_check"]
