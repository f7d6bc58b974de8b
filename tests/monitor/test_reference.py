"""The counter's kernels against the plain NumPy reference, everything switched on."""

from types import SimpleNamespace

import numpy as np
import pytest

from darkspell.chemistry.numbers import chemistry_numbers
from darkspell.core.constants import CHEMISTRIES
from darkspell.core.keyed_random import stream_key
from darkspell.monitor.reference import count, step_places
from darkspell.monitor.settings import ShuntSettings
from darkspell.monitor.shunt import Counted, counters_block

LANES, SEED, AH = 6, 3, 100.0


def year(c, rng):
    """A year of hours of a bank that is cycled, charged full now and then, cold and warm."""
    hour = np.arange(8760)
    sun = np.clip(np.sin(np.pi * ((hour % 24) - 6) / 12), 0, None)
    offer = sun[:, None] * rng.gamma(2.0, 5.0, (365, LANES)).repeat(24, 0)
    temp = 8.0 - 14.0 * np.cos(2 * np.pi * hour / 8760)[:, None] + rng.normal(0, 2, (8760, LANES))
    load = rng.uniform(0.3, 2.5, (8760, LANES))
    soc, current, accept = (np.zeros((8760, LANES)) for _ in range(3))
    charge = np.full(LANES, 0.9)
    most, taper = float(c.accept_max) * AH, (1.0 - np.exp(-1.0 / float(c.taper_h))) * AH
    for h in range(8760):
        cold = np.clip((temp[h] - float(c.cold_zero)) * float(c.cold_slope), 0, 1)
        accept[h] = np.minimum(most * cold, taper * (1.0 - charge) if (cold > 0).any() else 0.0)
        accept[h] *= rng.choice([1.0, 0.6], p=[0.8, 0.2])  # after the absorption time, now and then
        current[h] = np.where(offer[h] > 0, np.minimum(offer[h], accept[h]), -load[h])
        current[h] = np.where(charge < 0.25, np.maximum(current[h], 0.0), current[h])
        charge = np.clip(charge + current[h] / AH, 0.0, 1.0)
        soc[h] = charge
    return tuple(part.astype(np.float32) for part in (current, offer, accept, soc, temp))


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_the_kernels_are_the_reference(chemistry):
    """Dead band, rating, exponent, drift, float drop, load past the shunt, dwell of three steps."""
    rng = np.random.default_rng(5)
    c = chemistry_numbers(chemistry, 12.0)
    current, offer, accept, soc, temp = year(c, rng)
    through = current + rng.uniform(0.0, 0.3, current.shape).astype(np.float32)
    errors = (
        rng.normal(0, 0.01, LANES).astype(np.float32), rng.normal(0, 0.05, LANES).astype(np.float32),
        rng.normal(0, 0.002, LANES).astype(np.float32),
    )  # fmt: skip
    full = float(c.setpoint) - 0.25
    settings = ShuntSettings(
        "panel", 110.0, 0.97, full, 3.0, 15.0, least_counted=0.4, rating=9.0, rate_exponent=1.12
    )
    drop = 0.2
    bank = SimpleNamespace(current=current, offer=offer, accept=accept, soc=soc, capacity=AH, float_drop=drop)
    members = np.arange(LANES)
    (block,) = counters_block(
        bank, temp, c, [Counted(settings, [errors], past=True)], members, SEED, seen=through, warm_up_hours=0
    )
    places = step_places(stream_key(SEED, "monitor/flicker"), 8760, members)
    wide = (part.astype(float) for part in (current, through, offer, accept, soc, temp))
    reading, resets, premature = count(*wide, places, settings, errors, (AH, drop), c)
    away = np.abs(block.reading - reading)
    # Single precision; the discharge factor within 0.7 % (`rate_share`, four times). The kernels look the window's
    # edges up in a table that is some 0.008 of 1024 places off: that can turn a step over.
    assert np.quantile(away, 0.999) < 2e-3
    assert (
        np.abs(block.counts[0, 0] - resets).max() <= 1 and np.abs(block.counts[0, 1] - premature).max() <= 1
    )
    assert 5 < resets.mean() < 360 and reading.min() < 0.75
