"""Seeded mutants of studies, weather files and logs, and a count of how the readers answer them."""
