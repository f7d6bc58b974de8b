"""What a study left behind, as the proposal reads it."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from darkspell.core.calendar import Calendar

TABLES = ("members", "months", "autonomy", "sizing", "whatifs", "monitors")


@dataclass(frozen=True)
class Results:
    """Results of one study.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    study_text : str
        The study file, letter for letter.
    members, months, autonomy, sizing, whatifs, monitors : pandas.DataFrame
        As the files of the same names; all but `members` may be empty.
    summary : dict
        As summary.json.
    figures : pathlib.Path
        Folder of the figures.
    captions : dict
        As figures.json; empty where there are no figures.
    replay, comparison : pandas.DataFrame or None
        As measured_years.csv and measured_comparison.csv; None where no measured year was run.
    folder : pathlib.Path, optional
        Folder of the results, for tables that only some studies have.
    """

    study: Any
    climate: Any
    study_text: str
    members: Any
    months: Any
    autonomy: Any
    sizing: Any
    whatifs: Any
    monitors: Any
    summary: dict
    figures: Path
    captions: dict
    replay: Any = None
    comparison: Any = None
    folder: Path | None = None

    @property
    def calendar(self):
        """The study year."""
        return Calendar(self.study.site.start_month)

    @property
    def years(self):
        """Number of synthetic years."""
        return len(self.members)

    @property
    def parameter_draws(self):
        """Number of parameter draws that the years live in."""
        return int(self.members["parameter_draw"].nunique())

    def table(self, name):
        """Any table of the study by name (``ageing`` for ageing.csv); empty where the study left none."""
        import pandas as pd

        if name in TABLES:
            return getattr(self, name)
        path = None if self.folder is None else self.folder / f"{name}.csv"
        return pd.DataFrame() if path is None or not path.is_file() else read_table(path)

    def month(self, statistic):
        """Rows of one statistic, in the order of the study year, indexed by month 1-12."""
        if not len(self.months):
            return self.months
        rows = self.months[self.months["statistic"] == statistic].set_index("month")
        return rows.reindex(self.calendar.month_order + 1)


def read_results(folder, study, climate, study_text, figures):
    """Read a study's results.

    Parameters
    ----------
    folder : path-like
        With the tables and summary.json.
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
    study_text : str
    figures : path-like
        Folder that holds figures.json and the pictures; may be missing.

    Returns
    -------
    Results
    """
    folder, figures = Path(folder), Path(figures)
    tables = {name: read_table(folder / f"{name}.csv") for name in TABLES}
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    captions = figures / "figures.json"
    words = json.loads(captions.read_text(encoding="utf-8")) if captions.is_file() else {}
    run = study.replays and (folder / "measured_years.csv").is_file()
    names = {"replay": "measured_years", "comparison": "measured_comparison"} if run else {}
    tables |= {field: read_table(folder / f"{name}.csv") for field, name in names.items()}
    return Results(
        study, climate, study_text, **tables, summary=summary, figures=figures, captions=words, folder=folder
    )


def read_table(path):
    """A table of results; empty where the file holds nothing."""
    import pandas as pd

    try:
        return pd.read_csv(path)
    except pd.errors.EmptyDataError:
        return pd.DataFrame()
