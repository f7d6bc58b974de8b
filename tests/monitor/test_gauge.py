import numpy as np
import pytest

from darkspell.bank.cell_laws import open_circuit
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.monitor.voltage_gauge import gauge_block

F = np.float32


def gauge(volts, chemistry="flooded", nominal=12.0):
    volts = np.atleast_1d(np.asarray(volts, F))
    return gauge_block(volts[:, None], chemistry, nominal)[:, 0]


@pytest.mark.parametrize("nominal", [12.0, 24.0, 48.0])
@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_at_rest_it_is_right(chemistry, nominal):
    c = chemistry_numbers(chemistry, nominal)
    soc = np.linspace(0, 1, 501, dtype=F)
    volts = [open_circuit(s, c) for s in soc]
    # Single precision: five roundings of a voltage (curve, table, difference), times the table's flattest step
    table = (constant("bank", chemistry, name) for name in ("ocv_soc", "ocv_v_cell", "cells_per_12v"))
    knots, cell, cells = (np.asarray(part) for part in table)
    per_volt = (np.diff(knots) / np.diff(cell * cells * nominal / 12.0)).max()
    tolerance = 5 * np.spacing(F(max(volts))) * per_volt
    assert tolerance < 2e-4
    np.testing.assert_allclose(gauge(volts, chemistry, nominal), soc, atol=tolerance)


def test_rested_lead_acid():
    # Tables in wide use: 12.66 / 12.45 / 12.25 / 12.05 V at 100 / 75 / 50 / 25 %
    soc = gauge([12.66, 12.45, 12.25, 12.05])
    # Half the last printed digit is 5 mV, and a volt is 1.25 of full charge
    np.testing.assert_allclose(soc, [1, 0.75, 0.5, 0.25], atol=0.005 * 1.25)


def test_rested_lithium():
    # PyBaMM set Prada2013, V a cell at .1 .2 .4 .5 .7 .8
    soc = gauge(4 * np.array([2.978, 3.169, 3.253, 3.266, 3.274, 3.310]), "lfp")
    # Single precision
    np.testing.assert_allclose(soc, [0.1, 0.2, 0.4, 0.5, 0.7, 0.8], atol=1e-4)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_it_stops_at_empty_and_at_full(chemistry):
    assert gauge([5.0, 16.0], chemistry).tolist() == [0.0, 1.0]


def test_ten_millivolts_cost_more_on_lithium():
    # Rested-voltage tables: 10 mV at 12 V cost 2.5-3.3 times more on LFP than on lead-acid from 40 to 95 %. The
    # curve behind the table in steps of 0.1 % makes it 4.1 (run): its flattest places lie between our knots.
    soc = np.linspace(0.40, 0.95, 111, dtype=F)

    def cost(chemistry):
        c = chemistry_numbers(chemistry, 12.0)
        volts = np.array([open_circuit(s, c) for s in soc])
        return np.abs(gauge(volts + F(0.01), chemistry) - gauge(volts - F(0.01), chemistry)).mean()

    assert 2.5 < cost("lfp") / cost("flooded") < 3.3


def test_a_loaded_bank_reads_low_and_a_charged_one_high():
    c = chemistry_numbers("flooded", 12.0)
    rested = open_circuit(F(0.6), c)
    below, above = gauge([rested - 0.3, rested + 0.3])
    # 0.3 V at 1.25 of full charge a volt, more below 25 % (12.05 V)
    assert 0.6 - below == pytest.approx(0.375, abs=0.02)
    assert above == pytest.approx(0.6 + 0.36, abs=0.02)
