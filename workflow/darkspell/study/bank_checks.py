"""What a bank must agree on with its blocks and its levels."""

from darkspell.core.constants import constant
from darkspell.study.base import Faults

TOLERANCE = 0.1  # 12.8 V blocks are called 12 V


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
    faults = [*_cells(bank, nominal), *_strings(bank, nominal), *_capacity(bank), *_reconnection(bank)]
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
        yield missing, f"is missing beside {given}; give both, or neither"
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


def _reconnection(bank):
    back = bank.reconnect_voltage_v
    if back is not None and back <= bank.cutoff_voltage_v:
        text = f"{back:g} V is not above cutoff_voltage_v ({bank.cutoff_voltage_v:g} V)"
        yield "reconnect_voltage_v", f"{text}: loads would switch to and fro; raise it, or lower the cut-off"
