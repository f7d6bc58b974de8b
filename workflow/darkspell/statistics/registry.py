"""Every statistic once: its key, words, unit, better direction, bounds, and size of an event that was not seen.

A *yearly* statistic is one number a member (a column of members.csv), a *monthly* one a number a member and
calendar month. A *headline* is a number a study: a reduction of a yearly statistic over members. Study targets,
summary.json, tables, workbook, figures and prose take keys, units and words from here.
"""

from typing import NamedTuple

from darkspell.core.messages import N_

INFINITY = float("inf")
LOWER, HIGHER, NEITHER = "lower", "higher", ""
A_DAY_OF_LOAD, A_DAY, ONE = "a day of load", "24 h", "one"
ZERO_UP, PER_CENT, SIGNED = (0.0, INFINITY), (0.0, 100.0), (-INFINITY, INFINITY)
OF_DAYS, OF_HOURS = (0.0, 365.0), (0.0, 8760.0)  # of one year

MEAN = "mean of years"
MEAN_PER_HOUR = "mean of years over the hours of a year"
MEAN_PER_DEMAND = "mean of years over the mean energy demanded"
SHARE_OF_YEARS = "share of all years"
QUANTILE_OF_YEARS = "quantile of the yearly maxima"
MEAN_OF_STARTS = "mean of starts"
QUANTILE_OF_STARTS = "quantile of the starts of the month with the fewest days"


class Statistic(NamedTuple):
    """A statistic of one year, or of one month of it.

    Attributes
    ----------
    key : str
        Column of members.csv, or value of the column ``statistic`` of another table.
    words : str
        What it counts, for a reader.
    unit : str
        Of the value of one year or month.
    mean_unit : str
        Of the mean over years.
    better : str
        `LOWER` or `HIGHER`; `NEITHER` where it depends.
    event : str
        Size of an event where none was seen: `A_DAY_OF_LOAD`, `A_DAY`, or `ONE` of what is counted.
    limits : tuple of float
        Least and greatest possible value.
    """

    key: str
    words: str
    unit: str
    mean_unit: str
    better: str = NEITHER
    event: str = ONE
    limits: tuple = ZERO_UP


def _energy(key, words, better=NEITHER):
    return Statistic(key, words, "kWh", "kWh/year", better, A_DAY_OF_LOAD)


def _hours(key, words, better=LOWER, mean_unit="h/year"):
    return Statistic(key, words, "h", mean_unit, better, A_DAY, OF_HOURS)


def _count(key, words, unit, better=NEITHER):
    limits = OF_DAYS if unit in ("days", "nights") else ZERO_UP
    return Statistic(key, words, unit, f"{unit}/year", better, limits=limits)


def _percent(key, words, better=LOWER, limits=PER_CENT):
    return Statistic(key, words, "%", "%", better, limits=limits)


