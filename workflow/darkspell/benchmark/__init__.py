"""How fast each stage runs, compared with a NumPy reference of the bank step in the same run."""
