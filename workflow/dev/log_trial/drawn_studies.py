"""Studies drawn at random, so that no constant of log reading can suit a handful of systems."""

import numpy as np

from darkspell.climate import site_climate
from darkspell.core.errors import StudyError
from darkspell.simulation.system import build_system
from darkspell.study import study_from
from darkspell.weather.site_sky import sky_of

CHEMISTRIES, SHARES = ("lfp", "agm", "flooded", "gel"), (0.55, 0.15, 0.2, 0.1)
SUN_HOURS = (
    5.2,
    0.07,
    0.9,
)  # of the dull season that arrays are sized by: at the equator, less a degree, least


def drawn_study(number, seed):
    """One invented system: its site, loads, array, bank and charger; (`Study`, `System`).

    Parameters
    ----------
    number, seed : int
        The same pair always gives the same study.
    """
    for again in range(20):
        rng = np.random.default_rng([seed, number, again, 77])
        try:
            study = study_from(_mapping(rng), f"drawn_{number}")
            return study, build_system(study, site_climate(study, "."), sky_of(study))
        except StudyError:
            continue  # a combination that no study may have
    raise RuntimeError(f"no study {number} of seed {seed} is valid")


def _mapping(rng):
    """A study as its file would hold it; dict."""
    volts = int(rng.choice([12, 24, 48], p=[0.6, 0.3, 0.1]))
    latitude = float(rng.choice([-1.0, 1.0], p=[0.3, 0.7]) * rng.uniform(15.0, 57.0))
    loads = _loads(rng)
    daily = sum(
        one["watts"] * one.get("count", 1) * one["hours_per_day"] * one.get("chance_of_use_pct", 100) / 100.0
        for one in loads.values()
    )
    sun = max(SUN_HOURS[0] - SUN_HOURS[1] * abs(latitude), SUN_HOURS[2])
    watts = daily / sun * rng.uniform(0.8, 3.0)
    chemistry = str(rng.choice(CHEMISTRIES, p=SHARES))
    pwm = bool(rng.random() < 0.2 and volts < 48)
    arrays = {"main": _array(watts, latitude, rng)}
    if rng.random() < 0.25:
        arrays["side"] = _array(0.4 * watts, latitude, rng)
    return dict(
        document=dict(title="An invented system", client="Nobody", prepared_by="Nobody"),
        site=dict(
            name="Drawn at random", latitude_deg=round(latitude, 2),
            longitude_deg=round(float(rng.uniform(-170.0, 170.0)), 2), altitude_m=int(rng.integers(0, 1500)),
        ),
        climate=dict(source="atlas"),
        system=dict(nominal_voltage_v=volts),
        arrays=arrays,
        controller=dict(
            kind="pwm" if pwm else "mppt", current_limit_a=int(np.ceil(1.2 * watts / volts / 5.0)) * 5
        ),
        bank=dict(
            chemistry=chemistry, capacity_ah=max(round(daily / volts * float(rng.uniform(2.0, 7.0))), 20),
            location=str(rng.choice(["indoors", "outdoors"])),
        ),
        loads=loads,
        target=dict(statistic="lolh", at_most=24),
        sizing=dict(array_wp=[100], bank_ah=[100], prices=dict(array_per_wp=1, bank_per_ah=1)),
    )  # fmt: skip


def _array(watts, latitude, rng):
    tilt = float(np.clip(abs(latitude) + rng.uniform(-20.0, 25.0), 5.0, 90.0))
    toward = 180.0 if latitude > 0 else 0.0
    return dict(
        power_wp=max(round(watts), 20), tilt_deg=round(tilt),
        azimuth_deg=round(float((toward + 35.0 * rng.standard_normal()) % 360.0)),
        loss_pct=round(float(rng.uniform(4.0, 14.0))),
    )  # fmt: skip


def _loads(rng):
    """Some of these appliances, in sizes that go together; dict."""
    size = float(np.exp(rng.uniform(np.log(0.5), np.log(4.0))))
    choice = dict(
        lights=dict(
            watts=4.0 * size, count=int(rng.integers(2, 8)), hours_per_day=4, window=["16:00", "23:30"]
        ),
        fridge=dict(watts=45.0 * np.sqrt(size), hours_per_day=float(rng.uniform(5.0, 11.0)), spread_pct=15),
        radio=dict(watts=6.0 * size, hours_per_day=24, spread_pct=5),
        laptop=dict(watts=50.0, hours_per_day=float(rng.uniform(1.0, 5.0)), window=["08:00", "22:00"]),
        pump=dict(watts=90.0 * size, hours_per_day=float(rng.uniform(0.2, 1.0)), window=["06:00", "22:00"]),
        tools=dict(watts=200.0 * size, hours_per_day=0.6, window=["09:00", "18:00"], chance_of_use_pct=50),
        camera=dict(watts=5.0 * size, hours_per_day=10, window=["07:00", "19:00"], spread_pct=5),
        heater=dict(watts=60.0 * size, hours_per_day=1.5, window=["18:00", "07:00"], spread_pct=40),
    )
    names = rng.choice(list(choice), int(rng.integers(2, 7)), replace=False)
    tiers = ("essential", "deferrable")
    out = {str(name): dict(choice[name], tier=tiers[int(rng.random() < 0.25)]) for name in names}
    for one in out.values():
        one["watts"] = round(float(one["watts"]), 1)
        one["hours_per_day"] = round(float(one["hours_per_day"]), 1)
    return out
