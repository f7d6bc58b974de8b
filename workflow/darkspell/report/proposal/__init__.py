"""The proposal and its technical annex: document trees made from a study's results."""

from darkspell.report.proposal.build import annex, proposal

__all__ = ["annex", "proposal"]
