"""Time and size of the documents of a study that was run before.

python -m darkspell.benchmark.documents config/mine.yaml
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

from darkspell.core.atomic_files import write_bytes, write_text
from darkspell.core.errors import StudyError
from darkspell.report.document.write import write_all
from darkspell.report.proposal import annex, proposal
from darkspell.report.proposal.chapters.year_sheet import year_sheet
from darkspell.report.results import read_results
from darkspell.report.workbook import workbook_of
from darkspell.study import load_study
from darkspell.study.study_files import text_of
from darkspell.weather.stored_sites import load_site, site_key

MEGABYTE = 1e6


def main(words=None):
    """Write all documents of a study into a temporary folder; print time and size of each. Exit code 0, or 1.

    Parameters
    ----------
    words : list of str, optional
    """
    parser = argparse.ArgumentParser(
        "python -m darkspell.benchmark.documents", description=__doc__.splitlines()[0]
    )
    parser.add_argument("study", help="study file, run before")
    parser.add_argument("--results", default="results", help="folder of the results (results)")
    asked = parser.parse_args(words)
    try:
        results = _results_of(Path(asked.study), Path(asked.results))
    except StudyError as fault:
        print(fault, file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory(prefix="darkspell-documents-") as folder:
        _measure(results, Path(folder))
    return 0


def _results_of(path, results):
    study = load_study(path)
    folder = results / study.name
    if not (folder / "summary.json").is_file():
        raise StudyError(f"{folder}: holds no finished results; run the study first: darkspell run {path}")
    climate, _ = load_site(folder / "work" / "sites.npz", site_key(study))
    return read_results(folder, study, climate, text_of(study.files or [path]), folder / "figures")


def _measure(results, folder):
    """Write the documents one after the other; the pipeline uses two processes."""
    tasks = {
        "proposal (HTML, PDF, DOCX)": lambda: write_all(proposal(results), folder / "proposal.html"),
        "annex (HTML, PDF, DOCX)": lambda: write_all(annex(results), folder / "annex.html"),
        "workbook": lambda: write_bytes(folder / "tables.xlsx", workbook_of(results)),
        "year sheet": lambda: write_text(folder / "expected_year.html", year_sheet(results)),
    }
    spent, elapsed = time.process_time(), time.perf_counter()
    for name, task in tasks.items():
        began = time.process_time()
        task()
        print(f"{name}: {time.process_time() - began:.1f} s of processor")
    print(
        f"all: {time.process_time() - spent:.1f} s of processor, {time.perf_counter() - elapsed:.1f} s by the clock"
    )
    for file in sorted(folder.iterdir()):
        print(f"  {file.name}: {file.stat().st_size / MEGABYTE:.2f} MB")


if __name__ == "__main__":
    sys.exit(main())
