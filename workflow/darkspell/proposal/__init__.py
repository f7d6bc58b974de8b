"""The proposal: one document tree made from a study's results, and what writes it out."""

from darkspell.proposal.build import proposal
from darkspell.proposal.html import html

__all__ = ["html", "proposal"]
