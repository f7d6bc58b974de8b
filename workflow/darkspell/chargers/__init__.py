"""Chargers other than the arrays: alternators, shore lines, turbines. The generator is part of the bank's step."""
