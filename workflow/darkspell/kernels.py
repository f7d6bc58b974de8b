"""How functions are compiled: a few decorators, so that all kernels keep the same arithmetic.

The wrappers that let C and Python call a compiled function hold its whole body again. Left out where nobody
calls it so, they take a third off the time to compile.
"""

import os
from contextlib import contextmanager
from pathlib import Path

from numba import config, njit
from numba.core.compiler_lock import global_compiler_lock
from numba.extending import register_jitable

PLAIN = {"nogil": True, "error_model": "numpy", "fastmath": False, "no_cfunc_wrapper": True}
WITHIN = PLAIN | {"no_cpython_wrapper": True}
INLINED = WITHIN | {"forceinline": True}

# Parts of kernels, the second melted into its caller; to Python they are the plain functions that they were.
part = register_jitable(**WITHIN)
inlined = register_jitable(**INLINED)
# Parts that Python calls compiled as well.
shared_part = njit(**PLAIN)
shared_inlined = njit(forceinline=True, **PLAIN)


def kernel(function):
    """Compile a function that Python calls, keep it on disk, and let no two processes compile it at once.

    The second one waits for the first and takes its machine code: jobs that begin together need much the same.
    """
    compiled = njit(cache=True, **PLAIN)(function)
    compile_one = compiled.compile

    def compile_once(signature):
        with global_compiler_lock, _alone(f"{function.__module__}.{function.__qualname__}"):
            return compile_one(signature)

    compiled.compile = compile_once
    return compiled


def on_disk(compiled):
    """Whether the folder of kernels holds one, for whatever types."""
    function = compiled.py_func
    names = Path(config.CACHE_DIR).glob(
        f"**/*{function.__module__.rpartition('.')[2]}.{function.__qualname__}-*.nbi"
    )
    return next(names, None) is not None


@contextmanager
def _alone(name):
    """Hold a name's lock file, which falls with the process; go without where the system has no such locks."""
    lock = None
    try:
        from fcntl import LOCK_EX, flock

        os.makedirs(config.CACHE_DIR, exist_ok=True)
        lock = open(os.path.join(config.CACHE_DIR, f"{name}.lock"), "w")
        flock(lock, LOCK_EX)
    except (ImportError, OSError):
        pass
    try:
        yield
    finally:
        if lock is not None:
            lock.close()