# Of the tier that essential loads are shed for; zeros where no load is critical.
CRITICAL_KEYS = ("critical_lolh", "critical_short_nights", "critical_eue_kwh")
CAUSE_KEYS = (
    "unserved_empty_h", "unserved_depth_limit_h", "unserved_voltage_h", "unserved_reconnection_h",
    "unserved_too_cold_h", "unserved_charge_current_h", "unserved_shed_h",
    "unserved_too_hot_h",
)  # fmt: skip
YEARLY = (
    _energy("demand_kwh", "energy that the loads ask for"),
    _energy("eue_kwh", "energy asked for and not delivered", LOWER),
    _energy("eue_essential_kwh", "energy not delivered to essential loads", LOWER),
    _hours("lolh", N_("hours without essential power")),
    _count("lold", "days on which essential loads lose power", "days", LOWER),
    _count("short_nights", "nights without essential power", "nights", LOWER),
    _count("events", "times that essential loads lose power", "events", LOWER),
    _hours("longest_event_h", "hours of the longest loss of essential power", mean_unit="h"),
    _percent("max_depth_true_pct", "deepest discharge of the bank"),
    _percent("max_depth_reported_pct", "deepest discharge on the monitor"),
    Statistic("longest_full_charge_interval_days", "longest time between full charges", "days", "days", LOWER),
    _count("full_charges", "days with a full charge", "days", HIGHER),
    _count("equivalent_full_cycles", "equivalent full cycles", "cycles", LOWER),
    _count("discharge_throughput_ah", "charge taken out of the bank", "Ah", LOWER),
    _energy("array_kwh", "energy taken from the array"),
    _energy("spilled_kwh", "unused solar energy"),
    _percent("reading_error_mean_pct", "mean reading minus true charge", NEITHER, SIGNED),
    _percent("reading_error_p95_pct", "reading error, exceeded 5 % of the time", LOWER, SIGNED),
    _hours("missed_warning_h", "hours of a low bank that the monitor shows as fair"),
    _hours("false_alarm_h", "hours of a fair bank that the monitor shows as low"),
    _percent("partial_charge_pct", "share of the year too long after a full charge"),
    _count("equalisations", "equalising charges that fall due", "charges", LOWER),
    _count("equalised", "equalising charges that array and chargers carry out", "charges"),
    _hours("equalising_h", "hours of equalising", NEITHER),
    _count("equalising_water_l", "water that equalising charges split", "l", LOWER),
    _percent("stratified_pct", "share of the year from a due equalising charge until it is done"),
    _hours("freezing_h", "hours in which the electrolyte may freeze"),
    _hours("generator_h", "hours of generator"),
    _count("generator_starts", "starts of the generator", "starts", LOWER),
    _energy("generator_kwh", "energy from the generator", LOWER),
    _count("fuel_l", "fuel of the generator", "l", LOWER),
    Statistic(
        "longest_full_charge_interval_reported_days", "longest time between full charges on the monitor",
        "days", "days", LOWER,
    ),
    _count("full_charges_reported", "days with a full charge on the monitor", "days", HIGHER),
    _count("discharge_counted_ah", "charge that the monitor counts out of the bank", "Ah", LOWER),
    _hours("critical_lolh", "hours without critical power"),
    _count("critical_short_nights", "nights without critical power", "nights", LOWER),
    _energy("critical_eue_kwh", "energy not delivered to critical loads", LOWER),
    _hours("unserved_empty_h", "hours lost because the bank is empty at that current and temperature"),
    _hours("unserved_depth_limit_h", "hours lost because the bank is at its depth limit"),
    _hours("unserved_voltage_h", "hours lost because the greatest load pulls the voltage below the cut-off"),
    _hours("unserved_reconnection_h", "of the hours lost, those spent waiting for reconnection"),
    _hours("unserved_too_cold_h", "hours lost because the bank was too cold to charge"),
    _hours("unserved_charge_current_h", "hours lost because bank or controller limited the charge current"),
    _hours("unserved_shed_h", "hours lost because essential loads are shed for critical ones"),
    _hours("unserved_too_hot_h", "hours lost because the bank was too hot to charge"),
)  # fmt: skip

