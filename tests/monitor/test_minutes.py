"""The counter on hourly means against a bank and a counter that live minute by minute, written here apart."""

from types import SimpleNamespace

import numpy as np
import pytest
from numba import njit

from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.monitor.settings import ShuntSettings
from darkspell.monitor.shunt import shunt_block

F = np.float32
AH, TAPER = 100.0, 1.5  # a 100 Ah flooded bank; time constant of acceptance as in its table [h]
REST, SET = (
    (11.91, 12.15, 12.36, 12.57, 12.66),
    14.7,
)  # rested volts by quarter, close to its table; set point


@njit
def live_by_minutes(sun, load, temp, gust, gain, offset, drift, dead, counted, full_volts, tail, dwell):
    """One year of minutes: the bank, its terminal voltage, and a counter; hourly rows for the other side."""
    hours = sun.size
    rows = np.zeros((6, hours))
    soc, deficit, held = 0.9, 0.1, 0
    for hour in range(hours):
        begin, offer_sum, amps_sum = soc, 0.0, 0.0
        accept = min(0.2 * 100.0 / 1.15, (1.0 - soc) * 100.0 * (1.0 - np.exp(-1.0 / 1.5)))
        for minute in range(60):
            now = sun[hour] * max(1.0 + 0.25 * gust[hour * 12 + minute // 5], 0.0)
            spare = now - load[hour]
            could = min(0.2 * 100.0 / 1.15, (1.0 - soc) * 100.0 / 1.5)
            amps = min(spare, could) if spare > 0 else spare
            place = soc * 4.0
            left = min(int(place), 3)
            rest = REST[left] + (place - left) * (REST[left + 1] - REST[left])
            volts = rest + (SET - rest) * min(max(spare, 0.0) / max(could, 1e-9), 1.0)
            knee = max(soc - 0.7, 0.0)
            soc += amps / 6000.0 * ((0.98 - 3.0 * knee * knee) if amps > 0 else 1.0)
            soc = min(max(soc, 0.2), 1.0)
            shown = amps * (1.0 + gain) + offset + drift * (temp[hour] - 25.0)
            if abs(shown) < dead:
                shown = 0.0
            deficit -= shown / 6000.0 * (counted if shown > 0 else 1.0)
            deficit = min(max(deficit, 0.0), 1.0)
            held = held + 1 if spare > 0 and volts >= full_volts and shown <= tail else 0
            if held >= dwell:
                deficit = 0.0
            offer_sum += max(spare, 0.0)
            amps_sum += amps
        rows[0, hour], rows[1, hour], rows[2, hour] = amps_sum / 60, offer_sum / 60, accept
        rows[3, hour], rows[4, hour], rows[5, hour] = soc, 1.0 - deficit, begin
    return rows


@pytest.mark.parametrize(
    ("name", "gain", "offset", "drift", "dead", "counted", "tail"),
    [
        ("as good as it gets", 0.0, 0.0, 0.0, 0.0, 0.92, 2.0),
        ("offset that drifts with the temperature", 0.003, 0.02, 0.002, 0.0, 0.92, 2.0),
        ("blind to small currents", 0.0, 0.02, 0.0, 0.6, 0.96, 2.0),
        ("reset too early on a weak-sun afternoon", 0.0, -0.02, 0.0, 0.0, 0.9, 5.0),
    ],
)
def test_a_year_of_minutes(name, gain, offset, drift, dead, counted, tail):
    rng = np.random.default_rng(11)
    hour, day = np.arange(8760) % 24, np.arange(8760) // 24
    season = 0.5 - 0.45 * np.cos(2 * np.pi * (day - 182) / 365)  # the dull half in the middle of the year
    clear = np.repeat(rng.beta(1.2, 1.2, 365), 24)
    shape = np.clip(np.sin(np.pi * (hour - 6) / 12), 0, None)
    sun = 18.0 * (1.1 - season) * clear * shape
    load = np.where((hour >= 18) & (hour < 23), 2.2, 0.45)
    temp = 12.0 - 14.0 * np.cos(2 * np.pi * (day - 0) / 365)
    gust = rng.normal(0, 1, 8760 * 12)
    given = (gain, offset, drift, dead, counted)
    rows = live_by_minutes(sun, load, temp, gust, *given, 14.4, tail, 5)
    block = {"current": rows[0], "offer": rows[1], "accept": rows[2], "soc": rows[3]}
    bank = SimpleNamespace(
        **{k: np.repeat(v[:, None], 8, 1).astype(F) for k, v in block.items()}, capacity=AH
    )
    errors = tuple(np.full(8, x, F) for x in (gain, offset, drift))
    settings = ShuntSettings("panel", AH, counted, 14.4, tail, 5.0, least_counted=dead)
    temps = np.repeat(temp[:, None], 8, 1).astype(F)
    flooded = chemistry_numbers("flooded", 12.0)._replace(setpoint_per_k=F(0.0))
    read = shunt_block(
        bank, temps, flooded, settings, np.arange(8), 1, errors=errors, warm_up_hours=0
    ).reading
    apart = np.abs(100 * (read - rows[4][:, None]))
    # The target of the issue: within 1 point of reading at the 95th percentile of the year's hours
    print(f"{name}: {np.percentile(apart, 95):.2f} points")
    assert np.percentile(apart, 95) < 1.0
    # The years are no still water: the reading strays from the truth by points, and the bank is worked
    assert rows[3].min() < 0.6 and (rows[3] > 0.97).mean() > 0.02
    if offset:
        assert np.percentile(np.abs(100 * (rows[4] - rows[3])), 95) > 1.0
