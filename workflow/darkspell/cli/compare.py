"""Compare logs with a study: the answer on the terminal, the page in results/<study>/logs/."""

import json
import os
import sys
from functools import partial
from pathlib import Path

from darkspell.core.errors import StudyError, printable
from darkspell.study import load_study


def compare(study_path, logs, as_json=False):
    """Compare some logs with one study.

    Parameters
    ----------
    study_path : str
    logs : list of str
        CSV files.
    as_json : bool
        Print a JSON list, one object for each log.

    Returns
    -------
    int
        Exit code 0.

    Raises
    ------
    darkspell.core.errors.StudyError
        With the first fault of study or log.
    """
    study = load_study(study_path)
    missing = next((path for path in logs if not Path(path).is_file()), None)
    if missing is not None:
        raise StudyError(f"{missing}: no such file; give the log as a CSV")
    from darkspell.climate import site_climate
    from darkspell.core.jit_cache import use_keyed_cache
    from darkspell.simulation.system import build_system
    from darkspell.weather.site_sky import sky_of

    use_keyed_cache()
    from darkspell.log_analysis.compare import compare_log
    from darkspell.log_analysis.report import text, write
    from darkspell.log_analysis.report_data import data

    system = build_system(study, site_climate(study, study.folder), sky_of(study))
    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    found = []
    for number, path in enumerate(logs, 1):
        count = f"{number} of {len(logs)}, " if len(logs) > 1 else ""
        line = f"{count}{printable(path)}: compared with many simulated logs of its dates, some 10 to 60 s"
        comparison = compare_log(study, system, path, begun=partial(print, line, file=sys.stderr))
        page = write(study, comparison, Path("results") / study.name)
        if as_json:
            found.append(data(study, comparison, page))
            continue
        print(text(study, comparison, colour))
        print(f"The page is {page}.")
    if as_json:
        print(json.dumps(found, indent=1, ensure_ascii=False, allow_nan=False))
    return 0
