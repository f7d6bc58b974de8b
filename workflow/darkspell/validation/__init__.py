"""The weather model against measured stations: dark spells, distributions, persistence, and loss of load."""
