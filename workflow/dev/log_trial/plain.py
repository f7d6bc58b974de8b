"""A study as the plain numbers that the second simulator takes."""

from darkspell.core.constants import constant
from darkspell.simulation.system import present_capacity
from dev.second_simulator.system import Appliance, PlainSystem, Surface


def plain_system(study, climate):
    """Numbers of a study for the second simulator; `dev.second_simulator.system.PlainSystem`.

    Parameters
    ----------
    study : darkspell.study.Study
    climate : darkspell.climate.SiteClimate
        For its twelve mean clearness indices and temperatures.
    """
    kind, site, shunt = study.bank.chemistry, study.site, study.monitors[study.monitor]
    cells = study.system.nominal_voltage_v / 12.0 * constant("bank", kind, "cells_per_12v")
    bank, controller = study.bank, study.controller

    def of(name):
        return constant("bank", kind, name)

    return PlainSystem(
        latitude=site.latitude_deg,
        longitude=site.longitude_deg,
        altitude=site.altitude_m,
        utc_offset=site.utc_offset_h,
        clearness=tuple(climate.monthly_kt()),
        temperature=tuple(climate.temp_air_mean),
        surfaces=tuple(
            Surface(a.power_wp, a.tilt_deg, a.azimuth_deg, a.loss_pct / 100.0) for a in study.arrays.values()
        ),
        appliances=tuple(_appliance(load) for load in study.loads.values()),
        voltage=float(study.system.nominal_voltage_v),
        chemistry="lfp" if of("coulombic_efficiency_pct") > 98.0 else "lead",
        capacity=present_capacity(study, bank.capacity_ah),
        pwm=controller.kind == "pwm",
        efficiency=controller.efficiency_pct / 100.0,
        current_limit=controller.current_limit_a or 1e6,
        standing=study.self_consumption_w,
        absorption=of("absorption_v_cell") * cells,
        float_voltage=of("float_v_cell") * cells,
        cut_off=of("cutoff_v_cell") * cells if bank.cutoff_voltage_v is None else bank.cutoff_voltage_v,
        setpoint_per_k=of("setpoint_v_per_k_cell") * cells,
        indoor=(bank.indoor_min_c, bank.indoor_max_c) if bank.location == "indoors" else None,
        shed=study.deferrable.shed_below_soc_pct / 100.0,
        resume=study.deferrable.resume_above_soc_pct / 100.0,
        monitor=dict(
            capacity=shunt.capacity_set_ah,
            efficiency=shunt.ah_efficiency_set_pct / 100.0,
            full_voltage=shunt.full_voltage_v,
            tail=shunt.full_current_pct / 100.0 * shunt.capacity_set_ah,
            dwell=shunt.full_dwell_min,
            offset_sd=shunt.offset_ma * 1e-3,
        ),
        albedo=site.albedo,
    )


def _appliance(load):
    begin, end = (
        int(h) + int(m) / 60.0 for h, m in (part.split(":") for part in load.window or ("00:00", "24:00"))
    )
    return Appliance(
        watts=load.watts,
        count=load.count,
        hours=load.hours_per_day,
        window=(begin, end),
        months=tuple(load.months or range(1, 13)),
        chance=load.chance_of_use_pct / 100.0,
        spread=load.spread_pct / 100.0,
        deferrable=load.tier == "deferrable",
        past_shunt=load.bypasses_shunt,
    )
