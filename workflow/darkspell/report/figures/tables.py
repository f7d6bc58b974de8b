"""What a study left behind, as the figures take it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant

TRIAL_YEARS = 10  # as in the proposal: with fewer no interval is claimed; common practice, no source


@dataclass(frozen=True)
class Tables:
    """Results of one study.

    Parameters
    ----------
    study : darkspell.study.Study
    months, autonomy, sizing, whatifs, monitors : pandas.DataFrame
        As the files of the same names; `whatifs` may be empty.
    summary : dict
        As summary.json.
    dawn_true, dawn_reported : ndarray
        Percentiles over the years of the state of charge at dawn, in the bank and on the monitor [%];
        float64 [365, Q].
    percentiles : ndarray
        Which, 0..100; shape [Q].
    members, replay, comparison : pandas.DataFrame or None
        As members.csv, measured_years.csv and measured_comparison.csv; None where no measured year was run.
    folder : pathlib.Path, optional
        Folder of the results, for tables that only some studies have.
    """

    study: Any
    months: Any
    autonomy: Any
    sizing: Any
    whatifs: Any
    monitors: Any
    summary: dict
    dawn_true: np.ndarray
    dawn_reported: np.ndarray
    percentiles: np.ndarray
    members: Any = None
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
        return int(self.months["n"].max())

    @property
    def place(self):
        """Name of the place and number of years, for the small line under a title."""
        from darkspell.report.figures.number_format import counted

        years = counted(self.years, "synthetic\u00a0year", "synthetic\u00a0years")
        trial = " A trial: too few to say how sure." if self.years < TRIAL_YEARS else ""
        return f"{self.study.site.name}; {years}.{trial}"

    def table(self, name):
        """Any table of the study by name (``ageing`` for ageing.csv); empty where the study left none."""
        import pandas as pd

        path = None if self.folder is None else self.folder / f"{name}.csv"
        return pd.DataFrame() if path is None or not path.is_file() else _table(pd, path)

    def month(self, statistic):
        """Rows of months.csv of one statistic, in the order of the study year, indexed by month."""
        rows = self.months[self.months["statistic"] == statistic].set_index("month")
        return rows.reindex(self.calendar.month_order + 1)

    def dawn(self, which, percentile):
        """One percentile of the state of charge at dawn [%], nearest to the one asked for; [365]."""
        values = self.dawn_true if which == "true" else self.dawn_reported
        return values[:, int(np.abs(self.percentiles - percentile).argmin())]


def read_tables(folder, study):
    """Read the results of a study.

    Parameters
    ----------
    folder : path-like
        Folder with months.csv, autonomy.csv, sizing.csv, whatifs.csv, monitors.csv, summary.json, hourly.nc.
    study : darkspell.study.Study

    Returns
    -------
    Tables
    """
    import json

    import pandas as pd
    import xarray as xr

    folder = Path(folder)
    names = ("months", "autonomy", "sizing", "whatifs", "monitors")
    tables = {name: _table(pd, folder / f"{name}.csv") for name in names}
    dawn = np.arange(365) * 24 + constant("statistics", "dawn_hour") - 1
    with xr.open_dataset(folder / "hourly.nc") as hourly:
        true, reported = (
            hourly[name].transpose("hour", "percentile").values[dawn].astype(float)
            for name in ("soc_true", "soc_reported")
        )
        percentiles = hourly["percentile"].values.astype(float)
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    return Tables(study, **tables, summary=summary, dawn_true=true, dawn_reported=reported,
                  percentiles=percentiles, folder=folder, **_replayed(pd, folder, study))  # fmt: skip


def _replayed(pd, folder, study):
    """Tables of the measured years, where the study runs them."""
    if not study.replays or not (folder / "measured_years.csv").is_file():
        return {}
    names = {"members": "members", "replay": "measured_years", "comparison": "measured_comparison"}
    return {field: pd.read_csv(folder / f"{name}.csv") for field, name in names.items()}


def _table(pd, path):
    """A table, empty where the file holds nothing."""
    try:
        return pd.read_csv(path)
    except pd.errors.EmptyDataError:
        return pd.DataFrame()
