"""Logger plugin for Snakemake: what happens to jobs, as JSON lines in a file that the environment names.

`darkspell run` puts the folder above on the path, where Snakemake finds it by its name, and chooses it with
``--logger darkspell``.
"""

import json
import os

from snakemake_interface_logger_plugins.base import LogHandlerBase

VARIABLE = "DARKSPELL_EVENTS"
KEPT = (
    "jobid", "job_id", "rule_name", "rule_msg", "log", "stats",
)  # fmt: skip


class LogHandler(LogHandlerBase):
    """One JSON object a line: the event's name, its fields of use, and its message."""

    writes_to_stream = False
    writes_to_file = False
    has_filter = True
    has_formatter = True
    needs_rulegraph = False

    def emit(self, record):
        """Append a record that is an event; errors of the logger never stop the run.

        Parameters
        ----------
        record : logging.LogRecord
        """
        event = getattr(record, "event", None)
        path = os.environ.get(VARIABLE)
        if event is None or not path:
            return
        fields = {name: getattr(record, name) for name in KEPT if getattr(record, name, None) is not None}
        try:
            line = json.dumps({"event": str(event), **fields, "text": record.getMessage()}, default=str)
            with open(path, "a", encoding="utf-8") as file:
                file.write(line + "\n")
        except (OSError, TypeError, ValueError):
            self.handleError(record)
