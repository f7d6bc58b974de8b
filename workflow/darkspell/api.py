"""The public functions: from a study to tables and hourly series, without Snakemake and without files of results.

``import darkspell`` offers them by name and loads this module when one is first used.
"""

from dataclasses import dataclass
from functools import cached_property
from os import PathLike

import numpy as np
import pandas as pd

from darkspell.bank.causes import main_cause
from darkspell.bank.maintenance import asked_of_owner
from darkspell.climate import site_climate
from darkspell.core.batches import LANES
from darkspell.core.errors import StudyError
from darkspell.design.requirements import chance_headline
from darkspell.pipeline.stages import with_members
from darkspell.report.tables.energy_sources import alternator_hours
from darkspell.report.tables.hourly_dataset import member_dataset, typical_and_worst
from darkspell.report.tables.main import autonomy_table, events_table, members_table, months_table
from darkspell.simulation.run import Simulation
from darkspell.simulation.run import simulate as run_members
from darkspell.simulation.system import System, build_system
from darkspell.statistics.summary import FIELDS, summary
from darkspell.study import Study, load_study, study_from
from darkspell.weather.site_sky import sky_of

NO_CHANGE = 'changes: nothing is changed; give a dotted key and its value, such as {"bank.capacity_ah": 300}'
SEARCHED_ABOVE = 640  # designs; ten blocks of lanes take about five seconds of two processors


@dataclass(frozen=True)
class Results:
    """Results of a simulated study; each table is made when it is first used.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    simulation : darkspell.simulation.run.Simulation
    """

    system: System
    simulation: Simulation

    @property
    def study(self):
        """The study that was simulated."""
        return self.system.study

    @cached_property
    def headlines(self):
        """Headline statistics, one row each.

        Returns
        -------
        pandas.DataFrame
            The index is the statistic. ``value`` is the best guess, ``place_low`` and ``place_high`` bound the
            long-run average at this site (95 %); the other columns are those of summary.json. The last row,
            ``probability_met``, is the chance that this site meets all targets of the study.
        """
        asked = asked_of_owner(self.study, self.simulation.members)
        asked |= alternator_hours(self.system, self.simulation.sources)
        whole = self.simulation, self.system.parameter_draw
        found = summary(whole[0].members, whole[0].autonomy, whole[1], self.study.engine.seed, asked)
        found |= chance_headline(self.study, *whole)
        return pd.DataFrame.from_dict(found, orient="index", columns=list(FIELDS)).rename_axis("statistic")

    @property
    def main_cause(self):
        """Cause of most hours of loss, and its share of them; (None, 0.0) where nothing is lost."""
        return main_cause(self.simulation.members)

    @cached_property
    def members(self):
        """One row for each simulated year, columns as in members.csv."""
        return members_table(self.simulation.members, self.system.parameter_draw)

    @cached_property
    def months(self):
        """One row for each calendar month and statistic, columns as in months.csv."""
        parts = self.simulation.months, self.system.parameter_draw, self.system.calendar
        return months_table(*parts, self.study.engine.seed)

    @cached_property
    def events(self):
        """One row for each loss of essential load, columns as in events.csv."""
        return events_table(self.simulation.events, self.system.calendar)

    @cached_property
    def autonomy(self):
        """Probability that a full bank lasts a number of days, columns as in autonomy.csv."""
        return autonomy_table(self.simulation.autonomy, self.system.parameter_draw)

    @property
    def typical_and_worst(self):
        """Numbers of the typical and the worst member, ranked by unserved essential energy, then by depth."""
        chosen = typical_and_worst(self.simulation.members)
        return [int(self.system.members[position]) for position in chosen]

    def hourly(self, members=4):
        """Hourly series of some members; they are computed anew, to the same bits.

        Parameters
        ----------
        members : int or sequence of int
            A number of members, from the first on, or a list of members. At most 64.

        Returns
        -------
        xarray.Dataset
            Dimensions ``member`` and ``time``; units, flags and times by the CF conventions; variables as
            `darkspell.report.tables.hourly_dataset.VARIABLES`: ``sun``, ``array``, ``array_spilled``, ``chargers``,
            ``generator``, ``load``, ``unserved``, ``current``, ``voltage``, ``state_of_charge``, ``temp_air``,
            ``temp_bank`` and ``cause``. Times are the beginnings of hours in local standard time. The number of
            the year has no meaning.

        Raises
        ------
        darkspell.core.errors.StudyError
            If the study has no such member.
        """
        numbers = np.atleast_1d(np.arange(members) if np.isscalar(members) else np.asarray(members, int))
        if not 1 <= numbers.size <= LANES or not np.isin(numbers, self.system.members).all():
            raise StudyError(f"hourly: give 1 to {LANES} members from 0 to {self.system.members[-1]}")
        return member_dataset(self.system, numbers)


def read_study(source):
    """Read a study and validate all of it.

    Parameters
    ----------
    source : path-like or dict
        A YAML file, or a mapping with the same keys.

    Returns
    -------
    darkspell.study.Study

    Raises
    ------
    darkspell.core.errors.StudyError
        With all faults in one message.
    """
    return load_study(source) if isinstance(source, str | PathLike) else study_from(source)


def simulate(study, members=None, workers=None):
    """Simulate a study's own design.

    Parameters
    ----------
    study : darkspell.study.Study, path-like or dict
    members : int, optional
        Synthetic years in place of the study's number.
    workers : int, optional
        Threads; all processors if not given. They do not change the result.

    Returns
    -------
    Results

    Raises
    ------
    darkspell.core.errors.StudyError
        If the study is not valid, or its climate cannot be read.
    """
    system = _system(study, members)
    return Results(system, run_members(system, workers=workers))


