"""Logs with known causes, and how often the log analysis finds them."""
