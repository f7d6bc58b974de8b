"""Chapters of the proposal, each a function from results to a section of the document tree."""
