"""An executor for Snakemake: Python scripts run in forks of a process that has their imports already.

The Snakefile puts it in the place of Snakemake's local executor, which it leaves all else to. `darkspell run` starts
the process to fork from (`darkspell.pipeline.job_server`) itself; a plain ``snakemake`` starts it here.
"""

import os
import pickle
from concurrent.futures import Future
from itertools import count
from multiprocessing.connection import Connection
from subprocess import CalledProcessError
from threading import Lock, Thread

from snakemake.exceptions import WorkflowError
from snakemake.executors.local import Executor as LocalExecutor
from snakemake.script import Snakemake
from snakemake_interface_executor_plugins.registry import ExecutorPluginRegistry

from darkspell.pipeline import job_server
from darkspell.pipeline.job_server import VARIABLE, Request

LOST = 1


def fork_local_jobs():
    """Let Snakemake's local executor be the one below; nothing changes where no jobs can be forked.

    An executor that the user asks for, such as a cluster's, stays as it is, and so does a dry run. The process to
    fork from begins its imports now, while Snakemake plans, unless it was started before Snakemake.
    """
    if not job_server.available():
        return
    given = os.environ.get(VARIABLE)
    Executor.connection = Connection(int(given)) if given else job_server.start()[1]
    ExecutorPluginRegistry().get_plugin("local").executor = Executor


class Executor(LocalExecutor):
    """Sends Python scripts to the job server."""

    connection = None

    def __post_init__(self):
        super().__post_init__()
        self.server = Server(self.connection)

    def run_single_job(self, job):
        """Run a job; see the local executor.

        Parameters
        ----------
        job : snakemake.jobs.Job

        Returns
        -------
        concurrent.futures.Future
        """
        usual = job.is_shadow or job.benchmark or self.workflow.execution_settings.debug
        if usual or not str(job.rule.script or "").endswith(".py"):
            return super().run_single_job(job)
        self.workflow.async_run(job.prepare())
        return self.pool.submit(self.cached_or_run, job, self._run_script, job)

    def _run_script(self, job):
        path = job.rule.basedir.join(job.rule.script)
        folder = path.get_basedir().get_path_or_uri(secret_free=True)
        known = Snakemake(
            job.input, job.output, job.params, job.wildcards, job.threads, job.resources, job.log,
            self.workflow.config, job.rule.name, None, folder,
        )  # fmt: skip
        script = path.get_path_or_uri(secret_free=True)
        code = self.server.run(os.path.normpath(script), pickle.dumps(known, protocol=4))
        if code:
            raise WorkflowError(str(CalledProcessError(code, script)))

    def cancel(self):
        """Stop all jobs."""
        self.server.stop()
        super().cancel()


class Server:
    """The other process, as the threads of this one see it.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection
    """

    def __init__(self, connection):
        self.connection = connection
        self._waiting, self._numbers, self._lock = {}, count(1), Lock()
        Thread(target=self._listen, daemon=True).start()

    def run(self, script, snakemake):
        """Exit code of a script, once it has ended.

        Parameters
        ----------
        script : str
        snakemake : bytes
            Pickled object of that name.

        Returns
        -------
        int
        """
        number, future = next(self._numbers), Future()
        try:
            with self._lock:
                self._waiting[number] = future
                self.connection.send(Request(number, script, os.getcwd(), snakemake))
        except OSError:
            return LOST
        return future.result()

    def stop(self):
        """Interrupt all jobs."""
        try:
            with self._lock:
                self.connection.send(Request(0))
        except OSError:
            return

    def _listen(self):
        try:
            while True:
                number, code = self.connection.recv()
                self._waiting.pop(number).set_result(code)
        except (EOFError, OSError):
            for future in list(self._waiting.values()):
                future.set_result(LOST)
