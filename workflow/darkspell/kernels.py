"""How functions are compiled: a few decorators, so that all kernels keep the same arithmetic.

The wrappers that let C and Python call a compiled function hold its whole body again. Left out where nobody
calls it so, they take a third off the time to compile.
"""

from numba import njit
from numba.extending import register_jitable

PLAIN = {"nogil": True, "error_model": "numpy", "fastmath": False, "no_cfunc_wrapper": True}
WITHIN = PLAIN | {"no_cpython_wrapper": True}
INLINED = WITHIN | {"forceinline": True}

# Called from Python, and kept on disk.
kernel = njit(cache=True, **PLAIN)
# Parts of kernels, the second melted into its caller; to Python they are the plain functions that they were.
part = register_jitable(**WITHIN)
inlined = register_jitable(**INLINED)
# Parts that Python calls compiled as well.
shared_part = njit(**PLAIN)
shared_inlined = njit(forceinline=True, **PLAIN)
