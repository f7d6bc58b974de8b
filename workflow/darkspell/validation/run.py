"""The validation chapter: read and judge stations; write tables, figures and page.

``python -m darkspell.validation.run [FOLDER] [OUT]`` runs it without the pipeline.
"""

import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from darkspell.core.atomic_files import write_table, write_text
from darkspell.report.document.html import html
from darkspell.report.figures.style import look
from darkspell.report.figures.write import save_page
from darkspell.validation import figures
from darkspell.validation.daily_storage import RARE, WANTED
from darkspell.validation.judge import SOURCES, climates, headline, judge
from darkspell.validation.page import chapter
from darkspell.validation.stations import read_stations
from darkspell.validation.tables import headline_table, stations_table, storage_table


def write_chapter(folder, out, workers=2, **how):
    """Judge all stations and write the chapter.

    Parameters
    ----------
    folder : path-like or None
        Folder of the stations; see `darkspell.validation.stations`.
    out : pathlib.Path
        Output folder for page, tables and figures.
    workers : int
        Number of threads.
    **how
        As `darkspell.validation.judge.judge`.

    Returns
    -------
    dict
        ``{(source, wanted): headline}``.
    """
    set_aside = []
    stations = read_stations(folder, set_aside)
    known = [climates(station) for station in stations]
    with ThreadPoolExecutor(workers) as pool:
        judged = list(pool.map(lambda pair: judge(*pair, **how), zip(stations, known, strict=True)))
    present = {(cell["source"], cell["wanted"]) for one in judged for cell in one.cells}
    heads = {
        (source, wanted): headline(judged, source, wanted)
        for source in SOURCES
        for wanted in (WANTED, RARE)
        if (source, wanted) in present
    }
    pictures = _pictures(judged, heads, out / "figures")
    write_table(out / "storage.csv", storage_table(judged))
    write_table(out / "stations.csv", stations_table(judged))
    write_table(out / "headline.csv", headline_table(heads))
    write_text(out / "validation.html", html(chapter(judged, heads, pictures, set_aside)))
    return heads


def _pictures(judged, heads, folder):
    folder.mkdir(parents=True, exist_ok=True)
    makers = {
        "storage": lambda: figures.storage_page(judged, {s: h for (s, w), h in heads.items() if w == WANTED}),
        "spells": lambda: figures.spells_page(judged),
        "lags": lambda: figures.lags_page(judged),
        "months": lambda: figures.months_page(judged),
    }
    paths = {}
    with look():
        for name, make in makers.items():
            page, finding = make()
            save_page(page, finding, folder / name)
            paths[name] = (folder / name, finding)
    return paths


if __name__ == "__main__":
    given = sys.argv[1:]
    heads = write_chapter(
        given[0] if given else None, Path(given[1] if len(given) > 1 else "results/validation")
    )
    for (source, wanted), head in heads.items():
        print(f"{source:8s} {100 * wanted:g} %", {key: round(value, 2) for key, value in head.items()})
