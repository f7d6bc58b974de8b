"""What a table and its columns are, and pairs of columns that many tables have."""

from typing import NamedTuple

from darkspell.statistics.registry import HEADLINES, YEARLY

TEXT, SEE_UNIT, SEE_STATISTIC, CURRENCY = "", "see unit", "see statistic", "currency"
YES_OR_NO, FLAG = "yes or no", "true or false"
PLACE = "95 % interval of the long-run average at this site"
SAMPLING = "95 % sampling error of the simulation"
EIGHT_OF_TEN = "8 of 10 simulated years"
EIGHT_BANKS = "8 of 10 banks of the type"


class Column(NamedTuple):
    """A column of a table.

    Attributes
    ----------
    key : str
        Its name in the file.
    unit : str
        Unit of its values; `TEXT` of words, `SEE_UNIT` and `SEE_STATISTIC` where another column of the row says it.
    words : str
        What it is.
    optional : bool
        Whether only some studies have it.
    """

    key: str
    unit: str
    words: str
    optional: bool = False


class Table(NamedTuple):
    """A table of a results folder.

    Attributes
    ----------
    key : str
        Its file is ``<key>.csv``.
    words : str
        What it is.
    row : str
        What one row is.
    columns : tuple of Column
    asked : bool
        Whether only studies that ask for it have it.
    """

    key: str
    words: str
    row: str
    columns: tuple
    asked: bool = False

    def unit(self, column):
        """Unit of a column; empty for a column that the table does not name.

        Parameters
        ----------
        column : str

        Returns
        -------
        str
        """
        return next((one.unit for one in self.columns if one.key == column), TEXT)


def bounds(key, unit, of):
    """Columns ``<key>_low`` and ``<key>_high``.

    Parameters
    ----------
    key, unit : str
    of : str
        What they bound.

    Returns
    -------
    pair of Column
    """
    return Column(f"{key}_low", unit, f"low end of the {of}"), Column(
        f"{key}_high", unit, f"high end of the {of}"
    )


def low_high(unit, of):
    """Columns ``low`` and ``high``.

    Parameters
    ----------
    unit : str
    of : str
        What they bound.

    Returns
    -------
    pair of Column
    """
    return Column("low", unit, f"low end of the {of}"), Column("high", unit, f"high end of the {of}")


def with_bounds(key, unit, words, of=SAMPLING):
    """A column, and those of its bounds.

    Parameters
    ----------
    key, unit, words : str
        As of `Column`.
    of : str
        What the bounds are of.

    Returns
    -------
    tuple of three Column
    """
    return Column(key, unit, words), *bounds(key, unit, of)


N = Column("n", "years", "simulated years behind the row")
MONTH = Column("month", "1 to 12", "calendar month")
START_MONTH = Column("start_month", "1 to 12", "month of the start")
STATISTIC = Column("statistic", TEXT, "statistic, see Statistics")
UNIT = Column("unit", TEXT, "unit of the row's values")
VERDICT = Column("verdict", TEXT, "`real` where the interval excludes zero")
CHANCE = Column("probability_met", "-", "chance that this site meets the first target with the change")
COMPARED_COLUMNS = (
    Column("study_value", SEE_UNIT, "best guess of the study as it is"),
    Column("whatif_value", SEE_UNIT, "best guess with the change"),
    Column("difference", SEE_UNIT, "best guess of change minus study, on the same random draws"),
    *low_high(SEE_UNIT, "interval of the long-run difference at this site"),
    *bounds("simulation", SEE_UNIT, "sampling error of the difference"),
    Column("study_mean", SEE_UNIT, "mean of all simulated years of the study"),
    Column("whatif_mean", SEE_UNIT, "mean of all simulated years with the change"),
    Column("point", TEXT, "what the best guesses are: of losses the median over parameter draws"),
    VERDICT,
    Column("years", "years", "simulated years behind the row"),
    Column("level", "share", "confidence of the intervals"),
)
YEARLY_COLUMNS = tuple(Column(one.key, one.unit, one.words) for one in YEARLY)


def of_a_design(key):
    """Columns of one statistic of every design of the grid.

    Parameters
    ----------
    key : str
        Of a headline.

    Yields
    ------
    Column
    """
    one = HEADLINES[key]
    yield from (Column(key, one.unit, f"best guess: {one.words}"), *bounds(key, one.unit, PLACE))
    yield Column(f"{key}_mean", one.unit, "mean of all simulated years")
    yield from bounds(f"{key}_simulation", one.unit, SAMPLING)
    if key != "lolp":
        yield from bounds(f"{key}_year", one.unit, EIGHT_OF_TEN)
