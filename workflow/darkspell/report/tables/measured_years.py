"""Tables of a replay: the years that were run, and what was found in the record."""

import numpy as np


def measured_years_table(members, years):
    """Rows of measured_years.csv: a measured year each.

    Parameters
    ----------
    members : dict of array_like
        As `darkspell.report.tables.main.members_table`.
    years : darkspell.climate.record.study_years.Years

    Returns
    -------
    pandas.DataFrame
        ``year``, ``filled_days`` and the columns of members.csv but member and parameter draw; then a row
        for each year
        left out, with the days that it lacks and nothing else.
    """
    import pandas as pd

    from darkspell.report.tables.main import members_table

    table = members_table(members, np.arange(len(years.names))).drop(columns=["member", "parameter_draw"])
    table.insert(0, "year", years.names)
    table.insert(1, "run", "yes")
    table.insert(2, "days_missing", years.filled)
    left = pd.DataFrame(years.left_out, columns=["year", "days_missing"]).assign(run="no")
    return pd.concat([table, left], ignore_index=True) if len(left) else table


def faults_table(record):
    """Rows of record_faults.csv: every run of days with a fault.

    Parameters
    ----------
    record : darkspell.climate.record.record.Record

    Returns
    -------
    ``fault``, ``first``, ``last``, ``done``
    """
    import pandas as pd

    rows = [(fault.kind, *run, fault.done) for fault in record.faults for run in fault.runs]
    return pd.DataFrame(rows, columns=["fault", "first", "last", "done"])
