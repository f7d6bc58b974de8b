"""Ground floor: calendar, constants, errors, keyed random numbers, compilation, atomic files."""
