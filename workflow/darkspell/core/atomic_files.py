"""Files in and out: whole or not at all, and the stored sites."""

import errno
import json
import os
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from tempfile import mkstemp

import numpy as np

from darkspell.core.errors import StudyError

HALF_MADE = ".half-made-"
PROBE_BYTES = 100_000
CURES = dict.fromkeys(
    (errno.ENOSPC, errno.EDQUOT, errno.EFBIG), "make room on the disk, and give the same command again"
) | dict.fromkeys((errno.EACCES, errno.EPERM, errno.EROFS), "run where you may write")


@contextmanager
def replacing(path):
    """Temporary path whose file replaces `path` when the block ends without an error.

    A process that dies, or that outlives its parent, leaves the old file complete.

    Parameters
    ----------
    path : path-like

    Yields
    ------
    pathlib.Path
        Of the temporary file, in the same folder.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the disk is full, or the folder may not be written.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    name = None
    try:
        handle, name = mkstemp(prefix=f"{HALF_MADE}{path.stem}-", suffix=path.suffix, dir=path.parent)
        os.close(handle)
        yield Path(name)
        with open(name, "rb") as written:
            os.fsync(written.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except StudyError:
        raise
    except Exception as error:
        refusal = unwritable(error if getattr(error, "errno", None) else _append(name), path)
        if refusal is None:
            raise
        raise refusal from error
    finally:
        if name is not None:
            Path(name).unlink(missing_ok=True)


def unwritable(error, path):
    """What to tell of a full disk or a folder that may not be written; None of any other fault.

    Parameters
    ----------
    error : OSError or None
    path : path-like
        What was to be written.

    Returns
    -------
    darkspell.core.errors.StudyError or None
    """
    number = getattr(error, "errno", None)
    if number not in CURES:
        return None
    return StudyError(f"{path}: cannot be written ({os.strerror(number)}); {CURES[number]}")


def _append(name):
    """Write on where a library failed without saying why: the error of a full disk, or None."""
    try:
        with open(name, "ab") as file:
            file.write(bytes(PROBE_BYTES))
            os.fsync(file.fileno())
    except OSError as error:
        return error
    return None


def clear_half_made(folder):
    """Remove temporary files that killed processes left in a folder.

    Parameters
    ----------
    folder : path-like
    """
    for path in list(Path(folder).rglob(f"{HALF_MADE}*")):
        rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)


def write_text(path, text):
    """Write a complete text file, UTF-8, or none.

    Parameters
    ----------
    path : path-like
    text : str
    """
    with replacing(path) as temporary:
        temporary.write_text(text, encoding="utf-8")


def write_bytes(path, content):
    """Write a complete binary file, or none.

    Parameters
    ----------
    path : path-like
    content : bytes
    """
    with replacing(path) as temporary:
        temporary.write_bytes(content)


def write_json(path, value):
    """Write a complete JSON file, or none; keys stay in the order given.

    Parameters
    ----------
    path : path-like
    value : object
        Of JSON types.
    """
    write_text(path, json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n")


def write_table(path, table):
    """Write a complete CSV file, or none; numbers have six significant digits.

    Parameters
    ----------
    path : path-like
    table : pandas.DataFrame
    """
    with replacing(path) as temporary:
        table.to_csv(temporary, index=False, float_format="%.6g", lineterminator="\n")


def join_tables(paths):
    """Join the rows of CSV files; every cell stays the text that it was.

    Parameters
    ----------
    paths : sequence of path-like

    Returns
    -------
    pandas.DataFrame
    """
    import pandas as pd

    tables = [pd.read_csv(path, dtype=str, keep_default_na=False, na_values=[]) for path in paths]
    return pd.concat(tables, ignore_index=True)


def write_numbers(path, numbers):
    """Write a complete .npy file, or none; bits are kept.

    Parameters
    ----------
    path : path-like
    numbers : ndarray
    """
    with replacing(path) as temporary:
        np.save(temporary, numbers)


def file_hash(path):
    """SHA-256 of a file's contents.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    return sha256(Path(path).read_bytes()).hexdigest()
