"""The events of a running Snakemake, read from the file that its logger plugin writes."""

import json
from pathlib import Path

PLUGINS_FOLDER = Path(__file__).with_name("plugins")
LOGGER = "darkspell"
VARIABLE = "DARKSPELL_EVENTS"


class EventTail:
    """Reads what has been added to an event file since the last look.

    Parameters
    ----------
    path : pathlib.Path
        It need not exist yet.
    """

    def __init__(self, path):
        self.path = path
        self._read = 0
        self._rest = b""

    def new(self):
        """Events written since the last call, as a list of dictionaries; broken lines are left out."""
        try:
            with self.path.open("rb") as file:
                file.seek(self._read)
                fresh = file.read()
        except FileNotFoundError:
            return []
        self._read += len(fresh)
        *lines, self._rest = (self._rest + fresh).split(b"\n")
        return [event for event in map(_parsed, lines) if isinstance(event, dict)]


def _parsed(line):
    try:
        return json.loads(line)
    except ValueError:
        return None
