"""Run studies: Snakemake as a process of its own, watched through its events."""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

from darkspell.cli.adopt import offered
from darkspell.cli.error_summary import cause, workflow_fault
from darkspell.cli.event_log import LOGGER, PLUGINS_FOLDER, VARIABLE, EventTail
from darkspell.cli.headline import headline
from darkspell.cli.locks import study_locks
from darkspell.cli.progress import LiveView, PlainView, Steps
from darkspell.cli.studies_table import studies_rows, studies_text, write_studies
from darkspell.cli.time_left import usual_seconds
from darkspell.core.errors import StudyError
from darkspell.pipeline import job_server
from darkspell.pipeline.location import workflow_root
from darkspell.pipeline.preflight import preflight
from darkspell.pipeline.stages import load_studies

ROOT = workflow_root()
LOOK_S = 0.1
PATIENCE_S = 15.0
STOPPED = 130
UNTIL = ("numbers", "figures", "options", "proposal")
MOST_OPTIONS = 26  # a letter each
ENDING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


def run(paths, cores=None, members=None, force=False, until=UNTIL[-1], as_json=False, out=None, err=None):
    """Run studies and say what came of it.

    Parameters
    ----------
    paths : list of str
        Study files.
    cores : int, optional
        Cores to use; all if not given.
    members : int, optional
        Synthetic years in place of the studies' own.
    force : bool
        Compute everything again.
    until : {"numbers", "figures", "proposal", "options"}
        How far to go; ``options`` puts the proposals of several studies side by side.
    as_json : bool
        Answer with one JSON list, an entry a study, in place of text.
    out, err : text streams, optional
        Where answers and progress go; standard output and error if not given.

    Returns
    -------
    int
        Exit code: 0, 1 after a failure, 130 if stopped.

    Raises
    ------
    darkspell.core.errors.StudyError
        Before anything runs, with the faults of all studies.
    """
    out, err, folder = out or sys.stdout, err or sys.stderr, Path.cwd()
    with tempfile.TemporaryDirectory(prefix="darkspell-") as scratch:
        events, captured = Path(scratch, "events.jsonl"), Path(scratch, "printed.txt")
        with _forking(captured, scratch) as jobs:
            entries = load_studies(paths, members)
            if until == "options" and not 2 <= len(entries) <= MOST_OPTIONS:
                given = f"{len(entries)} " + ("study is" if len(entries) == 1 else "studies are")
                raise StudyError(f"{given} given: options are 2 to {MOST_OPTIONS} studies; name that many")
            _preflight(entries, err)
            command = snakemake_command(list(dict.fromkeys(paths)), cores, members, force, until)
            with study_locks(entries, folder) as held:
                steps = Steps(
                    (LiveView if _is_terminal(err) else PlainView)(err),
                    usual=usual_seconds([entry.study for entry in entries.values()]),
                )
                code = _watch(command, events, captured, held, folder, steps, jobs)
        printed = captured.read_text(errors="replace")
    if code == STOPPED:
        print("Stopped. What was finished stays; the same command goes on from there.", file=err)
    elif code != 0 or steps.failed:
        print(failure_text(steps, folder, printed, code), file=err)
        code = 1
    else:
        print(_data(entries, folder) if as_json else _answers(entries, folder, steps, until), file=out)
    return code


def _preflight(entries, err):
    """Refuse before the run what it would refuse later; warnings go to standard error."""
    faults = []
    for entry in entries.values():
        try:
            for warning in preflight(entry.study):
                print(f"{entry.path}: {warning}", file=err)
        except StudyError as fault:
            faults.append(f"{entry.path}: {fault}")
    if faults:
        raise StudyError("\n".join(faults))


def snakemake_command(paths, cores=None, members=None, force=False, until=UNTIL[-1]):
    """Snakemake command that runs some study files.

    Parameters
    ----------
    paths : sequence of path-like
    cores, members : int, optional
    force : bool
        Compute everything again.
    until : str
        As in `run`.

    Returns
    -------
    list of str

    Raises
    ------
    darkspell.core.errors.StudyError
        If the installation has no Snakefile.
    """
    snakefile = ROOT / "Snakefile"
    if not snakefile.is_file():
        raise StudyError(
            f"{snakefile}: no such file; the installation is incomplete, install darkspell again"
        )
    words = [sys.executable, "-m", "snakemake", "--snakefile", str(snakefile)]
    words += ["--cores", str(cores or os.cpu_count() or 1), "--rerun-incomplete", "--keep-going", "--nolock"]
    words += ["--workflow-profile", "none", "--nocolor", "--logger", LOGGER]
    words += ["--forceall"] if force else []
    studies = json.dumps([str(Path(path).resolve()) for path in paths])
    words += ["--config", f"studies={studies}", f"until={until}"]
    return words + ([f"members={members}"] if members else [])


def _cache_variables(scratch):
    """Environment that gives Snakemake a cache in `scratch` where the user's own cannot be written; else empty."""
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache", "snakemake")
    try:
        home.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=home).close()
    except (OSError, RuntimeError):  # the latter where the user has no home at all
        return {"XDG_CACHE_HOME": scratch}
    return {}


