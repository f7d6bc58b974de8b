"""What stands behind the command line: a run with its progress, its locks and the causes of its failures."""
