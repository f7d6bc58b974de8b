"""Reduce members to distributions, and say how well each figure is known.

Years, within parameter draws, are the samples; hours and days are not.
"""
