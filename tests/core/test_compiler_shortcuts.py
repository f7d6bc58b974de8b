"""What is left out when a kernel is compiled changes neither its results nor the compiler afterwards."""

import subprocess
import sys
from contextlib import nullcontext

import numpy as np
import pytest
from numba import njit
from numba.core.codegen import CPUCodeLibrary
from numba.core.cpu import CPUContext
from numba.core.targetconfig import TargetConfig

from darkspell.core import compiler_shortcuts
from darkspell.core.compiler_shortcuts import shortcuts
from darkspell.core.jit import PLAIN, part, shared_part

VALUES = np.array([0.25, 2.0, 3.0])


def made(within):
    """A kernel of two parts, one of which Python may call too, compiled within a context."""

    @shared_part
    def root(value):
        if value < 0.0:
            raise ValueError("below zero", value)
        return np.sqrt(value)

    @part
    def weighted(value, weight):
        if weight == 0.0:
            raise ZeroDivisionError("no weight", value)
        return np.round(root(value) / weight, 3)

    @njit(**PLAIN)
    def total(values, weight):
        found = 0.0
        for value in values:
            found += weighted(value, weight)
        return found

    with within:
        total(VALUES, 3.0)
    return total, root


@pytest.mark.parametrize("context", [nullcontext, shortcuts])
def test_kernels_and_shared_parts_answer_and_raise_as_usual(context):
    total, root = made(context())
    assert total(VALUES, 3.0) == sum(np.round(np.sqrt(VALUES) / 3.0, 3))
    assert root(2.0) == np.sqrt(2.0)
    with pytest.raises(ValueError) as fault:
        total(-VALUES, 3.0)
    assert fault.value.args == ("below zero", -0.25)
    with pytest.raises(ZeroDivisionError) as fault:
        total(VALUES, 0.0)
    assert fault.value.args == ("no weight", 0.25)


def test_the_kernel_itself_is_the_same_code():
    """Parts are within it, and optimised as without the shortcuts."""
    usual, quick = (made(context())[0] for context in (nullcontext, shortcuts))
    steps = [
        [
            line.split()[0]
            for line in next(iter(one.inspect_llvm().values())).splitlines()
            if line.startswith("  %")
        ]
        for one in (usual, quick)
    ]
    assert steps[0] and len(steps[0]) == len(steps[1])


def test_a_kernel_made_later_may_use_a_part_made_before():
    _, root = made(shortcuts())
    again = njit(**PLAIN)(lambda value: root(value) + 1.0)
    assert again(4.0) == 3.0


def test_the_compiler_is_as_before_afterwards():
    def now():
        return (
            TargetConfig.__eq__, TargetConfig.__hash__, CPUCodeLibrary._finalize_final_module,
            compiler_shortcuts.llvm.ffi.lib._lock._cblist,
        )  # fmt: skip

    before = now()
    with pytest.raises(RuntimeError):
        with shortcuts():
            assert all(one is not other for one, other in zip(now(), before, strict=True))
            raise RuntimeError
    assert all(one is other for one, other in zip(now(), before, strict=True))


def test_an_untested_version_compiles_as_usual(monkeypatch):
    before = CPUCodeLibrary._finalize_final_module
    monkeypatch.setattr(compiler_shortcuts, "TESTED", "0.1.")
    with shortcuts():
        assert CPUCodeLibrary._finalize_final_module is before


def test_a_version_that_lacks_one_of_the_methods_compiles_as_usual(monkeypatch):
    monkeypatch.delattr(CPUContext, "get_executable")
    before = CPUCodeLibrary._finalize_final_module
    with shortcuts():
        assert CPUCodeLibrary._finalize_final_module is before


def test_a_version_without_the_modules_compiles_as_usual():
    """In a process of its own, where they cannot be imported."""
    program = "import numba, sys; sys.modules['darkspell.core.compiler_shortcuts'] = None\n"
    program += "from contextlib import nullcontext; from darkspell.core import jit\n"
    program += "sys.exit(jit.shortcuts is not nullcontext)"
    assert subprocess.run([sys.executable, "-c", program]).returncode == 0
