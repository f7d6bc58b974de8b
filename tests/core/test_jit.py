"""Kernels are compiled once, whoever asks for them at the same time; their own small functions."""

import shutil
import subprocess
import sys
from os import environ

import numpy as np

from darkspell.core.jit import lowest_bit, shared_part
from darkspell.core.jit_cache import PACKAGE

WORK = """
import sys
from numba.core import event
from darkspell.core.keyed_random import normals_of_members
import numpy as np
compiled = []


class Listener(event.Listener):
    def on_start(self, it):
        compiled.append(it.data["dispatcher"].py_func.__name__)

    def on_end(self, it):
        pass


event.register("numba:compile", Listener())
print(normals_of_members(np.uint64(3), np.arange(2), 2).sum(), "normals_of_members" in compiled)
"""


def test_two_processes_compile_a_kernel_once(tmp_path):
    """Both get the same numbers, and only one of them compiled."""
    fresh = environ | {"NUMBA_CACHE_DIR": str(tmp_path)}
    both = [subprocess.Popen([sys.executable, "-c", WORK], env=fresh, stdout=subprocess.PIPE) for _ in "12"]
    words = [one.communicate()[0].decode().split() for one in both]
    assert words[0][0] == words[1][0]
    assert sorted(word[1] for word in words) == ["False", "True"]


def test_another_checkout_uses_the_kernels_until_a_source_differs(tmp_path):
    """A copy of the package elsewhere compiles nothing; with an edit it does, also of a module that is inlined."""
    other = tmp_path / "other"
    shutil.copytree(PACKAGE, other / "darkspell", ignore=shutil.ignore_patterns("__pycache__"))
    env = {
        key: value for key, value in environ.items() if key not in ("NUMBA_CACHE_DIR", "DARKSPELL_KERNELS")
    }
    env["XDG_CACHE_HOME"] = str(tmp_path / "cache")

    def told(path):
        words = [sys.executable, "-c", WORK]
        done = subprocess.run(words, env=env | {"PYTHONPATH": str(path)}, capture_output=True, text=True)
        return done.stdout.split()

    first = told(PACKAGE.parent)
    assert first[1] == "True"
    assert told(other) == [first[0], "False"]
    with (other / "darkspell" / "core" / "fast_math.py").open("a") as file:
        file.write("# another line\n")
    assert told(other) == first
    assert told(PACKAGE.parent) == [first[0], "False"]


def test_the_lowest_bit_is_found_compiled_or_not():
    """Against numbers made with that bit and any above it."""
    compiled = shared_part(lambda bits: lowest_bit(bits))
    for place in range(64):
        for above in (0, 1, 0x5555_5555_5555_5555):
            bits = np.uint64((1 << place | above << place + 1) % 2**64)
            assert lowest_bit(bits) == compiled(bits) == place
