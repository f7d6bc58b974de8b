"""Jobs forked from one process: their exit codes, what they print, and that they end with the run."""

import os
import pickle
import subprocess
import sys
import time
from types import SimpleNamespace

import psutil
import pytest
from snakemake_interface_executor_plugins.registry import ExecutorPluginRegistry

from darkspell.pipeline import forked_jobs, job_server
from darkspell.pipeline.job_server import Request

pytestmark = pytest.mark.skipif(not job_server.available(), reason="forks jobs on Linux only")
PATIENCE_S = 60.0
ASLEEP = """
import os, subprocess, sys, time
from pathlib import Path
child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
Path("half.txt").write_text(f"{os.getpid()} {child.pid}")
os.replace("half.txt", "pids.txt")
time.sleep(600)
"""


@pytest.fixture
def server(tmp_path):
    process, connection = job_server.start(tmp_path / "printed.txt", dict(os.environ))
    yield SimpleNamespace(process=process, connection=connection, folder=tmp_path)
    connection.close()
    process.kill()
    process.wait()


def ask(server, number, text, known=None):
    script = server.folder / f"job_{number}.py"
    script.write_text(text)
    server.connection.send(Request(number, str(script), str(server.folder), pickle.dumps(known)))


def answers(server, count):
    found = {}
    while len(found) < count:
        assert server.connection.poll(PATIENCE_S)
        number, code = server.connection.recv()
        found[number] = code
    return found


def sleeping(server):
    """Processes of a job that sleeps, and of what it started."""
    ask(server, 9, ASLEEP)
    file, until = server.folder / "pids.txt", time.monotonic() + PATIENCE_S
    while not file.exists():
        assert time.monotonic() < until
        time.sleep(0.05)
    return [psutil.Process(int(pid)) for pid in file.read_text().split()]


def test_exit_codes_are_those_of_an_interpreter(server):
    ask(server, 1, "open('made.txt', 'w').write(snakemake['said'] + __name__)", {"said": "made by "})
    ask(server, 2, "import sys; sys.exit('bank: too small; mend it')")
    ask(server, 3, "1 / 0")
    ask(server, 4, "import os, signal; os.kill(os.getpid(), signal.SIGKILL)")
    ask(server, 5, "import sys; sys.exit(5)")
    assert answers(server, 5) == {1: 0, 2: 1, 3: 1, 4: -9, 5: 5}
    assert (server.folder / "made.txt").read_text() == "made by __main__"
    printed = (server.folder / "printed.txt").read_text()
    assert "bank: too small; mend it" in printed and "ZeroDivisionError: division by zero" in printed


def test_one_job_leaves_nothing_to_the_next(server):
    ask(server, 1, "import json, os; json.left = 1; os.environ['LEFT'] = '1'; os.chdir('/')")
    assert answers(server, 1) == {1: 0}
    ask(server, 2, "import json, os; assert not hasattr(json, 'left') and 'LEFT' not in os.environ")
    assert answers(server, 1) == {2: 0}


def test_jobs_and_what_they_started_end_when_snakemake_is_gone(server):
    asleep = sleeping(server)
    server.connection.close()
    assert not psutil.wait_procs(asleep, timeout=PATIENCE_S)[1]
    server.process.wait(timeout=PATIENCE_S)


def test_jobs_end_when_the_server_is_killed(server):
    text = "from darkspell.pipeline.parent_watchdog import die_with_the_run\ndie_with_the_run()\n"
    ask(server, 1, text + ASLEEP)
    file, until = server.folder / "pids.txt", time.monotonic() + PATIENCE_S
    while not file.exists():
        assert time.monotonic() < until
        time.sleep(0.05)
    job, child = (psutil.Process(int(pid)) for pid in file.read_text().split())
    server.process.kill()
    assert not psutil.wait_procs([job], timeout=PATIENCE_S)[1]
    child.kill()


def test_jobs_are_interrupted_when_asked(server):
    asleep = sleeping(server)
    server.connection.send(Request(0))
    assert answers(server, 1) == {9: 1}
    assert not psutil.wait_procs(asleep, timeout=PATIENCE_S)[1]


def test_no_job_begins_once_all_were_stopped(server):
    server.connection.send(Request(0))
    ask(server, 3, "raise SystemExit(7)")
    assert answers(server, 1) == {3: 1}


def test_a_library_of_an_extra_that_is_not_installed_stops_no_job(monkeypatch):
    """A wheel without its extras has no typesetter."""
    monkeypatch.setattr(job_server, "LATE", ("no_such_library",))
    *_, last = job_server.preparations()
    last()


def test_everything_that_is_prepared_can_be_imported():
    for prepare in job_server.preparations():
        prepare()


SNAKEFILE = """
from darkspell.pipeline.forked_jobs import fork_local_jobs
fork_local_jobs()
rule parent:
    output: "parent.txt"
    params: word="asked"
    script: "parent.py"
"""
PARENT = """
from pathlib import Path
import psutil
print("printed by the job")
Path(snakemake.output[0]).write_text(" ".join([snakemake.params.word, *psutil.Process().parent().cmdline()]))
"""


def plain_snakemake(folder, script=PARENT):
    (folder / "Snakefile").write_text(SNAKEFILE)
    (folder / "parent.py").write_text(script)
    command = [sys.executable, "-m", "snakemake", "--cores", "1", "--directory", str(folder)]
    environment = {name: value for name, value in os.environ.items() if name != job_server.VARIABLE}
    return subprocess.run(
        [*command, "--snakefile", str(folder / "Snakefile")], capture_output=True, text=True, env=environment
    )


def test_jobs_of_a_plain_snakemake_are_forked_too(tmp_path):
    done = plain_snakemake(tmp_path)
    assert done.returncode == 0, done.stderr
    made = (tmp_path / "parent.txt").read_text()
    assert made.startswith("asked ") and job_server.MODULE in made
    assert "printed by the job" in done.stderr


def test_a_job_that_fails_ends_a_plain_snakemake_with_its_error(tmp_path):
    done = plain_snakemake(tmp_path, PARENT + "raise SystemExit('bank: too small')")
    assert done.returncode == 1
    assert "bank: too small" in done.stderr and "Error in rule parent" in done.stderr


def test_other_executors_stay_as_they_are(monkeypatch):
    plugins = ExecutorPluginRegistry().plugins
    for plugin in plugins.values():
        monkeypatch.setattr(plugin, "executor", plugin.executor)
    before = {name: plugin.executor for name, plugin in plugins.items()}
    monkeypatch.setattr(job_server, "start", lambda: (None, "connection"))
    monkeypatch.setattr(forked_jobs.Executor, "connection", None)
    monkeypatch.delenv(job_server.VARIABLE, raising=False)
    monkeypatch.setattr(job_server, "available", lambda: False)
    forked_jobs.fork_local_jobs()
    assert {name: plugin.executor for name, plugin in plugins.items()} == before
    monkeypatch.setattr(job_server, "available", lambda: True)
    forked_jobs.fork_local_jobs()
    after = {name: plugin.executor for name, plugin in plugins.items()}
    assert after == before | {"local": forked_jobs.Executor}
    assert forked_jobs.Executor.connection == "connection"
