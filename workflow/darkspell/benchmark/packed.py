"""Whether a compiled driver works on whole vectors: counted in its machine code."""

import platform
import re

from numba import njit

from darkspell.core.jit import PLAIN

SINGLE = r"\bv?(?:add|sub|mul|div|sqrt|max|min|fn?m(?:add|sub)\d+)ss\b"
PACKED = r"\bv?(?:add|sub|mul|div|sqrt|max|min|fn?m(?:add|sub)\d+)ps\b"
ARM_SINGLE = r"\bf(?:add|sub|mul|div|sqrt|max|min|n?madd|n?msub)(?:nm)?\s+s\d"
ARM_PACKED = r"\bf(?:add|sub|mul|div|sqrt|max|min|mla|mls)(?:nm)?(?:\.4s)?\s+v\d"


def counts(function, signatures=None):
    """Float32 arithmetic instructions of a compiled function's loops.

    The function is compiled once more: what comes from numba's cache keeps no listing.

    Parameters
    ----------
    function : numba dispatcher
        Already called once.
    signatures : iterable, optional
        Argument types to look at; all that it was called with if not given.

    Returns
    -------
    packed, single : int
    """
    fresh = njit(**PLAIN)(function.py_func)
    for signature in signatures or function.signatures:
        fresh.compile(signature)
    code = "\n".join(fresh.inspect_asm().values())
    arm = platform.machine().lower() in ("arm64", "aarch64")
    many, one = (ARM_PACKED, ARM_SINGLE) if arm else (PACKED, SINGLE)
    return len(re.findall(many, code)), len(re.findall(one, code))


def is_packed(many, single):
    """Whether vector operations prevail: the step has some 150, a scalar fallback none.

    Other scalar operations are outside the lanes (an hour's temperature in sizing).

    Parameters
    ----------
    many : int
        Vector operations.
    single : int
        Scalar operations.

    Returns
    -------
    bool
    """
    return many >= 100 and many > 2 * single
