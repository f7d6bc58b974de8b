"""Tables of results: CSV and NetCDF files that a study leaves."""
