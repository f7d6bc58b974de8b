"""Charge and discharge curves of every chemistry, to look at: ``python -m dev.bank_curves [folder]``.

Drawn through the bank's own step, an hour at a time from each state of charge, for a bank of one 12 V unit
(of 3.5 cells where the chemistry has no whole number of them) and per ampere-hour.
"""

import argparse
from pathlib import Path

import numpy as np

from darkspell.bank.step import FULL_STATE, Controls, step, temperature_terms, undeliverable_charge
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES

F = np.float32
NAMES = {
    "flooded": "Flooded lead-acid", "agm": "AGM lead-acid", "gel": "Gel lead-acid",
    "lfp": "Lithium iron phosphate", "nmc": "Lithium NMC", "naion": "Sodium-ion", "nicd": "Nickel-cadmium",
    "nife": "Nickel-iron",
}  # fmt: skip
RATES = ((100.0, "100 h"), (20.0, "20 h"), (5.0, "5 h"))


def terminal_voltage(chemistry, hours, charging, temp=25.0, points=101):
    """Terminal voltage at the current that fills or empties the bank in so many hours.

    Parameters
    ----------
    chemistry : str
    hours : float
        Capacity at the 100 h rate over current [h].
    charging : bool
    temp : float
        Of the bank [degC].
    points : int

    Returns
    -------
    soc, voltage : float arrays [points]
        Fractions [-] and volts of a 12 V unit; not a number where the bank lets nothing out or takes nothing.
    """
    c = chemistry_numbers(chemistry, 12.0, cut_off=1.0, reconnect=0.0, depth_limit=1.0)
    terms, controls = tuple(map(F, temperature_terms(F(temp), c))), Controls(F(0.0), F(0.0))
    soc, volts = np.linspace(0.0, 1.0, points), np.full(points, np.nan)
    for i, start in enumerate(soc):
        volts[i] = _hour(F(start), F(1.0 / hours), charging, terms, controls, c)
    return soc, volts


def _hour(soc, rate, charging, terms, controls, c):
    """Terminal voltage of one hour; the load is set to draw the rate at the voltage found before."""
    state, zero = (soc, *FULL_STATE[1:]), F(0.0)
    none = (zero,) * 7
    if charging:
        _, current, voltage, *_ = step(state, (F(1e6), rate, zero, zero), none, terms, controls, c)
        return voltage if current > 0.0 else np.nan
    watts = rate * F(12.0)
    for _ in range(3):
        loads = (F(watts), *none[1:])
        _, current, voltage, *_ = step(state, None, loads, terms, controls, c)
        watts = rate * F(voltage)
    if soc < undeliverable_charge(rate, terms[3], c):
        return np.nan
    # Near its end the bank gives the current for a part of the hour only: its voltage meanwhile.
    return voltage - terms[1] * max(rate + current, F(0.0))


def draw(ax, chemistry):
    """One panel: rested, discharged at three rates, charged at the 10 h rate warm and cold; returns `ax`.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    chemistry : Chemistry
    """
    from darkspell.report.figures.style import ACCENT, GREY, INK

    soc, rested = terminal_voltage(chemistry, 1e5, False)
    ax.plot(100 * soc, rested, color=GREY, lw=1.0, ls=":", label="rested")
    for (hours, name), width in zip(RATES, (0.8, 1.2, 1.6), strict=True):
        ax.plot(
            *_percent(terminal_voltage(chemistry, hours, False)), color=INK, lw=width, label=f"out, {name}"
        )
    ax.plot(
        *_percent(terminal_voltage(chemistry, 5.0, False, -10.0)),
        color=INK,
        lw=1.2,
        ls="--",
        label="out, 5 h, -10 °C",
    )
    ax.plot(*_percent(terminal_voltage(chemistry, 10.0, True)), color=ACCENT, lw=1.4, label="in, 10 h")
    ax.plot(
        *_percent(terminal_voltage(chemistry, 10.0, True, 5.0)),
        color=ACCENT,
        lw=1.0,
        ls="--",
        label="in, 10 h, 5 °C",
    )
    ax.set_title(NAMES[chemistry], loc="left", fontsize=9)
    ax.set_xlim(0, 100)
    return ax


def _percent(curve):
    return 100 * curve[0], curve[1]


def figure():
    """All chemistries on one sheet."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    made = Figure(figsize=(11, 6.2), layout="constrained")
    FigureCanvasAgg(made)
    axes = made.subplots(2, 4)
    for ax, chemistry in zip(axes.flat, CHEMISTRIES, strict=True):
        draw(ax, chemistry)
        ax.grid(axis="y")
    for ax in axes[:, 0]:
        ax.set_ylabel("terminal voltage of a 12 V unit, V")
    for ax in axes[1]:
        ax.set_xlabel("state of charge, %")
    made.legend(
        *axes.flat[0].get_legend_handles_labels(),
        loc="outside lower center",
        ncols=7,
        frameon=False,
        fontsize=8,
    )
    return made


def main(arguments=None):
    """Write the sheet as PNG and PDF.

    Parameters
    ----------
    arguments : list of str, optional
    """
    parser = argparse.ArgumentParser(prog="python -m dev.bank_curves", description=__doc__)
    parser.add_argument("folder", nargs="?", default=".", type=Path)
    folder = parser.parse_args(arguments).folder
    from darkspell.report.figures.style import look

    folder.mkdir(parents=True, exist_ok=True)
    with look():
        made = figure()
        for kind in ("png", "pdf"):
            made.savefig(folder / f"bank_curves.{kind}", dpi=150)
    print(folder / "bank_curves.png")


if __name__ == "__main__":
    main()
