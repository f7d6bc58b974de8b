"""Trials of the pipeline as a whole: what happens to a night's work when the night goes wrong."""
