"""Voltage of lithium cells under a constant current: PyBaMM's particle model, and this bank.

``python -m dev.pybamm_curves`` prints our differences from the stored curves of PyBaMM, in millivolts a cell, and the
slopes of the charging voltage with the current. ``--run`` makes the stored curves anew (extra ``pybamm``, a minute).
"""

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

from darkspell.bank.reference import acceptance
from darkspell.bank.reference_laws import open_circuit, temperature_terms
from darkspell.bank.step_values import FULL_STATE, State
from darkspell.chemistry.numbers import chemistry_numbers

STORED = Path(__file__).parents[2] / "tests" / "bank" / "pybamm_curves.csv"
MODELS = {"lfp": "Prada2013", "nmc": "Chen2020"}  # parameter sets of PyBaMM
CELLS = {"lfp": 4.0, "nmc": 3.5}  # of a 12 V unit
HOURS, TEMPERATURES = (20, 10, 5, 2), (0, 10, 25, 40)
SOC = (0.3, 0.5, 0.7, 0.8, 0.9)
DIRECTIONS = ("charge", "discharge")


def particle_model(chemistry, hours, temp, direction):
    """Terminal voltage of a cell by PyBaMM's single-particle model with electrolyte, isothermal.

    Parameters
    ----------
    chemistry : str
        One of `MODELS`.
    hours : float
        Capacity over current [h]. The capacity is that between the set's own limits of voltage.
    temp : float
        [degC].
    direction : str
        One of `DIRECTIONS`.

    Returns
    -------
    float array
        At the states of charge `SOC` [V].
    """
    import pybamm  # noqa: PLC0415  (optional extra)

    values = pybamm.ParameterValues(MODELS[chemistry])
    names = pybamm.LithiumIonParameters()
    low, high, *_ = pybamm.lithium_ion.ElectrodeSOHSolver(values, names).get_min_max_stoichiometries()
    capacity = float((high - low) * values.evaluate(names.n.Q_init))
    start, sign = (0.02, -1.0) if direction == "charge" else (0.98, 1.0)
    model = pybamm.lithium_ion.SPMe({"thermal": "isothermal"})
    parameters = values.copy()
    parameters.update(
        {
            "Ambient temperature [K]": 273.15 + temp, "Initial temperature [K]": 273.15 + temp,
            "Current function [A]": sign * capacity / hours,
            "Upper voltage cut-off [V]": values["Upper voltage cut-off [V]"] + 1.0,
            "Lower voltage cut-off [V]": values["Lower voltage cut-off [V]"] - 1.0,
        }
    )  # fmt: skip
    # The state of charge is that of the set's own limits, the run may pass them.
    x, y = pybamm.lithium_ion.get_initial_stoichiometries(start, values)
    maxima = [f"Maximum concentration in {part} electrode [mol.m-3]" for part in ("negative", "positive")]
    for part, share, most in zip(("negative", "positive"), (x, y), maxima, strict=True):
        parameters.update({f"Initial concentration in {part} electrode [mol.m-3]": share * values[most]})
    seconds = np.linspace(0.0, 0.96 * 3600.0 * hours, 500)
    solution = pybamm.Simulation(model, parameter_values=parameters).solve(
        [0.0, seconds[-1]], t_interp=seconds
    )
    soc = start - sign * solution["Time [h]"].entries / hours
    order = np.argsort(soc)
    return np.interp(SOC, soc[order], solution["Terminal voltage [V]"].entries[order], np.nan, np.nan)


def run():
    """All curves of PyBaMM as a table: chemistry, direction, temperature, rate and the voltages at `SOC`."""
    import pybamm  # noqa: PLC0415  (optional extra)

    rows = [
        (chemistry, MODELS[chemistry], pybamm.__version__, direction, temp, hours,
         *np.round(particle_model(chemistry, hours, temp, direction), 4))
        for chemistry in MODELS for direction in DIRECTIONS for temp in TEMPERATURES for hours in HOURS
    ]  # fmt: skip
    keys = ["chemistry", "parameter_set", "pybamm", "direction", "temp_c", "hours"]
    return pd.DataFrame(rows, columns=[*keys, *(f"v_{100 * soc:.0f}" for soc in SOC)])


def ours(chemistry, hours, temp, direction):
    """Terminal voltage of a cell by the bank's own equations, before an hour changes its charge.

    A charge in the cold is not locked out here, so that its voltage can be judged.

    Parameters
    ----------
    chemistry, hours, temp, direction
        As `particle_model` takes them.

    Returns
    -------
    float array
        At `SOC` [V].
    """
    c = chemistry_numbers(chemistry, 12.0)
    terms = temperature_terms(np.full(len(SOC), float(temp)), c)
    terms = terms._replace(accept_max=np.full(len(SOC), float(c.accept_max)))
    state = State(np.array(SOC), *FULL_STATE[1:])
    ocv = open_circuit(state.soc, c)
    if direction == "discharge":
        return (ocv - terms.resistance / hours) / CELLS[chemistry]
    *_, slope = acceptance(state, terms, None, c)
    return np.minimum(ocv + slope / hours, np.maximum(terms.setpoint, ocv)) / CELLS[chemistry]


def differences():
    """Stored curves with ours less PyBaMM's instead of volts [mV a cell]; pandas.DataFrame."""
    table = pd.read_csv(STORED)
    columns = [name for name in table if name.startswith("v_")]
    keys = table[["chemistry", "hours", "temp_c", "direction"]].itertuples(index=False)
    away = np.array([ours(*row) for row in keys]) - table[columns].to_numpy()
    return table.assign(**dict(zip(columns, 1000.0 * away.T, strict=True)))


def slopes(chemistry, temp, volts):
    """Rise of the charging voltage from the 20 h to the 5 h current, over the rise of the current [V h] at `SOC`.

    Parameters
    ----------
    chemistry : str
    temp : float
        [degC].
    volts : callable
        Arguments and result as `ours`.
    """
    rise = volts(chemistry, 5, temp, "charge") - volts(chemistry, 20, temp, "charge")
    return rise / (1.0 / 5.0 - 1.0 / 20.0)


def stored(chemistry, hours, temp, direction):
    """Voltages of the stored table at `SOC` [V]; arguments as `particle_model`."""
    table = pd.read_csv(STORED).set_index(["chemistry", "direction", "temp_c", "hours"])
    row = table.loc[(chemistry, direction, temp, hours)]
    return row[[name for name in table if name.startswith("v_")]].to_numpy(float)


def main(arguments=None):
    """Print the table of differences and the slopes, or make the stored curves anew.

    Parameters
    ----------
    arguments : list of str, optional
    """
    parser = argparse.ArgumentParser(prog="python -m dev.pybamm_curves", description=__doc__.splitlines()[0])
    parser.add_argument("--run", action="store_true", help="make the stored curves anew with PyBaMM")
    if parser.parse_args(arguments).run:
        run().to_csv(STORED, index=False)
    found = differences()
    shown = found.drop(columns=["pybamm", "parameter_set"]).round(0).to_string(index=False)
    print(f"ours less PyBaMM {found['pybamm'][0]}, SPMe, mV a cell\n{shown}")
    print("\nrise of the charging voltage with the current, V h: PyBaMM; ours")
    for chemistry in MODELS:
        for temp in TEMPERATURES:
            both = [np.round(slopes(chemistry, temp, volts), 3) for volts in (stored, ours)]
            print(f"{chemistry:4} {temp:3d} degC  {both[0]}  {both[1]}")


if __name__ == "__main__":
    main()
