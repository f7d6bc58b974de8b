"""What the owner reads: a shunt that counts ampere-hours, a gauge that reads voltage, and how far both err.

A monitor reads the bank and does not control it, unless the study gives it a disconnect
(`darkspell.simulation.disconnect_on_reading`).
"""