def simulate_all(studies, members=None, workers=None):
    """Simulate several studies on the same draws, for their headlines; shared weather is drawn once.

    Parameters
    ----------
    studies : sequence of darkspell.study.Study
        All get the years and parameter draws of the first.
    members, workers
        As in `simulate`.

    Returns
    -------
    list of Results
        Headlines, members, months and autonomy; without events.
    """
    # with kernels that one study does not need
    from darkspell.design.whatif_runner import simulate_together

    systems = [_system(studies[0], members)]
    engine = systems[0].study.engine
    systems += [_system(study.model_copy(update={"engine": engine})) for study in studies[1:]]
    found = simulate_together(systems, 0, engine.members, workers, autonomy=True)
    return [Results(*pair) for pair in zip(systems, found, strict=True)]


def size(study, members=None, workers=None, search=False):
    """Run the designs of the study's grid of array and bank sizes.

    Parameters
    ----------
    study, members, workers
        As in `simulate`.
    search : bool
        Whether a grid of more than 640 designs is searched: for each array, the banks near the smallest that meets
        the target. Otherwise every design is run.

    Returns
    -------
    pandas.DataFrame
        One row for each design, columns as in sizing.csv: sizes, loss of load with bounds, cost, whether it meets the
        target, and ``chosen``, the cheapest that does.
    """
    # imported late, with kernels that a simulation does not need
    from darkspell.design.bank_lives import with_lives
    from darkspell.design.grid import designs_of, run_grid
    from darkspell.design.grid_costs import grid_table, priced
    from darkspell.loads.budget import yearly_budget

    system = _system(study, members)
    study, designs = system.study, designs_of(system.study)
    demand = yearly_budget(system.appliances, system.climate).sum() / 1000.0
    if search and len(designs) > SEARCHED_ABOVE:
        designs, counts = _searched(system, designs, demand, workers)
    else:
        counts = run_grid(system, designs, workers)
    grid = grid_table(designs, counts, system.parameter_draw, demand, study.engine.seed, study.target)
    return priced(with_lives(grid, system, workers), study)


def _searched(system, designs, demand, workers):
    """Designs about the border of what meets the target, and their counts."""
    from darkspell.design.frontier import find_frontier
    from darkspell.design.grid import scales_of
    from darkspell.design.grid_costs import grid_table, priced

    study = system.study
    arrays, banks = (np.unique(sizes) for sizes in designs.T)
    sizes = np.array([[(array, bank) for bank in banks] for array in arrays])

    def judge(counts, parameter_draw):
        some = np.zeros((counts["lolh"].shape[1], 2))
        grid = grid_table(some, counts, parameter_draw, demand, study.engine.seed, study.target)
        return priced(grid, study)["meets_target"].to_numpy()

    scales = scales_of(system, sizes.reshape(-1, 2)).reshape(*sizes.shape[:2], -1)
    target = study.target.statistic, study.target.at_most
    counts = find_frontier(system, scales, *target, workers, judge).counts
    pairs = sorted(counts)
    joined = {name: np.stack([counts[pair][name] for pair in pairs], axis=1) for name in counts[pairs[0]]}
    return np.array([sizes[pair] for pair in pairs]), joined


def what_if(study, changes, members=None, workers=None):
    """Compare a study with changed ones on the same draws.

    Parameters
    ----------
    study, members, workers
        As in `simulate`.
    changes : dict
        Dotted key to value, such as ``{"bank.capacity_ah": 300}``; or a name to such a mapping, for several.
        The value None removes an entry or returns a key to its default.

    Returns
    -------
    pandas.DataFrame
        One row for each what-if and statistic, columns as in whatifs.csv; ``low`` and ``high`` bound the difference.

    Raises
    ------
    darkspell.core.errors.StudyError
        If a changed study is not valid, or nothing is changed.
    """
    from darkspell.design.whatif_runner import WHATIF_COLUMNS, run_whatifs  # imported late, as in `size`

    if not isinstance(changes, dict) or all(value == {} for value in changes.values()):
        raise StudyError(NO_CHANGE)
    several = all(isinstance(value, dict) and "." not in name for name, value in changes.items())
    named = changes if several else {"change": changes}
    rows = run_whatifs(_system(study, members), _site_of, named, workers)
    return pd.DataFrame(rows, columns=WHATIF_COLUMNS)


def replay(study, workers=None):
    """Run a study on the measured years of its record.

    Parameters
    ----------
    study, workers
        As in `simulate`.

    Returns
    -------
    pandas.DataFrame
        One row for each measured year, columns as in measured_years.csv.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the study has no measured record, or no year of it is complete enough.
    """
    from darkspell.climate.record import record_of  # imported late, as in `size`
    from darkspell.climate.record.study_years import study_years
    from darkspell.report.tables.measured_years import measured_years_table
    from darkspell.weather.measured_years import replayed

    system = _system(study)
    study = system.study
    if not study.replays:
        raise StudyError(
            f"{study.name}: has no measured years; give climate.file with a record of some years"
        )
    record = record_of(study, study.folder)
    years = study_years(record, system.calendar, study.climate.fill_days, study.engine.seed)
    result = run_members(replayed(system, years), workers=workers)
    return measured_years_table(result.members, years)


def _system(study, members=None):
    study = with_members(study if isinstance(study, Study) else read_study(study), members)
    return build_system(study, *_site_of(study))


def _site_of(study):
    return site_climate(study, study.folder), sky_of(study)
