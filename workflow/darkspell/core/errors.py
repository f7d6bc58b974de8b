"""The one exception that a user is meant to read."""


class StudyError(Exception):
    """Bad input, told in words a user can act on: which key or row, which value, and the cure."""
