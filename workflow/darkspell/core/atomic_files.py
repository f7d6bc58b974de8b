"""Files in and out: whole or not at all, and the stored sites."""

import json
import os
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from tempfile import mkstemp

import numpy as np

HALF_MADE = ".half-made-"


@contextmanager
def replacing(path):
    """Path of a temporary file that takes the place of `path` once the block ends without an error.

    A process that dies, or that outlives its parent and goes on writing, leaves the old file whole.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = mkstemp(prefix=f"{HALF_MADE}{path.stem}-", suffix=path.suffix, dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
        with open(name, "rb") as written:
            os.fsync(written.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def clear_half_made(folder):
    """Remove what processes that were killed in the middle of writing have left in a folder."""
    for path in list(Path(folder).rglob(f"{HALF_MADE}*")):
        rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)


def write_text(path, text):
    """Write a text file whole, UTF-8."""
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def write_bytes(path, content):
    """Write a binary file whole."""
    with replacing(path) as temporary:
        temporary.write_bytes(content)


def write_json(path, value):
    """Write a JSON file whole, keys in the order given."""
    write_text(path, json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n")


def write_table(path, table):
    """Write a pandas table whole as CSV, numbers in six significant digits."""
    with replacing(path) as temporary:
        table.to_csv(temporary, index=False, float_format="%.6g", lineterminator="\n")


def join_tables(paths):
    """The rows of CSV files one after another, every cell the text that it was; a pandas table."""
    import pandas as pd

    tables = [pd.read_csv(path, dtype=str, keep_default_na=False, na_values=[]) for path in paths]
    return pd.concat(tables, ignore_index=True)


def write_numbers(path, numbers):
    """Write an array whole, bit for bit, as .npy."""
    with replacing(path) as temporary:
        np.save(temporary, numbers)


def file_hash(path):
    """SHA-256 of a file's contents, 64 hexadecimal digits."""
    return sha256(Path(path).read_bytes()).hexdigest()
