"""What the owner reads: a shunt that counts ampere-hours, a gauge that reads voltage, and how far both err.

A monitor reads the bank and never steers it, unless the study hangs a cut-out on it (`acting`).
"""
