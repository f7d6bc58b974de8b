"""A process that has imported what jobs need, and forks each job of a run from itself.

An interpreter of its own costs each job 2 s of imports. This process works next to Snakemake, whose executor
(`darkspell.pipeline.forked_jobs`) sends the jobs. It ends with Snakemake: their connection is closed then.
"""

import ast
import gc
import os
import pickle
import signal
import sys
import traceback
from contextlib import nullcontext, suppress
from importlib import import_module
from multiprocessing.connection import Connection, Pipe, wait
from pathlib import Path
from subprocess import DEVNULL, STDOUT, Popen
from typing import NamedTuple

from darkspell.pipeline.location import workflow_root

VARIABLE = "DARKSPELL_JOBS"
MODULE = "darkspell.pipeline.job_server"
# Scripts in the order in which a run needs them, and what they import late.
SCRIPTS = ("site", "members", "grid", "whatifs", "costs", "sizing", "figures", "proposal", "provenance")
EARLY = ("numpy", "pandas", "snakemake.script")
DRAWING = ("matplotlib.backends.backend_agg", "matplotlib.backends.backend_svg")
LATE = ("pvlib", *DRAWING, "jinja2", "docx", "typst")  # the last one where it is installed: the extra `pdf`
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


class Request(NamedTuple):
    """A job to run, or with an empty script the wish to stop all jobs.

    Parameters
    ----------
    number : int
        The answer bears it too.
    script : str
    folder : str
        Where the job works.
    snakemake : bytes
        Pickled object of that name, as scripts know it.
    """

    number: int
    script: str = ""
    folder: str = ""
    snakemake: bytes = b""


def available():
    """Whether jobs can be forked here: safe on Linux only."""
    return sys.platform == "linux"


def start(printed=None, environment=None):
    """Start the process.

    Parameters
    ----------
    printed : path-like, optional
        What jobs print is appended to this file; if not given, it goes where this process prints errors.
    environment : dict of str, optional
        That of this process if not given.

    Returns
    -------
    subprocess.Popen
    multiprocessing.connection.Connection
        For the executor; the process ends when its last copy is closed.
    """
    ours, its = Pipe()
    environment = {**(os.environ if environment is None else environment), **ONE_THREAD}
    with its, open(printed, "ab") if printed else nullcontext(sys.__stderr__) as sink:
        number = its.fileno()
        process = Popen(
            [sys.executable, "-m", MODULE, str(number)], pass_fds=(number,), stdin=DEVNULL, stdout=sink,
            stderr=STDOUT, env=environment, start_new_session=True,
        )  # fmt: skip
    return process, ours


def serve(connection, imports=()):
    """Run jobs until the other end of the connection is closed, then end those that still run.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection
        `Request` in; (number, exit code) out.
    imports : iterable of callable
        Preparations, done one by one while nothing is asked.
    """
    ended, waker = os.pipe()
    for end in (ended, waker):
        os.set_blocking(end, False)
    signal.set_wakeup_fd(waker)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    jobs, imports, stopped = {}, iter(imports), False
    prepare = next(imports, None)
    try:
        while True:
            ready = wait([connection, ended], 0.0 if prepare else None)
            if ended in ready:
                os.read(ended, 1 << 16)
                _report_ended(jobs, connection)
            if connection in ready:
                request = connection.recv()
                if request.script and stopped:  # asked for as the run was interrupted
                    connection.send((request.number, 1))
                elif request.script:
                    jobs[_forked(request, connection, (ended, waker))] = request.number
                else:
                    stopped = True
                    _signal_all(jobs, signal.SIGINT)
            if not ready and prepare:
                prepare()
                prepare = next(imports, None)
                if prepare is None:
                    gc.collect()
                    gc.freeze()  # what all jobs share is then not copied when they look for garbage
    except (EOFError, OSError):
        _signal_all(jobs, signal.SIGKILL)


def _report_ended(jobs, connection):
    while jobs:
        pid, status = os.waitpid(-1, os.WNOHANG)
        if not pid:
            return
        connection.send((jobs.pop(pid), os.waitstatus_to_exitcode(status)))


def _signal_all(jobs, number):
    for pid in jobs:
        try:
            os.killpg(pid, number)
        except ProcessLookupError:
            continue


def _forked(request, connection, pipes):
    """Number of the process that runs a job."""
    sys.stdout.flush()
    sys.stderr.flush()
    pid = os.fork()
    if pid:
        try:
            os.setpgid(pid, pid)  # here too, so that the group exists before it is signalled
        except (PermissionError, ProcessLookupError):
            pass
        return pid
    code = 1
    try:
        os.setpgid(0, 0)
        signal.set_wakeup_fd(-1)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores it
        connection.close()
        for end in pipes:
            os.close(end)
        code = run_script(request)
    finally:  # without the clean-up that belongs to the process forked from
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def run_script(request):
    """Run the script of a job in this process.

    Parameters
    ----------
    request : Request

    Returns
    -------
    int
        Exit code, as Python's own would be.
    """
    os.chdir(request.folder)
    sys.argv = [request.script]
    try:
        text = Path(request.script).read_bytes()
        names = {"__name__": "__main__", "__file__": request.script}
        names["snakemake"] = pickle.loads(request.snakemake)
        exec(compile(text, request.script, "exec"), names)
    except SystemExit as end:
        if end.code is None or isinstance(end.code, int):
            return end.code or 0
        print(end.code, file=sys.stderr)
        return 1
    except BaseException:
        traceback.print_exc()
        return 1
    return 0


def preparations():
    """What jobs import, as functions that import a part each.

    Yields
    ------
    callable
    """
    folder = workflow_root() / "workflow" / "scripts"
    for name in EARLY:
        yield lambda name=name: import_module(name)
    for number, script in enumerate(SCRIPTS):
        for name in imported(folder / f"{script}.py"):
            yield lambda name=name: import_module(name)
        if number == 1:
            yield _ready_compiler
    for name in LATE:
        yield lambda name=name: _import_if_installed(name)


def _import_if_installed(name):
    """What is missing here is missed by the job that needs it, and said there."""
    with suppress(ImportError):
        import_module(name)


def imported(script):
    """Modules that a script imports at its top.

    Parameters
    ----------
    script : pathlib.Path

    Returns
    -------
    list of str
    """
    names = []
    for node in ast.parse(script.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names.append(node.module)
    return names


def _ready_compiler():
    """Register what the compiler knows, which it otherwise does at the first kernel of each process."""
    from numba.core.registry import cpu_target

    cpu_target.typing_context.refresh()
    cpu_target.target_context.refresh()


if __name__ == "__main__":
    serve(Connection(int(sys.argv[1])), preparations())
