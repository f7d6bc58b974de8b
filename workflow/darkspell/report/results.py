"""Read the results folder of a study: one reader for figures, proposal, year sheet and workbook."""

import json
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from darkspell.core.calendar import Calendar
from darkspell.core.constants import constant
from darkspell.core.messages import _, ngettext
from darkspell.core.table_reader import read_table

TABLES = ("members", "months", "autonomy", "sizing", "whatifs", "monitors")
TRIAL_YEARS = 10  # with fewer years no interval is claimed; common practice, no source


@dataclass(frozen=True)
class Results:
    """Results of one study.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate or None
        None where only figures are drawn.
    study_text : str
        The study file as it was written.
    members, months, autonomy, sizing, whatifs, monitors : pandas.DataFrame
        As the files of the same names; any may be empty.
    summary : dict
        As summary.json.
    figures : pathlib.Path
        Folder of the figures.
    captions : dict
        As figures.json; empty where there are no figures.
    measured_years, measured_comparison : pandas.DataFrame or None
        As the files of the same names; None where no measured year was run.
    folder : pathlib.Path, optional
        Folder of the results, for hourly.nc and the tables that only some studies have.
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
    measured_years: Any = None
    measured_comparison: Any = None
    folder: Path | None = None

    @property
    def calendar(self):
        """Study year, `darkspell.core.calendar.Calendar`."""
        return Calendar(self.study.site.start_month)

    @property
    def years(self):
        """Number of synthetic years."""
        return len(self.members)

    @property
    def parameter_draws(self):
        """Number of parameter draws that the years are spread over."""
        return int(self.members["parameter_draw"].nunique())

    @property
    def place(self):
        """Name of the site; of a home that moves, that there are other stops."""
        name = self.study.site.name
        return _("{site} and other stops").format(site=name) if self.study.itinerary else name

    @property
    def scope(self):
        """Name of the site and number of years, for the small line under a figure's title."""
        years = ngettext("{count} synthetic\u00a0year", "{count} synthetic\u00a0years", self.years)
        scope = f"{self.place}; {years.format(count=self.years)}."
        trial = _("A trial: too few years for an interval.") if self.years < TRIAL_YEARS else ""
        return f"{scope} {trial}".strip()

    def table(self, name):
        """Read any table of the study by name (``ageing`` for ageing.csv); empty where there is none.

        Parameters
        ----------
        name : str
            Of the file, without ending.
        """
        import pandas as pd  # half a second to import

        if name in self.__dataclass_fields__:
            held = getattr(self, name)
            return pd.DataFrame() if held is None else held
        path = None if self.folder is None else self.folder / f"{name}.csv"
        return pd.DataFrame() if path is None or not path.is_file() else read_table(path)

    def month(self, statistic):
        """Rows of months.csv of one statistic, in the order of the study year, indexed by month 1-12.

        Parameters
        ----------
        statistic : str
            Key of the registry.
        """
        if not len(self.months):
            return self.months
        rows = self.months[self.months["statistic"] == statistic].set_index("month")
        return rows.reindex(self.calendar.month_order + 1)

    def dawn(self, which, percentile):
        """State of charge at dawn of each day of the year.

        Parameters
        ----------
        which : {"true", "reported"}
            In the bank, or on the monitor.
        percentile : float
            0..100; the nearest stored one is taken.

        Returns
        -------
        ndarray
            State of charge [%], shape [365].
        """
        percentiles, values = self._dawn
        return values[which][:, int(np.abs(percentiles - percentile).argmin())]

    @cached_property
    def hourly_members(self):
        """Hours of the years kept whole.

        Dict of arrays of shape [years, 8760]: ``soc_true`` and ``soc_reported`` [%], and ``sun`` and ``load`` [W]
        where they were kept; empty where hourly.nc has no whole years.
        """
        import xarray as xr  # a second to import

        path = None if self.folder is None else self.folder / "hourly.nc"
        if path is None or not path.is_file():
            return {}
        with xr.open_dataset(path) as hourly:
            return {
                str(name).removesuffix("_member"): hourly[name]
                .transpose("shown", "time")
                .values.astype(float)
                for name in hourly.data_vars
                if "shown" in hourly[name].dims
            }

    @cached_property
    def _dawn(self):
        import xarray as xr  # a second to import

        dawn = np.arange(365) * 24 + constant("statistics", "dawn_hour") - 1
        with xr.open_dataset(self.folder / "hourly.nc") as hourly:
            values = {
                which: hourly[f"soc_{which}"].transpose("time", "percentile").values[dawn].astype(float)
                for which in ("true", "reported")
            }
            return hourly["percentile"].values.astype(float), values


def read_results(folder, study, climate=None, study_text="", figures=None):
    """Read a study's results.

    Parameters
    ----------
    folder : path-like
        With the tables and summary.json.
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate, optional
        Not needed for figures.
    study_text : str
        The study file as it was written.
    figures : path-like, optional
        Folder that holds figures.json and the pictures; may be missing. By default ``figures`` in `folder`.

    Returns
    -------
    Results
    """
    folder = Path(folder)
    figures = folder / "figures" if figures is None else Path(figures)
    tables = {name: read_table(folder / f"{name}.csv") for name in TABLES}
    if study.replays and (folder / "measured_years.csv").is_file():
        names = ("measured_years", "measured_comparison")
        tables |= {name: read_table(folder / f"{name}.csv") for name in names}
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    captions = figures / "figures.json"
    words = json.loads(captions.read_text(encoding="utf-8")) if captions.is_file() else {}
    return Results(
        study, climate, study_text, **tables, summary=summary, figures=figures, captions=words, folder=folder
    )
