"""What every script of the pipeline begins with: its study, and a log of what went wrong."""

import sys
import traceback
from contextlib import contextmanager
from pathlib import Path

from darkspell.core.atomic_files import unwritable
from darkspell.core.errors import StudyError
from darkspell.pipeline.parent_watchdog import die_with_the_run
from darkspell.pipeline.progress_file import Teller
from darkspell.pipeline.stages import load_studies


@contextmanager
def job(snakemake):
    """The study of a job; a failure is written to the rule's log before it ends the job.

    A fault of the input ends it with the message alone, since that is what its reader can act on.

    Parameters
    ----------
    snakemake : snakemake.script.Snakemake
        With the parameters ``study`` (path) and ``members`` (number or None).

    Yields
    ------
    darkspell.pipeline.stages.Entry
    """
    with jobs(snakemake, [snakemake.params.study]) as (entry,):
        yield entry


@contextmanager
def jobs(snakemake, paths):
    """Prepare a job on several study files, see `job`.

    Parameters
    ----------
    snakemake : object
        Of the running script.
    paths : sequence of path-like
        Study files.

    Yields
    ------
    list of darkspell.pipeline.stages.Entry
    """
    die_with_the_run()
    try:
        yield list(load_studies(paths, snakemake.params.members).values())
    except StudyError as fault:
        _end(snakemake, fault)
    except Exception as error:
        refusal = unwritable(error, getattr(error, "filename", None) or snakemake.output[0])
        if refusal is not None:  # a file that is not written by `replacing`, such as a figure
            _end(snakemake, refusal)
        _log(snakemake, traceback.format_exc())
        raise


def _end(snakemake, fault):
    """End with the fault alone; with its traceback, which the command reads too, where no log can be written."""
    try:
        _log(snakemake, f"{fault}\n")
    except OSError:
        raise fault from None
    sys.exit(str(fault))


def _log(snakemake, text):
    if snakemake.log:
        Path(snakemake.log[0]).write_text(text, encoding="utf-8")


@contextmanager
def telling(snakemake):
    """Callback that reports the share done of a long job.

    Parameters
    ----------
    snakemake : object
        Of the running script.

    Yields
    ------
    callable
        Takes the share, 0 to 1.
    """
    teller = Teller(snakemake.log[0], f"{snakemake.wildcards.study}: {snakemake.rule}")
    try:
        yield teller
    finally:
        teller.close()