@contextmanager
def _forking(captured, scratch):
    """Environment for Snakemake and the connection to the process that forks its jobs; None where none can be."""
    path = os.pathsep.join(filter(None, [str(PLUGINS_FOLDER), os.environ.get("PYTHONPATH")]))
    environment = {**os.environ, **_cache_variables(scratch), "PYTHONPATH": path}
    if not job_server.available():
        yield environment, None
        return
    process, connection = job_server.start(captured, environment)
    try:
        with connection:
            yield environment, connection
    finally:
        process.kill()  # its jobs have ended with Snakemake
        process.wait()


def _watch(command, events, captured, held, folder, steps, jobs):
    """Run a command and show its steps; the exit code."""
    view, tail = steps.view, EventTail(events)
    before = {number: signal.signal(number, _interrupt) for number in ENDING}
    try:
        with captured.open("ab") as sink, view:
            process = _start(command, events, sink, held, *jobs)
            try:
                while process.poll() is None:
                    _take_all(tail, steps)
                    steps.look(folder)
                    time.sleep(LOOK_S)
            except KeyboardInterrupt:
                _stop(process)
                return STOPPED
            _take_all(tail, steps)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    return process.returncode


def _start(command, events, sink, held, environment, jobs):
    environment, passed = environment | {VARIABLE: str(events)}, [*held]
    if jobs is not None:
        environment[job_server.VARIABLE] = str(jobs.fileno())
        passed.append(jobs.fileno())
    quiet = {"stdin": subprocess.DEVNULL, "stdout": sink, "stderr": subprocess.STDOUT}
    own_group = {"start_new_session": True} if os.name == "posix" else {}
    process = subprocess.Popen(command, env=environment, pass_fds=passed, **quiet, **own_group)
    if jobs is not None:
        jobs.close()  # Snakemake holds the last one: the server ends with it
    return process


def _take_all(tail, steps):
    for event in tail.new():
        steps.take(event)


def _interrupt(number, frame):
    raise KeyboardInterrupt


def _stop(process):
    """Ask the run to end, with all that it started; insist after a while."""
    for number in (signal.SIGINT, signal.SIGTERM, getattr(signal, "SIGKILL", signal.SIGTERM)):
        try:
            os.killpg(process.pid, number) if os.name == "posix" else process.terminate()
            process.wait(PATIENCE_S)
            return
        except subprocess.TimeoutExpired:
            continue
        except ProcessLookupError:
            return


def failure_text(steps, folder, printed, code=1):
    """Why a run failed, in a few lines.

    Parameters
    ----------
    steps : object
        Progress of the run.
    folder : path-like
    printed : str
        Output of Snakemake.
    code : int
        Exit code; a negative one is the signal that ended the run.

    Returns
    -------
    str
    """
    if code < 0 and not steps.failed:
        name = signal.Signals(-code).name
        return f"The run was ended from outside ({name}); the same command goes on from there."
    if not steps.failed:
        text = workflow_fault(steps.faults) or cause([], folder, printed)
        return f"The run did not get under way.\n{_indented(text)}"
    parts = []
    for title, rule, logs in steps.failed:
        parts.append(f"{title}: failed\n{_indented(cause(logs, folder, printed, rule))}")
        parts += [_indented(f"log: {log}") for log in logs if _holds_text(Path(folder, log))]
    return "\n".join(
        [*parts, "All that does not depend on it is done; after the cure, give the same command again."]
    )


def _holds_text(path):
    return path.is_file() and path.stat().st_size > 0


def _answers(entries, folder, steps, until):
    lines = [] if steps.done else ["Nothing has changed since the last run; its results stand."]
    for name, entry in entries.items():
        lines.append(headline(name, folder))
        words = offered(entry.path, entry.study, Path(folder, "results"))
        lines += [f"  {words}"] if words else []
    if until == "options":
        lines.append(f"Side by side: {Path('results', 'options', 'proposal.html')}")
    if len(entries) > 1:
        rows = studies_rows(entries, folder)
        path = write_studies(rows, folder, _first(entries).document)
        lines += ["", studies_text(rows), f"With all columns: {path} and {path.with_suffix('.xlsx')}"]
    return "\n".join(lines)


def _first(entries):
    return next(iter(entries.values())).study


def _data(entries, folder):
    """For each study its headlines, where its results are, and what the table of studies says of it."""
    rows = studies_rows(entries, folder)
    if len(rows) > 1:
        write_studies(rows, folder, _first(entries).document)
    found = []
    for row in rows:
        results = Path("results", row["name"])
        summary = json.loads(Path(folder, results, "summary.json").read_text(encoding="utf-8"))
        about = {key: row[key] for key in ("name", "file", "differs", "cost", "chance_pct", "target_met_pct")}
        found.append(about | {"results": results.as_posix(), "headlines": summary})
    return json.dumps(found, indent=1, ensure_ascii=False)


def _indented(text):
    return "\n".join(f"  {line}" for line in text.splitlines())


def _is_terminal(stream):
    return hasattr(stream, "isatty") and stream.isatty()
