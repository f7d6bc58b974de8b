"""What the owner reads: a shunt that counts ampere-hours, a gauge that reads voltage, and how far both err.

The monitor reads the bank and never steers it.
"""
