"""Labelled hourly series: energy flows of single years, and percentiles of the state of charge over all years."""

import numpy as np

from darkspell.bank.causes import CAUSES, hourly_causes
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS

PERCENTS = (5, 10, 25, 50, 75, 90, 95)
YEAR = 2001  # no leap day is within the twelve months from any month of it
VARIABLES = {
    "sun": ("W m-2", "global horizontal irradiance, mean of the day"),
    "array": ("W", "array power taken"),
    "array_spilled": ("W", "array power offered and not taken"),
    "chargers": ("W", "power taken from the other chargers, the generator apart"),
    "generator": ("W", "power taken from the generator"),
    "load": ("W", "load asked for, all tiers, without the self-consumption of devices"),
    "unserved": ("W", "load asked for and not served"),
    "current": ("A", "current at the bank's terminals, charging positive"),
    "voltage": ("V", "voltage at the bank's terminals"),
    "state_of_charge": ("%", "charge in the bank over its present capacity, at the end of the hour"),
    "temp_air": ("degC", "air temperature"),
    "temp_bank": ("degC", "temperature of the bank"),
    "cause": ("1", "cause of an hour with unserved essential load"),
}
STANDARD = {
    "sun": "surface_downwelling_shortwave_flux_in_air",
    "temp_air": "air_temperature",
}  # CF standard names
AT_END = "state_of_charge"  # all others but the cause are means over the hour
FLAGS = {
    "flag_values": np.arange(len(CAUSES) + 1, dtype=np.int8),
    "flag_meanings": " ".join(("none", *CAUSES)),
}
ROLES = ("typical", "worst")
# Steps of the stored integers by unit; the least integer of each type means no value.
STEPS = {
    "%": ("int16", 0.01), "W": ("int32", 0.1), "A": ("int32", 0.001), "V": ("int32", 0.001),
    "degC": ("int16", 0.01), "W m-2": ("int16", 0.1),
}  # fmt: skip


