"""The proposal: one document tree made from a study's results."""

from darkspell.report.proposal.build import proposal

__all__ = ["proposal"]
