"""How the whole suite runs: in two processes where the machine has two cores, slow files first."""

import os
import signal

import pytest
from hypothesis import settings

PROCESSES = 2
# Files that take longest, longest first: if one of them began late, a single process would be busy at the end.
SLOW = ("pipeline/test_pipeline.py",)

# On a busy machine any example may be stopped for a second. One commit gives one verdict: the suite draws the
# same examples each time; `pytest --hypothesis-profile=explore` draws others.
settings.register_profile("darkspell", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, print_blob=True)
settings.load_profile("darkspell")


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """Share the whole suite between two processes; tests asked for by name, or on one core, stay in one."""
    if hasattr(config, "workerinput") or "PYTEST_XDIST_WORKER" in os.environ:
        return  # a worker starts no workers
    given = config.option
    whole = config.args_source == pytest.Config.ArgsSource.TESTPATHS
    free = getattr(given, "numprocesses", 0) is None and not given.usepdb  # neither -n nor -p no:xdist
    if whole and free and (os.cpu_count() or 1) >= PROCESSES:
        given.numprocesses, given.dist, given.loadscopereorder = PROCESSES, "loadfile", False


def pytest_configure():
    """Let runs be interrupted, also where a shell started the tests in its background and they ignore it."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_collection_modifyitems(items):
    """Begin with the slow files."""
    rank = {name: at for at, name in enumerate(SLOW)}
    items.sort(key=lambda item: rank.get(item.nodeid.partition("::")[0].removeprefix("tests/"), len(SLOW)))
