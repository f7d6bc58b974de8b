"""How functions are compiled: a few decorators, so that all kernels keep the same arithmetic.

The wrappers that let C and Python call a compiled function hold its whole body again. Left out where nobody
calls it so, they take a third off the time to compile.
"""

import gc
import os
from contextlib import contextmanager, nullcontext
from pathlib import Path

import llvmlite.binding as llvm
import numpy as np
from llvmlite import ir
from numba import config, njit, types
from numba.core import cgutils
from numba.core.caching import CompileResultCacheImpl, FunctionCache, _CacheLocator
from numba.core.compiler_lock import global_compiler_lock
from numba.extending import intrinsic, overload, register_jitable

from darkspell.core.jit_cache import PACKAGE, file_hash, kernel_hash

try:
    from darkspell.core.compiler_shortcuts import shortcuts
except (ImportError, AttributeError):  # a version of Numba without what they replace: compile as usual
    shortcuts = nullcontext

config.CACHE_DIR = config.CACHE_DIR or os.environ.get(
    "NUMBA_CACHE_DIR", ""
)  # numba may have been imported first
if config.CPU_NAME is None and config.CPU_FEATURES is None:  # as they are unless the user has set them
    # By itself the compiler keeps to half of the widest registers, for the sake of code that seldom needs them.
    host = llvm.get_host_cpu_features()
    if host.get("avx512vl"):
        config.CPU_NAME = llvm.get_host_cpu_name()
        config.CPU_FEATURES = host.flatten() + ",-prefer-256-bit"

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
    """Compile a function for calls from Python and store it on disk; only one process compiles it at a time.

    A second process waits for the first and loads its machine code: jobs that start together need the same kernels.

    Parameters
    ----------
    function : callable

    Returns
    -------
    callable
    """
    compiled = njit(**PLAIN)(function)
    compiled._cache = _Cache(function)
    compile_one = compiled.compile

    def compile_once(signature):
        name = f"{function.__module__}.{function.__qualname__}"
        with global_compiler_lock, _alone(name), _no_collection(), shortcuts():
            return compile_one(signature)

    compiled.compile = compile_once
    return compiled


class _Locator(_CacheLocator):
    """Keeps kernels by their module's name and sources; numba itself would by the checkout's path."""

    def __init__(self, function, path):
        self._function, self._path = function, Path(path)

    def get_cache_path(self):
        """Folder of the kernel's module."""
        return os.path.join(config.CACHE_DIR, self._function.__module__)

    def get_source_stamp(self):
        """What makes a stored kernel stale."""
        return kernel_hash(), file_hash(self._path)

    def get_disambiguator(self):
        """Position in the module."""
        return str(self._function.__code__.co_firstlineno)

    @classmethod
    def from_function(cls, function, path):
        """Locator of a kernel; None where it is not part of the package or nothing can be stored.

        Parameters
        ----------
        function : callable
        path : str
            Its source file.
        """
        found = cls(function, path)
        if not config.CACHE_DIR or not found._path.is_relative_to(PACKAGE):
            return None
        try:
            found.ensure_cache_path()
        except OSError:
            return None
        return found


class _Impl(CompileResultCacheImpl):
    _locator_classes = [_Locator, *CompileResultCacheImpl._locator_classes]


class _Cache(FunctionCache):
    _impl_class = _Impl


def on_disk(compiled):
    """Whether the cache holds a kernel for any argument types.

    Parameters
    ----------
    compiled : callable
        Made by `kernel`.

    Returns
    -------
    bool
    """
    function = compiled.py_func
    names = Path(config.CACHE_DIR).glob(
        f"**/*{function.__module__.rpartition('.')[2]}.{function.__qualname__}-*.nbi"
    )
    return next(names, None) is not None


@contextmanager
def _no_collection():
    """Search for no garbage: a compiler makes millions of objects and keeps most of them."""
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()


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


def fma(a, b, c):
    """Compute ``a * b + c`` in float32, rounded once when compiled: the same bits on every processor.

    The compiler must not choose how to combine ``a * b + c`` by itself: the choice differs between processors.

    Parameters
    ----------
    a, b, c : float32

    Returns
    -------
    float32
    """
    return np.float32(np.float64(a) * b + c)


@intrinsic
def _fma(_, a, b, c):
    """The processor's own; where it has none, the C library's."""

    def code(_context, builder, _signature, values):
        return builder.fma(*values)

    return types.float32(a, b, c), code


@overload(fma, jit_options=INLINED)
def _fma_of(a, b, c):
    return lambda a, b, c: _fma(np.float32(a), np.float32(b), np.float32(c))


def lowest_bit(bits):
    """Position of the lowest bit set, to visit the lanes of a list without looking at the others.

    Parameters
    ----------
    bits : uint64
        Not zero.

    Returns
    -------
    int64
    """
    bits = int(bits)
    return (bits & -bits).bit_length() - 1


@intrinsic
def _lowest_bit(_, bits):
    def code(_context, builder, _signature, values):
        return builder.cttz(values[0], ir.Constant(ir.IntType(1), 1))

    return types.uint64(bits), code


@overload(lowest_bit, jit_options=INLINED)
def _lowest_bit_of(bits):
    return lambda bits: _lowest_bit(np.uint64(bits))


def copy_floats(source, first, target, at, count):
    """Copy numbers between arrays that do not overlap, each taken as flat.

    A loop would be packed only where the compiler can prove that; else it copies number by number, which took most of
    the time of the bank's hour.

    Parameters
    ----------
    source : float32 array
    first : int
        Position of the first number.
    target : float32 array, written
    at : int
        Where the first number goes.
    count : int
        Best a constant.
    """
    target.reshape(-1)[at : at + count] = source.reshape(-1)[first : first + count]


@intrinsic
def _copy(_, source, first, target, at, count):
    def code(context, builder, signature, values):
        kinds, size = signature.args, ir.IntType(64)
        data = [context.make_array(kinds[n])(context, builder, values[n]).data for n in (0, 2)]
        begin, end = (builder.gep(data[n], [values[2 * n + 1]]) for n in (0, 1))
        cgutils.raw_memcpy(builder, end, begin, values[4], ir.Constant(size, 4))

    return types.void(source, types.intp, target, types.intp, types.intp), code


@overload(copy_floats, jit_options=INLINED)
def _copy_floats_of(source, first, target, at, count):
    if {source.layout, target.layout} == {"C"} and {source.dtype, target.dtype} == {types.float32}:
        return lambda source, first, target, at, count: _copy(source, first, target, at, count)

    def singly(source, first, target, at, count):
        for n in range(count):
            target.flat[at + n] = source.flat[first + n]

    return singly
