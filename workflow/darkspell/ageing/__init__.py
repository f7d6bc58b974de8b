"""How a bank wears: its yearly wear, and the course of the study to the end of its life."""