MONTHLY_KEYS = (
    "eue_essential_kwh", "eue_kwh", "lolh", "short_nights", "max_depth_true_pct", "max_depth_reported_pct",
    "dawn_soc_true_pct", "dawn_soc_reported_pct", "days_with_full_charge", "array_kwh", "spilled_kwh",
    "demand_kwh", "clearness", "generator_h", "fuel_l", *CRITICAL_KEYS, *CAUSE_KEYS,
)  # fmt: skip
_MONTHLY_ONLY = (
    _percent("dawn_soc_true_pct", "state of charge at dawn", HIGHER),
    _percent("dawn_soc_reported_pct", "state of charge at dawn on the monitor", HIGHER),
    _count("days_with_full_charge", "days with a full charge", "days", HIGHER),
    Statistic("clearness", "clearness index", "-", "-"),
)
# Statistics that only some studies have, or that compare two runs.
_OCCASIONAL = (
    Statistic("autonomy_days", "days that a full bank lasts with the sun that comes", "days", "days", HIGHER),
    Statistic("dark_autonomy_days", "days that a full bank lasts without sun", "days", "days", HIGHER),
    _energy("taken_kwh", "energy taken from a source"),
    _percent("wear_pct", "capacity that the bank loses in a year"),
    Statistic("main_cause", "share of the hours of loss that the main cause has", "-", "-"),
    _hours("engine_h", "hours that an engine runs to charge"),
    _hours("alternator_h", "hours that an engine runs to charge"),
    _percent(
        "low_charge_error_p95_pct", "reading error below half charge, exceeded 5 % of the time", LOWER, SIGNED
    ),
    _hours("off_5_points_h", "hours in which the reading errs by more than 5 points"),
    _hours("off_10_points_h", "hours in which the reading errs by more than 10 points"),
    _hours("off_20_points_h", "hours in which the reading errs by more than 20 points"),
    _count("reset_days", "days on which the counter is set to full", "days", HIGHER),
    _count("premature_reset_days", "days on which the counter is set to full too early", "days", LOWER),
    _hours("batteries_apart_10_h", "hours in which two batteries differ by more than 10 points"),
    _count("disconnects", "disconnects", "times", LOWER),
    _hours("disconnected_h", "hours disconnected"),
    _count("early_disconnects", "disconnects that come too early", "times", LOWER),
    _energy("early_lost_kwh", "energy lost to early disconnects", LOWER),
    _count("late_disconnects", "disconnects that come too late", "times", LOWER),
    _hours("late_h", "hours of late disconnects"),
    _percent("late_beyond_planning_pct", "depth beyond planning depth while late"),
    _count("saving_days", "days on which people save", "days", LOWER),
    _count("needless_days", "days on which people save needlessly", "days", LOWER),
    _energy("needless_kwh", "energy saved needlessly", LOWER),
    _count("late_days", "days on which people should have saved", "days", LOWER),
)

STATISTICS = {one.key: one for one in (*YEARLY, *_MONTHLY_ONLY, *_OCCASIONAL)}
YEARLY_KEYS = tuple(one.key for one in YEARLY)


class Headline(NamedTuple):
    """A number of a whole study, as summary.json has it.

    Attributes
    ----------
    key, words, unit, better : str
        As in `Statistic`; the unit is that of the reduced number.
    reduction : str
        How the members' values become one number.
    statistic : str
        Yearly statistic that is reduced.
    """

    key: str
    words: str
    unit: str
    better: str
    reduction: str
    statistic: str


def _mean(key):
    one = STATISTICS[key]
    return Headline(key, one.words, one.mean_unit, one.better, MEAN, key)


HEADLINES = {
    one.key: one
    for one in (
        Headline("lolp", N_("share of hours without essential power"), "-", LOWER, MEAN_PER_HOUR, "lolh"),
        _mean("lolh"),
        _mean("lold"),
        Headline("llp", "share of the energy that is not delivered", "-", LOWER, MEAN_PER_DEMAND, "eue_kwh"),
        _mean("eue_kwh"),
        _mean("eue_essential_kwh"),
        _mean("short_nights"),
        Headline(
            "years_with_short_nights", "chance that a coming year has a night without essential power", "-", LOWER,
            SHARE_OF_YEARS, "short_nights",
        ),
        _mean("events"),
        _mean("longest_event_h"),
        Headline(
            "annual_max_depth_true", "deepest discharge of a year", "%", LOWER, QUANTILE_OF_YEARS,
            "max_depth_true_pct",
        ),
        Headline(
            "annual_max_depth_reported", "deepest discharge of a year on the monitor", "%", LOWER,
            QUANTILE_OF_YEARS, "max_depth_reported_pct",
        ),
        _mean("longest_full_charge_interval_days"),
        _mean("equivalent_full_cycles"),
        Headline(
            "autonomy_dark_days", "days that a full bank lasts without sun", "days", HIGHER, MEAN_OF_STARTS,
            "dark_autonomy_days",
        ),
        Headline(
            "autonomy_worst_month_days", "days that a full bank lasts in the month in which it lasts shortest",
            "days", HIGHER, QUANTILE_OF_STARTS, "autonomy_days",
        ),
        _mean("reading_error_p95_pct"),
        _mean("demand_kwh"),
        _mean("array_kwh"),
        _mean("spilled_kwh"),
    )
}  # fmt: skip

