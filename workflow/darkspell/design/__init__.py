"""Choices: the ground of designs around the study's own, and named differences from it."""
