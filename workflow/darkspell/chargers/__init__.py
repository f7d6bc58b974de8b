"""What charges beside the sun: alternators, shore lines, turbines. The generator lives in the bank's step."""
