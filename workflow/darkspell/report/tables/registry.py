"""Every table of a results folder once: its file, its columns, their units and their meaning.

Tables are made in the rooms below; here is what a reader needs to use them. The workbook, results/README.md and the
tests take it from here: a test compares it with the files that studies write.
"""

from typing import NamedTuple

from darkspell.statistics.registry import GRID_KEYS, HEADLINES, YEARLY

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
        """
        return next((one.unit for one in self.columns if one.key == column), TEXT)


def _bounds(key, unit, of):
    return Column(f"{key}_low", unit, f"low end of the {of}"), Column(
        f"{key}_high", unit, f"high end of the {of}"
    )


def _low_high(unit, of):
    return Column("low", unit, f"low end of the {of}"), Column("high", unit, f"high end of the {of}")


def _with_bounds(key, unit, words, of=SAMPLING):
    return Column(key, unit, words), *_bounds(key, unit, of)


N = Column("n", "years", "simulated years behind the row")
MONTH = Column("month", "1 to 12", "calendar month")
START_MONTH = Column("start_month", "1 to 12", "month of the start")
STATISTIC = Column("statistic", TEXT, "statistic, see Statistics")
UNIT = Column("unit", TEXT, "unit of the row's values")
VERDICT = Column("verdict", TEXT, "`real` where the interval excludes zero")
CHANCE = Column("probability_met", "-", "chance that this site meets the first target with the change")
_COMPARED = (
    Column("study_value", SEE_UNIT, "best guess of the study as it is"),
    Column("whatif_value", SEE_UNIT, "best guess with the change"),
    Column("difference", SEE_UNIT, "best guess of change minus study, on the same random draws"),
    *_low_high(SEE_UNIT, "interval of the long-run difference at this site"),
    *_bounds("simulation", SEE_UNIT, "sampling error of the difference"),
    Column("study_mean", SEE_UNIT, "mean of all simulated years of the study"),
    Column("whatif_mean", SEE_UNIT, "mean of all simulated years with the change"),
    Column("point", TEXT, "what the best guesses are: of losses the median over parameter draws"),
    VERDICT,
    Column("years", "years", "simulated years behind the row"),
    Column("level", "share", "confidence of the intervals"),
)
_YEARLY = tuple(Column(one.key, one.unit, one.words) for one in YEARLY)


def _of_a_design(key):
    """Columns of one statistic of every design of the grid."""
    one = HEADLINES[key]
    yield from (Column(key, one.unit, f"best guess: {one.words}"), *_bounds(key, one.unit, PLACE))
    yield Column(f"{key}_mean", one.unit, "mean of all simulated years")
    yield from _bounds(f"{key}_simulation", one.unit, SAMPLING)
    if key != "lolp":
        yield from _bounds(f"{key}_year", one.unit, EIGHT_OF_TEN)


TABLES = {
    one.key: one
    for one in (
        Table(
            "members",
            "yearly statistics of every simulated year",
            "a simulated year; years of one parameter draw share what is not known of climate and loads",
            (
                Column("member", "number", "number of the simulated year"),
                Column("parameter_draw", "number", "number of the parameter draw"),
                *_YEARLY,
            ),
        ),
        Table(
            "months",
            "statistics by calendar month",
            "a month and statistic",
            (
                MONTH, STATISTIC, UNIT,
                Column("value", SEE_UNIT, "best guess for this site"),
                Column("mean", SEE_UNIT, "mean of the simulated years"),
                *_bounds("place", SEE_UNIT, PLACE),
                *_bounds("simulation", SEE_UNIT, SAMPLING),
                Column("p10", SEE_UNIT, "one simulated year in ten is below"),
                Column("p50", SEE_UNIT, "median of the simulated years"),
                Column("p90", SEE_UNIT, "one simulated year in ten is above"),
                N,
            ),
        ),
        Table(
            "events",
            "every loss of essential power, with date and length",
            "an event",
            (
                Column("member", "number", "simulated year"),
                START_MONTH,
                Column("start_day", "of the month", "day of the start"),
                Column("start_hour", "of the day", "hour of the start, local standard time"),
                Column("length_h", "h", "length"),
                Column("unserved_essential_wh", "Wh", "energy not delivered to essential loads"),
            ),
        ),
        Table(
            "event_lengths",
            "losses of essential power by length",
            "a class of lengths",
            (
                Column("from_h", "h", "shortest length of the class"),
                Column("to_h", "h", "longest length of the class"),
                *_with_bounds("events", "a year", "events a year"),
                *_with_bounds("years_pct", "%", "share of years with such an event"),
                *_with_bounds("eue_essential_kwh", "kWh", "energy not delivered to essential loads in a year"),
                N,
            ),
        ),
        Table(
            "autonomy",
            "probability of no loss of essential power within so many days",
            "a month of start, kind and number of days",
            (
                START_MONTH,
                Column("kind", TEXT, "`with_sun`, or `dark`: without any charging"),
                Column("days", "d", "days from the start, with a full bank"),
                Column("probability", "-", "probability that no essential hour is unserved"),
                *_low_high("-", PLACE),
                *_bounds("simulation", "-", SAMPLING),
                N,
            ),
        ),
        Table(
            "recovery",
            "days until the bank is full again",
            "a month of start and kind",
            (
                START_MONTH,
                Column("kind", TEXT, "from an empty bank, or after the deep discharges that occurred"),
                *_with_bounds("years_pct", "%", "share of years with such a discharge in the month"),
                Column("days_p10", "d", "one start in ten is full sooner"),
                Column("days_p50", "d", "median"),
                Column("days_p90", "d", "one start in ten is full later"),
                *_bounds("days", "d", "95 % interval of the median"),
                Column("beyond_pct", "%", "share of starts that are not full within the time watched"),
                N,
            ),
        ),
        Table(
            "uncertainty",
            "what the long-run average of this site may be, and what is behind its spread",
            "a headline",
            (
                Column("figure", TEXT, "key of the headline"), UNIT,
                Column("value", SEE_UNIT, "best guess"),
                *_bounds("place", SEE_UNIT, PLACE),
                Column("place_share_sampling", "share", "share of that variance due to the number of years"),
                Column("place_share_climate", "share", "due to the climate source"),
                Column("place_share_loads", "share", "due to the loads"),
                Column("place_share_bank", "share", "due to what is not known of the bank"),
                Column("year_share_weather", "share", "share of a single year's variance due to the weather"),
                Column("year_share_climate", "share", "due to the climate source"),
                Column("year_share_loads", "share", "due to the loads"),
                Column("year_share_bank", "share", "due to what is not known of the bank"),
                *_bounds("next", SEE_UNIT, "interval that the next better climate source would leave"),
                Column("larger_share", TEXT, "`climate` or `loads`: which the draws show to be larger (95 %)"),
                Column("next_source", TEXT, "that source"),
            ),
        ),
        Table(
            "energy_sources",
            "energy offered by and taken from every array and charger, by month",
            "a month and source",
            (
                MONTH,
                Column("source", TEXT, "name of the array or charger"),
                Column("kind", TEXT, "array, generator, engine or shore"),
                *_with_bounds("hours", "h", "hours of running in the month"),
                Column("offered_kwh", "kWh", "energy offered in the month"),
                *_with_bounds("taken_kwh", "kWh", "energy taken in the month"),
                N,
            ),
        ),
        Table(
            "snow",
            "what snow takes from each array by month; without rows where snow is not simulated",
            "an array and month",
            (
                Column("array", TEXT, "name of the array"), MONTH,
                Column("snowfalls", "a month", "days of fresh snow"),
                Column("covered_days", "d", "days with snow on the array"),
                Column("clear_kwh", "kWh", "energy without snow"),
                Column("lost_kwh", "kWh", "of it lost to snow"),
                N,
            ),
        ),
        Table(
            "bill_of_materials",
            "what the recommended design is made of, by `sizing.prices` and `document.bill`",
            "a line, or a sum",
            (
                Column("line", TEXT, "name of the line"),
                Column("kind", TEXT, "material, labour, or which sum"),
                Column("description", TEXT, "what it is"),
                Column("quantity", SEE_UNIT, "how many; of discount and tax the percentage"),
                Column("unit", TEXT, "unit of the quantity"),
                Column("unit_price", CURRENCY, "price of one unit, without tax"),
                Column("total", CURRENCY, "price of the line, or sum"),
            ),
        ),
        Table(
            "sizing",
            "every size of array and bank: reliability, cost, chance of the target",
            "a design",
            (
                Column("array_wp", "Wp", "size of the array"),
                Column("bank_ah", "Ah", "size of the bank"),
                *_of_a_design("lolp"),
                *(column for key in GRID_KEYS for column in _of_a_design(key)),
                *_with_bounds(
                    "years_with_short_nights", "-", HEADLINES["years_with_short_nights"].words, PLACE
                ),
                Column("full_charge_pct", "%", "share of years that keep `target.full_charge`", True),
                Column("full_charge_low", "%", f"low end of the {PLACE}", True),
                Column("full_charge_high", "%", f"high end of the {PLACE}", True),
                Column("bank_life_years", "years", "median life of a new bank in this service"),
                Column("fuel_l", "l", "fuel of the generator in a year"),
                Column("cost", CURRENCY, "first cost by `sizing.prices`"),
                Column("life_cycle_cost", CURRENCY, "present value of all costs over `sizing.life_cycle`"),
                Column("yearly_cost", CURRENCY, "the same as equal yearly payments"),
                Column("probability_met", "-", "chance that this site meets all targets"),
                Column("meets_target", FLAG, "whether that chance reaches `target.chance_pct`"),
                Column("chosen", FLAG, "of these the least costly, see `sizing.minimise`"),
            ),
        ),
        Table(
            "whatifs",
            "difference of each what-if from the study, on the same random draws",
            "a what-if and statistic",
            (
                Column("whatif", TEXT, "name of the what-if"),
                Column("changes", TEXT, "keys and values changed, JSON"),
                STATISTIC, UNIT, *_COMPARED, CHANCE,
            ),
        ),
        Table(
            "costs",
            "first cost and cost over life of the study and its what-ifs",
            "the study, or a what-if",
            (
                Column("kind", TEXT, "study or whatif"), Column("whatif", TEXT, "name of the what-if"),
                Column("array_wp", "Wp", "size of the array"), Column("bank_ah", "Ah", "size of the bank"),
                Column("first_cost", CURRENCY, "price by `sizing.prices`; none where it has none for the chemistry"),
                Column("bank_life_years", "years", "median life of a new bank in this service"),
                Column("replacements", "pieces", "banks bought after the first, mean"),
                Column("bank_cost", CURRENCY, "present value of these, with work and disposal, less residual value"),
                Column("array_cost", CURRENCY, "present value of new modules, less residual value"),
                Column("equipment_cost", CURRENCY, "present value of new equipment, less residual value"),
                Column("fuel_cost", CURRENCY, "present value of fuel"),
                Column("visits_cost", CURRENCY, "present value of maintenance visits"),
                *_with_bounds("life_cycle_cost", CURRENCY, "present value of all, first cost included", EIGHT_BANKS),
                *_with_bounds("yearly_cost", CURRENCY, "the same as equal yearly payments", EIGHT_BANKS),
            ),
        ),
        Table(
            "monitors",
            "reading errors of each monitor",
            "a monitor and statistic",
            (
                Column("monitor", TEXT, "name of the monitor"),
                Column("kind", TEXT, "shunt, gauge or internal"),
                STATISTIC, UNIT,
                *_with_bounds("mean", SEE_UNIT, "mean of the simulated years"),
                *_bounds("year", SEE_UNIT, EIGHT_OF_TEN),
            ),
        ),
        Table(
            "monitor_error_percentiles",
            "reading minus true charge of each monitor",
            "a monitor and group of hours",
            (
                Column("monitor", TEXT, "name of the monitor"),
                Column("by", TEXT, "how hours are grouped: month, or days since the last full charge"),
                Column("group", TEXT, "the group"),
                Column("hours", "h", "hours in the group, all years together"),
                Column("share_pct", "%", "share of all hours"),
                *(
                    Column(f"p{p}", "points", f"{p} % of the hours have a smaller reading error")
                    for p in (5, 10, 25, 50, 75, 90, 95)
                ),
            ),
        ),
        Table(
            "monitor_kinds",
            "shunt, voltage gauge and internal electronics compared on the same years",
            "a kind and statistic",
            (
                Column("kind", TEXT, "shunt, gauge or internal"), STATISTIC,
                *_with_bounds("mean", SEE_STATISTIC, "mean of the simulated years"),
                Column("difference", SEE_STATISTIC, "from the first kind"),
                *_low_high(SEE_STATISTIC, "95 % interval of the difference"),
                VERDICT, N,
            ),
        ),
        Table(
            "monitor_settings",
            "how to set the monitor, why, and the effect of a common wrong value",
            "a setting",
            (
                Column("group", TEXT, "what the setting describes"),
                Column("setting", TEXT, "key of the setting in a study"),
                UNIT,
                Column("fitted", SEE_UNIT, "value that serves best"),
                Column("as_set", SEE_UNIT, "value in the study"),
                Column("wrong", SEE_UNIT, "a common wrong value"),
                Column("reason", TEXT, "why"),
                Column("error_fitted", "points", "reading error exceeded 5 % of the time, with the fitted value"),
                Column("error_wrong", "points", "the same with the wrong value"),
                Column("missed_warning_fitted_h", "h", "hours a year of missed warnings with the fitted value"),
                Column("missed_warning_wrong_h", "h", "the same with the wrong value"),
                Column("error_increase_points", "points", "increase of the error by the wrong value"),
                *_bounds("error_increase", "points", SAMPLING),
                Column("missed_warning_increase_h", "h", "increase of missed warnings by the wrong value"),
                Column("missed_warning_increase_low_h", "h", f"low end of its {SAMPLING}"),
                Column("missed_warning_increase_high_h", "h", f"high end of its {SAMPLING}"),
                Column("error_as_set", "points", "reading error exceeded 5 % of the time, as the study is set"),
                Column("missed_warning_as_set_h", "h", "hours a year of missed warnings as the study is set"),
                N,
            ),
        ),
        Table(
            "expected_year",
            "typical values of bank and monitor by month",
            "a quantity and month",
            (
                Column("group", TEXT, "what the quantity is about"),
                Column("quantity", TEXT, "the quantity in words"),
                Column("month", "1 to 12", "calendar month; 0 for the whole year"),
                UNIT,
                Column("source", TEXT, "bank or monitor"),
                Column("p10", SEE_UNIT, "one year in ten is below"),
                Column("p50", SEE_UNIT, "median year"),
                Column("p90", SEE_UNIT, "one year in ten is above"),
                N,
            ),
        ),
        Table(
            "catalogue_designs",
            "whole modules, batteries and controllers that reach every target, and their neighbours",
            "a design and target",
            (
                Column("place", TEXT, "`chosen`, or how the design differs from the chosen one"),
                Column("module", TEXT, "module of the catalogue"), Column("modules", "pieces", "how many"),
                Column("block", TEXT, "battery of the catalogue"), Column("blocks", "pieces", "how many"),
                Column("controller", TEXT, "charge controller of the catalogue"),
                Column("tilt_deg", "°", "tilt"), Column("azimuth_deg", "°", "azimuth, if the study lets it vary"),
                Column("array_wp", "Wp", "size of the array"), Column("bank_ah", "Ah", "size of the bank"),
                Column("cost", CURRENCY, "first cost"),
                Column("bank_life_years", "years", "median life of a new bank in this service"),
                Column("life_cycle_cost", CURRENCY, "present value of all costs over `sizing.life_cycle`"),
                Column("yearly_cost", CURRENCY, "the same as equal yearly payments"),
                Column("requirement", TEXT, "the target"), STATISTIC,
                Column("value", SEE_STATISTIC, "best guess; % of the years if `is_share_of_years`"),
                *_low_high(SEE_STATISTIC, PLACE),
                Column("limit", SEE_STATISTIC, "limit of the target"),
                Column("direction", TEXT, "`most` or `least`"),
                Column("is_share_of_years", FLAG, "whether value and limit are a share of the years, in per cent"),
                Column("meets", FLAG, "whether the chance is large enough"),
                Column("probability_met", "-", "chance that this site meets the target"),
                Column("probability_all_met", "-", "chance that it meets all targets; decides about the design"),
                Column("worst_month", "1 to 12", "month with most of the hours without essential power"),
                Column("not_evaluated", "designs", "designs of the catalogue that were not simulated"),
            ),
            asked=True,
        ),
        Table(
            "remedies",
            "what would help, what it costs, and the effect per 100 of the currency",
            "a remedy",
            (
                Column("remedy", TEXT, "name of the remedy"),
                Column("changes", TEXT, "keys and values changed, JSON"),
                Column("cost", CURRENCY, "extra price"),
                *_with_bounds(
                    "yearly_cost", CURRENCY, "cost over life with it, as equal yearly payments", EIGHT_BANKS
                ),
                STATISTIC, UNIT, *_COMPARED,
                Column("saved_per_100", "for 100 of the currency", "reduction for each 100 of the currency"),
            ),
            asked=True,
        ),
        Table(
            "sweeps",
            "steps of the sweeps: the what-ifs of whatifs.csv that they are, one column for each key",
            "a step and statistic",
            (
                Column("sweep", TEXT, "name of the sweep"),
                Column("<key>", "of the key", "value of a key in this step; a column for each key", optional=True),
                Column("cost", CURRENCY, "first cost of the step"),
                Column("whatif", TEXT, "name of the what-if"),
                STATISTIC, UNIT, *_COMPARED, CHANCE,
            ),
            asked=True,
        ),
        Table(
            "sensitivity",
            "inputs ranked by their effect on the target's statistic",
            "an input",
            (
                Column("input", TEXT, "name of the input"), Column("key", TEXT, "its key in the study"),
                Column("kind", TEXT, "`chosen` by the designer, or `unknown`"),
                Column("from", "of the key", "low end of its range"),
                Column("to", "of the key", "high end of its range"),
                STATISTIC,
                Column("effect", SEE_STATISTIC, "mean absolute effect of the whole range"),
                *_bounds("effect", SEE_STATISTIC, "95 % interval over trajectories"),
                Column("mean_effect", SEE_STATISTIC, "mean effect, with its sign"),
                Column("scatter", SEE_STATISTIC, "standard deviation of the effect: interaction and curvature"),
                Column("share_pct", "%", "share of the sum of all effects"),
            ),
            asked=True,
        ),
        Table(
            "unattended",
            "days for which the system can be left unattended",
            "a month of start and number of days",
            (
                START_MONTH, Column("days", "d", "days unattended"),
                Column("probability", "-", "probability that no essential hour is unserved"),
                *_low_high("-", PLACE), *_bounds("simulation", "-", SAMPLING), N,
            ),
            asked=True,
        ),
        Table(
            "saving",
            "the year with and without people who save while the monitor reads low, on the same years",
            "a statistic",
            (
                STATISTIC, UNIT,
                Column("without", SEE_UNIT, "without saving"), Column("with", SEE_UNIT, "with saving"),
                Column("difference", SEE_UNIT, "with minus without"),
                *_low_high(SEE_UNIT, "95 % interval of the difference"),
                VERDICT,
            ),
            asked=True,
        ),
        Table(
            "disconnects",
            "the year without a disconnect, with one on true charge, and with one on the reading",
            "a disconnect and statistic",
            (
                Column("monitor", TEXT, "name of the monitor"), STATISTIC, UNIT,
                Column("without", SEE_UNIT, "mean without a disconnect"),
                Column("by_truth", SEE_UNIT, "mean with a disconnect on true charge"),
                Column("by_reading", SEE_UNIT, "mean with a disconnect on the reading"),
                Column("difference", SEE_UNIT, "reading minus truth"),
                *_low_high(SEE_UNIT, "95 % interval of the difference"),
                VERDICT,
            ),
            asked=True,
        ),
        Table(
            "ageing",
            "the target with the bank new, in mid-life and worn, and the year in which it is no longer met",
            "a stage of life",
            (
                Column("stage", TEXT, "stage of life"),
                Column("capacity_pct", "%", "capacity, of rated"),
                *_with_bounds("years", "years", "age", "8 of 10 banks"),
                STATISTIC,
                Column("value", SEE_STATISTIC, "best guess of the target's statistic"),
                *_low_high(SEE_STATISTIC, PLACE),
                Column("mean", SEE_STATISTIC, "mean of all simulated years"),
                *_bounds("simulation", SEE_STATISTIC, SAMPLING),
                Column("probability_met", "-", "chance that this site meets the target's limit"),
                Column("meets_target", FLAG, "whether that chance reaches `target.chance_pct`"),
                Column("loss_pct", "%", "capacity lost in a year, of rated"),
                *_bounds("loss", "%", PLACE),
                *_bounds("loss_simulation", "%", SAMPLING),
                Column("loss_partial_pct", "%", "of it by time too long after a full charge"),
            ),
            asked=True,
        ),
        Table(
            "measured_years",
            "measured years run as recorded",
            "a measured year",
            (
                Column("year", "year", "year, from July to June in the north"),
                Column("run", YES_OR_NO, "whether it was complete enough to run"),
                Column("days_missing", "d", "days without a value"),
                *_YEARLY,
            ),
            asked=True,
        ),
        Table(
            "measured_comparison",
            "measured and simulated years compared",
            "a headline",
            (
                STATISTIC, UNIT,
                *_with_bounds("measured", SEE_UNIT, "of the measured years"),
                *_with_bounds("simulated", SEE_UNIT, "of the simulated years"),
                *_with_bounds("difference", SEE_UNIT, "simulated minus measured", "95 % interval of the difference"),
                Column("verdict", TEXT, "`same` where the interval of the difference includes zero"),
            ),
            asked=True,
        ),
        Table(
            "record_faults",
            "every fault of the record, with its dates",
            "a fault",
            (
                Column("fault", TEXT, "the fault"),
                Column("first", TEXT, "first date"), Column("last", TEXT, "last date"),
                Column("done", TEXT, "what was done about it"),
            ),
            asked=True,
        ),
    )
}  # fmt: skip
