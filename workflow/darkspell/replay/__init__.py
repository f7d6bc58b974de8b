"""Measured years run as they are, each a member, beside the synthetic years of the same place."""

from darkspell.replay.run import measured_days, replayed

__all__ = ["measured_days", "replayed"]
