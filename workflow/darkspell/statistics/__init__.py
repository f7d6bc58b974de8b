"""Reduce members to distributions, and say how well each figure is known.

Years, within worlds, are the samples; hours and days are not.
"""
