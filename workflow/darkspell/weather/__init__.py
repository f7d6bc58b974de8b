"""The sky: sun and clear sky of a site, stochastic clearness by day and hour, air temperature."""
