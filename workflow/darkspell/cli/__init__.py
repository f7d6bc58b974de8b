"""The command line: runs with their progress, locks and causes of failures."""
