"""The bank: chemistry numbers, the hourly step, and the drivers that run it over lanes."""
