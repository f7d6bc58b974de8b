"""Why a step failed, in a few lines instead of a traceback."""

import re
from pathlib import Path

MOST_LINES = 8
TRACEBACK = "Traceback (most recent call last):"
_EXCEPTION = re.compile(r"^(?P<name>[A-Za-z_][\w.]*): ?(?P<text>.*)$|^(?P<bare>[A-Za-z_][\w.]*)$")
_SIGNAL = re.compile(r"died with <Signals\.(\w+)")
_WORKFLOW = re.compile(r"^\w*(?:Error|Exception)(?: in (?:rule|file) .*)?:$")
_END = ("RuleException", "[", "Traceback", "During handling", "The above exception", "Trying to restart")


def cause(logs, folder, printed="", rule=""):
    """The cause of a failed step.

    Parameters
    ----------
    logs : list of str
        The step's log files, relative to `folder`; looked at first.
    folder : pathlib.Path
    printed : str
        What the run printed; looked at where the logs say nothing.
    rule : str
        Name of the step's rule, which identifies its script's traceback.

    Returns
    -------
    str
        At most a few lines; never empty.
    """
    texts = [_read(Path(folder, log)) for log in logs]
    for text in texts:
        lines = exception(text) or _last(text)
        if lines:
            return "\n".join(lines)
    found = exception(printed, f".{rule}.py") or exception(printed, f"/{rule}.py") or exception(printed)
    if found:
        return "\n".join(found)
    killed = _SIGNAL.search(printed)
    return f"It was ended from outside ({killed[1]}); too little memory?" if killed else "It left no message."


def exception(text, mark=""):
    """Exception at the end of the last traceback that contains a mark.

    Parameters
    ----------
    text : str
    mark : str

    Returns
    -------
    list of str
        Lines; empty if there is none.
    """
    blocks = [block for block in text.split(TRACEBACK)[1:] if mark in block]
    if not blocks:
        return []
    lines = [line.rstrip() for line in blocks[-1].splitlines()]
    start = next((n for n, line in enumerate(lines) if line and not line.startswith(" ")), None)
    if start is None:
        return []
    match = _EXCEPTION.match(lines[start])
    name = (match["name"] or match["bare"]).rpartition(".")[2] if match else ""
    own = (match["text"] or "") if match else lines[start]
    first = own if name in ("StudyError", "") else f"{name}: {own}".rstrip(": ")
    return _until_end([first, *lines[start + 1 :]])


def workflow_fault(faults):
    """Snakemake's own message where no step started, without its heading.

    Parameters
    ----------
    faults : list of str
    """
    lines = exception("\n".join(faults)) or [line.strip() for fault in faults for line in fault.splitlines()]
    return "\n".join([line for line in lines if line and not _WORKFLOW.match(line)][:MOST_LINES])


def _until_end(lines):
    kept = []
    for line in lines[:MOST_LINES]:
        if not line or line.startswith(_END):
            break
        kept.append(line)
    return kept


def _last(text):
    return [line.rstrip() for line in text.splitlines() if line.strip()][-MOST_LINES:]


def _read(path):
    try:
        return path.read_bytes()[-100_000:].decode("utf-8", errors="replace")
    except OSError:
        return ""
