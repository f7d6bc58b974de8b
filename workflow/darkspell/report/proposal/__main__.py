"""Pages of a proposal as PNG, for looking through: ``python -m darkspell.report.proposal config/mine.yaml``."""

import argparse
import sys
from pathlib import Path

from darkspell.core.atomic_files import write_bytes
from darkspell.core.errors import StudyError
from darkspell.report.document.pdf import pages
from darkspell.report.proposal.build import proposal
from darkspell.report.results import read_results
from darkspell.study import load_study
from darkspell.weather.stored_sites import load_site, site_key


def main(words=None):
    """Write page-01.png and so on from the results of studies that were run; exit code 0, or 1 with a message.

    Parameters
    ----------
    words : list of str, optional
    """
    asked = argparse.ArgumentParser("python -m darkspell.report.proposal", description=__doc__)
    asked.add_argument("studies", nargs="+", help="study files, run before")
    asked.add_argument("--results", default="results", help="folder of the results (results)")
    asked.add_argument("--dpi", type=int, default=80, help="dots an inch (80)")
    given = asked.parse_args(words)
    try:
        for path in map(Path, given.studies):
            study = load_study(path)
            _write(Path(given.results, study.name), path, study, given.dpi)
    except StudyError as fault:
        print(fault, file=sys.stderr)
        return 1
    return 0


def _write(folder, path, study, dpi):
    sites, out = folder / "work" / "sites.npz", folder / "work" / "pages"
    if not sites.is_file() or not (folder / "summary.json").is_file():
        raise StudyError(f"{folder}: holds no finished results; run the study first: darkspell run {path}")
    climate, _ = load_site(sites, site_key(study))
    results = read_results(folder, study, climate, path.read_text(encoding="utf-8-sig"), folder / "figures")
    made = pages(proposal(results), dpi)
    for old in out.glob("page-*.png"):
        old.unlink()
    for number, page in enumerate(made, 1):
        write_bytes(out / f"page-{number:02d}.png", page)
    print(f"{len(made)} pages in {out}")


if __name__ == "__main__":
    sys.exit(main())
