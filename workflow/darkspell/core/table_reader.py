"""Tables of results read back with the types that they were written with."""

# Columns that hold names of the user's own: `none`, `NA` and `1` are names there, not gaps and numbers.
NAMES = (
    "array", "block", "changes", "controller", "disconnect", "input", "key", "load", "module", "monitor", "name",
    "remedy", "requirement", "source", "sweep", "whatif",
)  # fmt: skip
GAPS = ("", "nan", "NaN")


def read_table(path):
    """Read a CSV of results.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    pandas.DataFrame
        Columns of `NAMES` as texts, others as numbers where they are; NaN where a cell is empty. Without rows
        and columns where the file is empty.
    """
    import pandas as pd

    try:
        columns = pd.read_csv(path, nrows=0).columns
    except pd.errors.EmptyDataError:
        return pd.DataFrame()
    texts = [name for name in columns if name in NAMES]
    gaps = {name: [""] if name in texts else list(GAPS) for name in columns}
    return pd.read_csv(path, dtype=dict.fromkeys(texts, str), na_values=gaps, keep_default_na=False)
