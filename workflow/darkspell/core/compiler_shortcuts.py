"""Work that Numba does for each small function of a kernel, and that a kernel does not need; left out.

A kernel is one function that Python calls and some fifty that only it calls. Numba makes machine code of each,
compares their options one by one at each call, and reports each call of LLVM to listeners. Without that, compiling
takes three quarters of the time. The kernel's code is the same: its parts are put into it before it is optimised.
Numba has no options for this, so its methods are replaced while a kernel is compiled, and only in the version that
was read and tested; in others kernels compile as usual.
"""

from contextlib import ExitStack, contextmanager

import llvmlite.binding as llvm
import numba
from numba import _dynfunc
from numba.core import ir
from numba.core.codegen import CPUCodeLibrary
from numba.core.cpu import CPUContext
from numba.core.lowering import BaseLower
from numba.core.targetconfig import ConfigStack, TargetConfig

TESTED = "0.68."
LEAVES = (str, int, float, bool, type(None), ir.Loc)
_environments = {}


@contextmanager
def shortcuts():
    """Leave the work out while in here; for whoever holds Numba's compiler lock."""
    with ExitStack() as stack:
        for owner, name, new in _known():
            old = owner.__dict__[name] if isinstance(owner, type) else getattr(owner, name)
            stack.callback(setattr, owner, name, old)
            setattr(owner, name, new(old) if isinstance(owner, type) else new)
        yield


def _known():
    """The replacements; none in a version that was not tested, or that lacks one of what they replace."""
    if not numba.__version__.startswith(TESTED):
        return ()
    try:
        replacements = _replacements()
    except AttributeError:
        return ()
    there = all(name in vars(owner) for owner, name, _ in replacements)
    return replacements if there else ()


def _replacements():
    """What is replaced: owner, name, and a function from old to new (the new value of an object's attribute)."""
    return (
        (TargetConfig, "__eq__", _same_options),
        (TargetConfig, "__hash__", lambda _: lambda self: hash(type(self))),
        (ir.Inst, "_rec_list_vars", lambda _: _variables),
        (CPUCodeLibrary, "_finalize_final_module", _without_machine_code),
        (CPUContext, "get_executable", _without_address),
        (BaseLower, "create_cfunc_wrapper", _without_wrapper),
        (llvm.ffi.lib._lock, "_cblist", []),
    )


def _is_part():
    """Whether the function being compiled is one that Python never calls."""
    flags = ConfigStack.top_or_none()
    return flags is not None and flags.no_cpython_wrapper


def _same_options(old):
    def same(self, other):
        if isinstance(other, TargetConfig) and type(self) is type(other) and self._values == other._values:
            return True
        return old(self, other)

    return same


def _variables(_, value):
    """Variables within a part of an instruction, depth first."""
    found = []
    _add_variables(value, found)
    return found


def _add_variables(value, found):
    if isinstance(value, LEAVES):
        return
    if isinstance(value, ir.Var):
        found.append(value)
    elif isinstance(value, ir.Inst):
        found.extend(value.list_vars())
    elif isinstance(value, (list, tuple, dict)):
        for inner in value.values() if isinstance(value, dict) else value:
            _add_variables(inner, found)


def _without_machine_code(old):
    def finalize(self):
        if not _is_part():
            return old(self)
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True

    return finalize


def _without_address(old):
    def executable(self, library, fndesc, env):
        name = self.get_env_name(fndesc)
        if not _is_part():
            made = old(self, library, fndesc, env)
            _give_environments(library.codegen)
            return made
        library._ensure_finalized()
        _environments[name] = env
        return _dynfunc.make_function(
            fndesc.lookup_module(), fndesc.qualname, "part of a kernel", 0, env, (library,)
        )

    return executable


def _give_environments(codegen):
    """Tell the machine code of a kernel where what its parts refer to is; Numba does so part by part."""
    for name, env in _environments.items():
        if codegen._engine.is_symbol_defined(name):
            codegen.set_env(name, env)


def _without_wrapper(old):
    def create(self):
        if not _is_part():
            old(self)

    return create