# What is lost multiplies with what is not known: the median over parameter draws is the best guess, not the mean.
LOSSES = (
    "eue_kwh", "eue_essential_kwh", "lolh", "lold", "short_nights", "events", "longest_event_h", *CRITICAL_KEYS,
)  # fmt: skip


class TargetWords(NamedTuple):
    """How a target's statistic is written with a number.

    Attributes
    ----------
    words : str
        What is counted.
    unit : str
        Follows a number that has been said to be of this statistic.
    phrase : str
        Follows a number without context.
    yearly : str
        Statistic of members.csv and whatifs.csv behind it.
    """

    words: str
    unit: str
    phrase: str
    yearly: str


# Which statistics a study may name, by key of the study file.
TARGETS = {
    "short_nights": TargetWords(
        N_("nights without essential power"),
        N_("nights a year"),
        N_("nights a year without essential power"),
        "short_nights",
    ),
    "lolp": TargetWords(
        HEADLINES["lolp"].words,
        N_("of all hours"),
        N_("of all hours without essential power"),
        HEADLINES["lolp"].statistic,
    ),
    "lolh": TargetWords(
        STATISTICS["lolh"].words, N_("hours a year"), N_("hours a year without essential power"), "lolh"
    ),
    "eue_kwh": TargetWords(N_("unserved energy"), N_("kWh a year"), N_("kWh a year unserved"), "eue_kwh"),
}
TARGET_KEYS = tuple(TARGETS)
PRECISION_KEYS = (
    "short_nights", "lolh", "eue_kwh", "max_depth_true_pct", "spilled_kwh", "equivalent_full_cycles",
    "longest_full_charge_interval_days",
)  # fmt: skip
SENSITIVITY_KEYS = ("short_nights", "lolh", "eue_kwh", "max_depth_true_pct")
AUTONOMY_KINDS = {"autonomy_days": "with_sun", "dark_autonomy_days": "dark"}
ADDITIONAL_YEARLY_KEYS = (
    "short_nights", "lolh", "lold", "eue_kwh", "eue_essential_kwh", "events", "longest_event_h",
    "max_depth_true_pct", "max_depth_reported_pct", "longest_full_charge_interval_days", "full_charges",
    "equivalent_full_cycles", "spilled_kwh", "array_kwh", "generator_h", "generator_starts", "generator_kwh",
    "fuel_l", "partial_charge_pct", *CRITICAL_KEYS,
)  # fmt: skip
ADDITIONAL_MONTHLY_KEYS = (
    "short_nights", "lolh", "eue_kwh", "eue_essential_kwh", "max_depth_true_pct", "days_with_full_charge",
    "spilled_kwh", "array_kwh", *CRITICAL_KEYS,
)  # fmt: skip
# Statistics of every design of a grid, and of every what-if against its study.
GRID_KEYS = ("lolh", "eue_kwh", "eue_essential_kwh", "short_nights", "longest_full_charge_interval_days")
COMPARED_KEYS = (
    "short_nights", "lolh", "eue_kwh", "max_depth_true_pct", "max_depth_reported_pct",
    "longest_full_charge_interval_days", "equivalent_full_cycles", "spilled_kwh", "reading_error_p95_pct",
)  # fmt: skip
GENERATOR_KEYS = ("generator_h", "generator_starts", "generator_kwh", "fuel_l")


def statistic(key):
    """A statistic by its key.

    Parameters
    ----------
    key : str
        Of a yearly, monthly or occasional statistic.

    Returns
    -------
    Statistic

    Raises
    ------
    KeyError
        If no statistic has this key.
    """
    if key not in STATISTICS:
        raise KeyError(f"{key!r} is no statistic of the registry")
    return STATISTICS[key]


def yearly_of(headline):
    """Yearly statistic that a headline or target is reduced from: ``lolh`` of ``lolp``.

    Parameters
    ----------
    headline : str
        Key of a headline.

    Returns
    -------
    str
        Column of members.csv.
    """
    return HEADLINES[headline].statistic


def mean_units(keys):
    """Units of the means of some statistics.

    Parameters
    ----------
    keys : iterable of str

    Returns
    -------
    dict by key
    """
    return {key: statistic(key).mean_unit for key in keys}
