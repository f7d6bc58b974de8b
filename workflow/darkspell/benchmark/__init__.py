"""How fast each stage runs, beside a NumPy reference of the bank step computed in the same run."""