def typical_and_worst(members):
    """The years in the middle and at the end of a ranking by unserved essential energy, then by greatest depth.

    Parameters
    ----------
    members : dict of float arrays [members]
        ``eue_essential_kwh`` and ``max_depth_true_pct`` among them.

    Returns
    -------
    tuple of int
        Positions of the typical year (the lower of two in the middle), and of the worst.
    """
    ranking = np.lexsort((members["max_depth_true_pct"], members["eue_essential_kwh"]))
    return int(ranking[(ranking.size - 1) // 2]), int(ranking[-1])


def member_dataset(system, numbers):
    """Hourly series of some members; they are computed anew, to the same bits.

    Parameters
    ----------
    system : darkspell.simulation.system.System
    numbers : int array [1 to 64]
        Members.

    Returns
    -------
    xarray.Dataset
        Dimensions ``member`` and ``time``, variables as `VARIABLES`. Times are the beginnings of hours in local
        standard time; the number of the year has no meaning.
    """
    import xarray as xr  # takes a quarter of a second, and most callers of the API want tables

    series = _series(system, np.asarray(numbers))
    return xr.Dataset(
        {name: (("member", "time"), series[name], _attributes(name)) for name in VARIABLES},
        coords={
            "member": ("member", np.asarray(numbers), {"long_name": "simulated year"}),
            "time": time_axis(system.calendar),
        },
        attrs=_about(system.study),
    )


def hourly_dataset(result, system):
    """Dataset of hourly.nc.

    Parameters
    ----------
    result : darkspell.simulation.run.Simulation
    system : darkspell.simulation.system.System

    Returns
    -------
    xarray.Dataset
        The typical and the worst member as of `member_dataset`, each with its ``role``; percentiles of the state
        of charge [%], true and reported by the study's first shunt; and of the first members (``shown``) the state
        of charge [%] and the power that the arrays offer and that the loads ask for [W].
    """
    study, dims = system.study, ("time", "percentile")
    chosen = system.members[list(typical_and_worst(result.members))]
    dataset = member_dataset(system, chosen).assign_coords(
        role=("member", list(ROLES)),
        percentile=("percentile", np.array(PERCENTS), {"units": "%"}),
        shown=("shown", np.arange(result.shown_true.shape[1]), {"long_name": "simulated year"}),
        month=("time", system.calendar.month_of_hour + 1, {"long_name": "calendar month"}),
    )
    for kind, histogram, shown in (
        ("true", result.soc_true, result.shown_true),
        ("reported", result.soc_reported, result.shown_reported),
    ):
        words = "in the bank" if kind == "true" else f"on the monitor {study.monitor}"
        attributes = {"units": "%", "long_name": f"state of charge {words}, end of hour"}
        dataset[f"soc_{kind}"] = (dims, 100 * histogram.percentiles(PERCENTS), attributes)
        dataset[f"soc_{kind}_member"] = (("shown", "time"), 100 * shown.T, attributes)
    for name, power, words in (
        ("sun_member", result.shown_sun, "power that the arrays offer at the bank, mean of the hour"),
        ("load_member", result.shown_load, "power that the loads ask for, mean of the hour"),
    ):
        dataset[name] = (("shown", "time"), power.T, {"units": "W", "long_name": words})
    dataset.attrs["members"] = study.engine.members
    return dataset


def time_axis(calendar):
    """Beginnings of the hours of a study year as a coordinate of xarray.

    Parameters
    ----------
    calendar : darkspell.core.calendar.Calendar

    Returns
    -------
    tuple
        Dimension, datetime64 values [8760] and attributes.
    """
    start = np.datetime64(f"{YEAR}-{calendar.month_of_hour[0] + 1:02d}-01T00")
    hours = (start + np.arange(HOURS).astype("timedelta64[h]")).astype("datetime64[ns]")
    words = "beginning of the hour, local standard time"
    return "time", hours, {"standard_name": "time", "long_name": words, "axis": "T"}


def write_dataset(path, dataset):
    """Write a dataset whole as compressed NetCDF, in the steps of `STEPS`.

    Parameters
    ----------
    path : path-like
    dataset : xarray.Dataset
        Each variable has one of the units of `STEPS`, or is a flag.
    """
    from darkspell.core.atomic_files import replacing

    encoding = {name: _packed(values) for name, values in dataset.data_vars.items()}
    first = np.datetime_as_string(dataset["time"].values[0], "h")
    encoding["time"] = {"units": f"hours since {first.replace('T', ' ')}:00", "dtype": "int32"}
    with replacing(path) as temporary:
        dataset.to_netcdf(temporary, engine="netcdf4", encoding=encoding)


def _packed(values):
    compressed = {"zlib": True, "complevel": 1}
    if "flag_values" in values.attrs:
        return {"dtype": "int8", "_FillValue": None, **compressed}
    kind, step = STEPS[values.attrs["units"]]
    return {"dtype": kind, "scale_factor": step, "_FillValue": np.iinfo(kind).min, **compressed}


def _attributes(name):
    unit, words = VARIABLES[name]
    found = {"units": unit, "long_name": words} | (
        {"standard_name": STANDARD[name]} if name in STANDARD else {}
    )
    if name == "cause":
        return found | FLAGS
    return found if name == AT_END else found | {"cell_methods": "time: mean"}


def _about(study):
    return {
        "Conventions": "CF-1.11",
        "title": study.document.title,
        "utc_offset_h": float(study.site.utc_offset_h),
        "comment": "365 days in local standard time; the number of the year has no meaning",
    }


def _series(system, numbers):
    """Arrays of `VARIABLES` by name; float32 [members, 8760], the cause int8."""
    lanes = numbers[np.minimum(np.arange(LANES), numbers.size - 1)]
    traces = system.traces(lanes, system.parameter_draw[np.searchsorted(system.members, lanes)])
    bank = system.bank(traces)
    found = {
        "sun": np.repeat(traces.clearness * system.sky.daily_extra / 24.0, 24, axis=1).T,
        "array": bank.array_used,
        "array_spilled": bank.spilled,
        "chargers": bank.aux_used,
        "generator": bank.engine_used,
        "load": traces.essential + traces.deferrable + traces.always,
        "unserved": bank.unserved_essential + bank.unserved_deferrable,
        "current": bank.current,
        "voltage": bank.voltage,
        "state_of_charge": 100.0 * bank.soc,
        "temp_air": traces.temp_air,
        "temp_bank": traces.temp_bank,
    }
    series = {name: values[:, : numbers.size].T.astype(np.float32) for name, values in found.items()}
    causes = hourly_causes(bank, traces, system.per_ah_factors(), system.chemistry)
    return series | {"cause": causes[:, : numbers.size].T}
