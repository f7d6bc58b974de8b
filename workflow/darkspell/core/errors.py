"""The one exception that a user is meant to read."""


class StudyError(Exception):
    """Bad input, with a message that the user can act on: key or row, value, and cure."""
