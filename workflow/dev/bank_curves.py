"""Charge and discharge curves of every chemistry, to look at: ``python -m dev.bank_curves [folder]``.

A second sheet has the course of a charge of lead-acid in the warm and in the cold. Drawn through the bank's own
step, an hour at a time from each state of charge, for a bank of one 12 V unit (of 3.5 cells where the chemistry has
no whole number of them) and per ampere-hour.
"""

import argparse
from pathlib import Path

import numpy as np

from darkspell.bank.cell_laws import temperature_terms, undeliverable_charge
from darkspell.bank.step import step
from darkspell.bank.step_values import FULL_STATE, Controls
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES

F = np.float32
NAMES = {
    "flooded": "Flooded lead-acid", "agm": "AGM lead-acid", "gel": "Gel lead-acid",
    "lfp": "Lithium iron phosphate", "nmc": "Lithium NMC", "naion": "Sodium-ion", "nicd": "Nickel-cadmium",
    "nife": "Nickel-iron",
}  # fmt: skip
COLD_SHEET = ("flooded", "agm", "gel")
COURSE = dict(start=0.5, hours_rate=10.0, hours=30)  # a bank at 50 %, charged at the 10 h current
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


def charge_course(chemistry, temp, start=0.5, hours_rate=10.0, hours=30):
    """Course of a charge at a constant current that is limited by what the bank accepts.

    Parameters
    ----------
    chemistry : str
    temp : float
        Of the bank [degC].
    start : float
        State of charge at the beginning [-].
    hours_rate : float
        Capacity at the 100 h rate over the current on offer [h].
    hours : int

    Returns
    -------
    soc, current : float arrays [hours + 1] and [hours]
        State of charge at the beginning of each hour, and mean current of the hour [1/h].
    """
    c = chemistry_numbers(chemistry, 12.0, cut_off=1.0, reconnect=0.0, depth_limit=1.0)
    terms, controls = tuple(map(F, temperature_terms(F(temp), c))), Controls(F(0.0), F(0.0))
    zero, state = F(0.0), (F(start), *FULL_STATE[1:])
    soc, current = np.full(hours + 1, start), np.zeros(hours)
    for h in range(hours):
        sources = (F(1e6), F(1.0 / hours_rate), zero, zero)
        state, current[h], *_ = step(state, sources, (zero,) * 7, terms, controls, c)
        soc[h + 1] = state[0]
    return soc, current


def hours_to_full(chemistry, temp, full=0.97):
    """Hours of a charge from 50 % at the 10 h current until a state of charge, linear within the hour.

    Parameters
    ----------
    chemistry : str
    temp : float
        [degC].
    full : float
        [-].

    Returns
    -------
    float
        [h].
    """
    soc, _ = charge_course(chemistry, temp, hours=60)
    return float(np.interp(full, soc, np.arange(soc.size)))


def cold_figure():
    """Charge of lead-acid from half full at the 10 h current, at 25, 0 and -10 degC."""
    from darkspell.report.figures.style import ACCENT, GREY, INK

    made = _blank((11, 5.4))
    axes = made.subplots(2, len(COLD_SHEET), sharex=True, sharey="row")
    looks = {25.0: dict(color=ACCENT), 0.0: dict(color=GREY), -10.0: dict(color=INK)}
    for (above, below), chemistry in zip(axes.T, COLD_SHEET, strict=True):
        for temp, look in looks.items():
            soc, current = charge_course(chemistry, temp, **COURSE)
            label = f"{temp:g} °C: 97 % after {hours_to_full(chemistry, temp):.0f} h"
            above.plot(100.0 * soc, label=label, **look)
            below.step(
                np.arange(current.size + 1), 100.0 * np.append(current, current[-1]), where="post", **look
            )
        above.set_title(NAMES[chemistry], loc="left", fontsize=9)
        above.legend(frameon=False, fontsize=8, loc="lower right")
        below.set_xlabel("hours of charging")
        for ax in (above, below):
            ax.grid(axis="y")
            ax.set_xlim(0, COURSE["hours"])
            ax.set_ylim(0)
    axes[0, 0].set_ylabel("state of charge, %")
    axes[1, 0].set_ylabel("current, % of capacity")
    return made


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


def _blank(size):
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    made = Figure(figsize=size, layout="constrained")
    FigureCanvasAgg(made)
    return made


def figure():
    """All chemistries on one sheet."""
    made = _blank((11, 6.2))
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
    """Write both sheets as PNG and PDF.

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
        for name, made in (("bank_curves", figure()), ("charge_in_the_cold", cold_figure())):
            for kind in ("png", "pdf"):
                made.savefig(folder / f"{name}.{kind}", dpi=150)
            print(folder / f"{name}.png")


if __name__ == "__main__":
    main()
