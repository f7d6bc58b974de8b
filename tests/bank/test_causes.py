"""Why load is not served: systems made to fail in one way each."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.bank.bank_results import run_block
from darkspell.bank.causes import CAUSE_KEYS, main_cause, shortfall_causes
from darkspell.bank.optional_features import NEVER, Extras
from darkspell.bank.rows import LANES
from darkspell.bank.step_values import Controls
from darkspell.chemistry.bank_draws import known_bank
from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.calendar import Calendar
from darkspell.statistics.reliability import LOSS_FLOOR

F, WAITS = np.float32, "unserved_reconnection_h"
HOUR = np.arange(8760) % 24
SUN = np.where((HOUR > 8) & (HOUR < 16), 1.0, 0.0)
EVENING = np.where((HOUR > 17) & (HOUR < 23), 1.0, 0.0)


def run(chemistry="lfp", array_w=300.0, load_w=15.0, peak_w=0.0, temp=20.0, limit_a=60.0, cable=0.0, extras=None,
        weeks=None, more=(), charge_until=None):  # fmt: skip
    """Causes of a year of a 100 Ah, 12 V bank, and its outputs; `weeks` is how many of every ten have sun."""
    sun = SUN * array_w * (np.arange(8760) // 168 % 10 < (10 if weeks is None else weeks))
    rows = dict(
        mpp=sun, pwm=0 * sun, temp_bank=np.full(8760, temp), essential=EVENING * load_w, deferrable=0 * sun,
        peak=EVENING * max(load_w, peak_w), aux=0 * sun, always=0 * sun, heat=0 * sun,
    )  # fmt: skip
    series = {name: np.repeat(row[:, None], LANES, axis=1).astype(F) for name, row in rows.items()}
    c = chemistry_numbers(chemistry, 12.0, charge_until=charge_until)
    factors = tuple(
        map(F, (0.01, 0.0, limit_a / 100, 0.01, 0.0, cable * 100))
    )  # as a system has them: one kernel
    bank = run_block((*series.values(), known_bank(LANES), *more), factors, Controls(F(0), F(0), extras), c)
    return shortfall_causes(bank, SimpleNamespace(**series), factors, c, Calendar(1)), bank


@pytest.mark.parametrize(
    "cause, given",
    [
        ("depth_limit", dict(array_w=10.0)),
        ("depth_limit", dict(array_w=200.0, weeks=5)),
        (
            "empty",
            dict(chemistry="flooded", array_w=20.0, load_w=120.0),
        ),  # Peukert leaves 20 h capacity and less
        ("voltage", dict(chemistry="agm", peak_w=1500.0, cable=0.005)),
        ("too_cold", dict(temp=-5.0)),
        ("too_hot", dict(temp=52.0, charge_until=50.0)),
        ("charge_current", dict(limit_a=1.0, load_w=30.0)),
    ],
)
def test_a_system_that_fails_in_one_way_is_said_to(cause, given):
    """Depth, rate, voltage, frost and controller: the main cause is the one built in."""
    (members, months), bank = run(**given)
    assert main_cause(members)[0] == cause
    lost = (bank.unserved_essential > LOSS_FLOOR).sum(axis=0)
    assert lost.min() > 0
    waits, monthly_waits = members.pop(WAITS), months.pop(WAITS)
    assert np.array_equal(sum(members.values()), lost)
    assert np.array_equal(sum(months.values()).sum(axis=1), lost)
    assert np.array_equal(monthly_waits.sum(axis=1), waits) and (waits <= lost).all()


def test_waiting_for_reconnection_is_counted_and_laid_to_what_came_before():
    """A starting motor trips an evening; the loads stay off until the charge is back, though the voltage is."""
    (members, _), bank = run("agm", array_w=10.0, peak_w=500.0, cable=0.004)
    lost = (bank.unserved_essential > LOSS_FLOOR).sum(axis=0)
    assert (members[WAITS] > lost / 2).all()
    assert main_cause(members) == ("voltage", pytest.approx(members["unserved_voltage_h"].sum() / lost.sum()))


def test_an_inverter_that_trips_alone_is_the_voltages_fault():
    """Half of the load and all of the peak hang on it: only they are short, in every hour of the evening."""
    extras = Extras(
        *map(F, (0, -1, 0, 0, 24, NEVER, 1, 0, NEVER)),
        inverter_cut_off=F(11.0),
        essential_shed=F(-1),
        essential_resume=F(-1),
    )
    shares = [np.full((8760, LANES), value, F) for value in (0.5, 0.0, 0.01, 1.0)]
    (members, _), bank = run("agm", peak_w=1500.0, cable=0.005, extras=extras, more=shares)
    assert main_cause(members) == ("voltage", 1.0)
    short = bank.unserved_essential[EVENING > 0]
    np.testing.assert_allclose(short, 7.5, rtol=1e-5)


def test_nothing_short_has_no_cause():
    (members, _), _ = run()
    assert main_cause(members) == (None, 0.0)
    assert tuple(members) == CAUSE_KEYS


@pytest.mark.parametrize("window", [(8.0, 20.0), (10.0, 14.0), (22.0, 6.0), (0.0, 24.0)])
def test_a_generator_runs_in_its_hours_only(window):
    """Hours, energy and window: it gives power in every hour that counts, and none outside."""
    begin, end = window
    extras = Extras(*map(F, (200.0, 0.4, 0.9, begin, end, NEVER, 1.0, 0.0, NEVER)))
    _, bank = run("agm", array_w=20.0, load_w=60.0, extras=extras)
    allowed = (begin <= HOUR) & (HOUR < end) if begin < end else (HOUR >= begin) | (HOUR < end)
    assert bank.running.max() == 1.0
    assert bank.running[~allowed].sum() == 0.0 and bank.engine_used[~allowed].sum() == 0.0
    assert np.all(bank.running[bank.engine_used > 0.0] == 1.0)
