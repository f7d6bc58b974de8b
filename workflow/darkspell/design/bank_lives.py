"""How long the banks of many designs last, and the fuel of their generators: a few designs run, the rest between."""

import numpy as np

from darkspell.bank.bank_results import run_block
from darkspell.bank.maintenance import bank_care, generator_use
from darkspell.bank.wear import yearly_wear, years_at
from darkspell.core.batches import over_batches
from darkspell.study.ageing import Ageing

NODES = 4  # sizes of array and of bank that are run; our choice, its error is tested
YEARS = 32  # synthetic years of each, on as many parameter draws; our choice


def ages_of_new(study):
    """Present over rated capacity of a new bank, half way, and at the end of its life.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    tuple of float
    """
    end = (study.ageing or Ageing()).end_of_life_pct / 100.0
    return 1.0, (1.0 + end) / 2.0, end


def lives_and_fuel(system, designs, workers=None):
    """Mean life of the bank, and fuel a year, of some designs, each run.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    designs : float array [designs, 2]
        Array [Wp] and bank [Ah on the label]; the controller grows with the array.
    workers : int, optional

    Returns
    -------
    years, litres : float64 arrays [designs]
        Years until a new bank is worn out in this service; litres of fuel a year of a new one.
    """
    study, ages = system.study, ages_of_new(system.study)
    few = system.with_members(slice(min(YEARS, system.members.size)))
    aged = [few.with_health(round(100.0 * age, 6)) for age in ages]

    def work(members, parameter_draw, real):
        traces = few.traces(members, parameter_draw)
        wear = np.empty((real, len(designs), len(ages)))
        fuel = np.empty((real, len(designs)))
        for i, design in enumerate(designs):
            for j, (one, age) in enumerate(zip(aged, ages, strict=True)):
                bank = run_block(traces.for_bank(), one.per_ah_factors(*design), one.controls, one.chemistry)
                # Copied, so that the kernels meet whole arrays here as elsewhere and are compiled once.
                hours = (
                    np.ascontiguousarray(bank.soc[:, :real]),
                    np.ascontiguousarray(traces.temp_bank[:, :real]),
                )
                wear[:, i, j] = _wear(*hours, age, study)
                if j == 0:
                    litres = generator_use(bank, study.generator, few.calendar)[0]["fuel_l"]
                    fuel[:, i] = litres[:real]
        return wear, fuel

    wear, fuel = (np.concatenate(part) for part in zip(*over_batches(work, few, workers), strict=True))
    share = (ages[0] - np.array(ages)) / (ages[0] - ages[-1])
    years = [years_at(share, mean)[-1] for mean in wear.mean(axis=0)]
    return np.array(years), fuel.mean(axis=0)


def _wear(soc, temp, age, study):
    chemistry = study.bank.chemistry
    late = bank_care(soc, temp, chemistry)["partial_charge_pct"]
    return yearly_wear(soc, temp, late, age, chemistry)


def with_lives(table, system, workers=None):
    """Add ``bank_life_years`` and ``fuel_l`` to a table of a grid's designs.

    Parameters
    ----------
    table : pandas.DataFrame
        A row a design, with ``array_wp`` and ``bank_ah``.
    system, workers
        As `grid_lives` takes them.

    Returns
    -------
    pandas.DataFrame
    """
    years, litres = grid_lives(system, table[["array_wp", "bank_ah"]].to_numpy(float), workers)
    return table.assign(bank_life_years=years, fuel_l=litres)


def grid_lives(system, designs, workers=None):
    """Life of the bank and fuel a year of each design of a grid, between those of a few that are run.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    designs : float array [designs, 2]
        Array [Wp] and bank [Ah].
    workers : int, optional

    Returns
    -------
    years, litres : float64 arrays [designs]

    Notes
    -----
    The designs run are the corners and inner points of the grid, evenly spaced in the logarithm of both sizes.
    Between them, fuel and the logarithm of the life are linear in these logarithms.
    """
    sizes = np.log(np.asarray(designs, float))
    axes = [_axis(sizes[:, column]) for column in (0, 1)]
    nodes = np.exp([(array, bank) for array in axes[0] for bank in axes[1]])
    years, litres = lives_and_fuel(system, nodes, workers)
    shape = len(axes[0]), len(axes[1])
    lives = np.exp(_between(axes, np.log(years).reshape(shape), sizes))
    return lives, _between(axes, litres.reshape(shape), sizes)


def _axis(values):
    low, high = values.min(), values.max()
    return np.linspace(low, high, min(NODES, len(np.unique(values)))) if high > low else np.array([low])


def _between(axes, values, at):
    """Bilinear interpolation of values [arrays, banks] at points [n, 2]."""
    rows = np.stack([np.interp(at[:, 1], axes[1], row) for row in values])
    if len(axes[0]) == 1:
        return rows[0]
    place = np.interp(at[:, 0], axes[0], np.arange(len(axes[0])))
    below = np.minimum(place.astype(int), len(axes[0]) - 2)
    share, points = place - below, np.arange(len(at))
    return (1.0 - share) * rows[below, points] + share * rows[below + 1, points]
