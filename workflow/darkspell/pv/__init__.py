"""The array: irradiance in its planes to direct-current power and current."""
