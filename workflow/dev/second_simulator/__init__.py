"""A second simulator of a small off-grid system, the judge of log readings.

It shares no code with the package's weather, bank or monitor: minutes instead of hours, other clouds, other
curves of the banks, other transposition of irradiance, charging with absorption and float. Nothing in it was
fitted to the package. It reads a study's plain numbers (site, ratings, appliances) and nothing else.
"""
