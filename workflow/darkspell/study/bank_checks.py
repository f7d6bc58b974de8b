"""What a bank must agree on with its blocks and its levels."""

from math import log

from darkspell.core.constants import constant
from darkspell.study.base import Faults

TOLERANCE = 0.1  # 12.8 V blocks are called 12 V
MOST_EXPONENT = 1.6  # of Peukert's law; old flooded banks come near it; our choice
CHARGING_ABOVE = 0.05  # share of the usual charging voltage by which a study's may be higher; our choice


def check_bank(bank, nominal):
    """Refuse strings that do not make the system's voltage, and levels in the wrong order.

    Parameters
    ----------
    bank : darkspell.study.bank.Bank
        With its cut-off voltage filled.
    nominal : int
        [V].

    Raises
    ------
    Faults
    """
    faults = [
        *_cells(bank, nominal),
        *_strings(bank, nominal),
        *_capacity(bank),
        *_second_rate(bank),
        *_reconnection(bank),
    ]
    faults += _charge_temperatures(bank)
    if faults:
        raise Faults(*faults)


def _cells(bank, nominal):
    cells = constant("bank", bank.chemistry, "cells_per_12v") * nominal / 12.0
    if cells != round(cells):
        text = f"{bank.chemistry} cells make no {nominal} V bank in whole numbers"
        yield "chemistry", f"{text}; take 24 or 48 V, or another chemistry"


def _strings(bank, nominal):
    block, series = bank.block_voltage_v, bank.blocks_in_series
    if (block is None) != (series is None):
        missing, given = ("block_voltage_v", "blocks_in_series")[:: 1 if block is None else -1]
        yield missing, f"is missing, but {given} is given; give both, or neither"
    elif block is not None and abs(block * series / nominal - 1.0) > TOLERANCE:
        blocks, make = ("block", "makes") if series == 1 else ("blocks", "make")
        text = (
            f"{series} {blocks} of {block:g} V {make} {block * series:g} V, not the {nominal} V of the system"
        )
        fitting = round(nominal / block)
        fits = fitting and abs(block * fitting / nominal - 1.0) <= TOLERANCE
        cure = f"put {fitting} in series" if fits else f"take blocks that make {nominal} V in whole numbers"
        yield "blocks_in_series", f"{text}; {cure}"


def _capacity(bank):
    if bank.block_capacity_ah is None:
        return
    total = bank.block_capacity_ah * bank.strings_in_parallel
    if abs(total / bank.capacity_ah - 1.0) > 0.01:
        strings, hold = ("string", "holds") if bank.strings_in_parallel == 1 else ("strings", "hold")
        text = f"{bank.strings_in_parallel} {strings} of {bank.block_capacity_ah:g} Ah {hold} {total:g} Ah"
        yield "capacity_ah", f"{text}, not {bank.capacity_ah:g} Ah; give {total:g}, or other strings"


def _second_rate(bank):
    """Two points of one discharge curve: more comes out slowly, by an exponent that batteries have."""
    share, rate = bank.second_capacity_pct, bank.second_rate_h
    if (share is None) != (rate is None):
        missing, given = ("second_capacity_pct", "second_rate_h")[:: 1 if share is None else -1]
        yield missing, f"is missing, but {given} is given; give both, or neither"
    elif share is None:
        return
    elif rate == bank.rate_h:
        yield "second_rate_h", f"is rate_h ({rate:g} h) again; give another rate of the data sheet"
    else:
        slope = log(share / 100.0) / log(rate / bank.rate_h)
        if not 0.0 <= slope < 1.0 or 1.0 / (1.0 - slope) > MOST_EXPONENT:
            text = f"{share:g} % of capacity_ah in {rate:g} h, of 100 % in {bank.rate_h:g} h, is no discharge curve"
            cure = f"slower takes out more, by Peukert's exponent of 1 to {MOST_EXPONENT:g}; check the data sheet"
            yield "second_capacity_pct", f"{text}: {cure}"


def _charge_temperatures(bank):
    most = bank.charge_temperature_max_c
    if most is not None and most <= bank.charge_full_from_c:
        text = f"{most:g} degC is not above the temperature of full charge current"
        yield "charge_temperature_max_c", f"{text} ({bank.charge_full_from_c:g} degC); raise it"


def _reconnection(bank):
    back = bank.reconnect_voltage_v
    if back is not None and back <= bank.cutoff_voltage_v:
        text = f"{back:g} V is not above cutoff_voltage_v ({bank.cutoff_voltage_v:g} V)"
        yield "reconnect_voltage_v", f"{text}: loads would switch to and fro; raise it, or lower the cut-off"


def check_charging(controller, bank, cells):
    """Refuse charging voltages that do not charge this bank.

    Parameters
    ----------
    controller : darkspell.study.arrays.Controller
    bank : darkspell.study.bank.Bank
    cells : int
        In series.

    Raises
    ------
    Faults
    """
    absorption, rest, key = controller.absorption_voltage_v, controller.float_voltage_v, ".controller"
    faults = []
    full, usual = (constant("bank", bank.chemistry, name) for name in ("ocv_v_cell", "absorption_v_cell"))
    full, usual = full[-1] * cells, usual * cells
    most = usual * (1.0 + CHARGING_ABOVE)
    if absorption is not None and not full < absorption <= most and abs(absorption - usual) > 0.01:
        text = f"{absorption:g} V does not charge {bank.chemistry} of this voltage"
        cure = f"give {usual:.2f} V or so: more than a full bank at rest has ({full:.2f} V), {most:.2f} V at most"
        faults.append((f"{key}.absorption_voltage_v", f"{text}; {cure}"))
    if rest is not None and bank.absorption_h is None:
        faults.append((f"{key}.float_voltage_v", "has no effect without bank.absorption_h [h]; add it"))
    absorption = usual if absorption is None else absorption
    if rest is not None and not bank.cutoff_voltage_v < rest <= absorption:
        text = (
            f"{rest:g} V is not between the cut-off ({bank.cutoff_voltage_v:g} V) and the charging voltage "
        )
        faults.append((f"{key}.float_voltage_v", f"{text}({absorption:.2f} V); lower it"))
    if faults:
        raise Faults(*faults)
