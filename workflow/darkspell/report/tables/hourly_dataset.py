"""State of charge by the hour as a labelled dataset: percentiles over members, and a few members whole."""

import numpy as np

PERCENTS = (5, 10, 25, 50, 75, 90, 95)


def hourly_dataset(result, calendar, study):
    """Dataset of hourly.nc.

    Parameters
    ----------
    result : darkspell.simulation.run.Simulation
    calendar : darkspell.core.calendar.Calendar
    study : darkspell.study.Study

    Returns
    -------
    xarray.Dataset
        State of charge [%], true and reported by the study's first shunt; of the members kept whole also the power
        that the arrays offer and that the loads ask for [W].
    """
    import xarray as xr

    hours = np.arange(calendar.month_of_hour.size)
    variables = {}
    for kind, histogram, shown in (
        ("true", result.soc_true, result.shown_true),
        ("reported", result.soc_reported, result.shown_reported),
    ):
        words = "in the bank" if kind == "true" else f"on the monitor {study.monitor}"
        attributes = {"units": "%", "long_name": f"state of charge {words}, end of hour"}
        percentiles = 100 * histogram.percentiles(PERCENTS)
        variables[f"soc_{kind}"] = (("hour", "percentile"), percentiles, attributes)
        variables[f"soc_{kind}_member"] = (("shown", "hour"), 100 * shown.T, attributes)
    for name, power, words in (
        ("sun_member", result.shown_sun, "power that the arrays offer at the bank, mean of the hour"),
        ("load_member", result.shown_load, "power that the loads ask for, mean of the hour"),
    ):
        variables[name] = (("shown", "hour"), power.T, {"units": "W", "long_name": words})
    return xr.Dataset(
        variables,
        coords={
            "hour": ("hour", hours, {"long_name": "hour of the study year, by its beginning"}),
            "percentile": ("percentile", np.array(PERCENTS), {"units": "%"}),
            "shown": ("shown", np.arange(result.shown_true.shape[1]), {"long_name": "member"}),
            "month": ("hour", calendar.month_of_hour + 1, {"long_name": "calendar month"}),
            "day": ("hour", calendar.day_of_hour, {"long_name": "day of the study year"}),
        },
        attrs={
            "title": study.document.title,
            "Conventions": "CF-1.11",
            "time_base": "local standard time, 365 days",
            "members": study.engine.members,
        },
    )


def write_dataset(path, dataset):
    """Write a dataset whole as compressed NetCDF: charge in steps of 0.01 %, power in steps of 0.1 W.

    Parameters
    ----------
    path : path-like
    dataset : xarray.Dataset
        Variables in % or W.
    """
    from darkspell.core.atomic_files import replacing

    packed = {
        "%": {"dtype": "int16", "scale_factor": 0.01, "_FillValue": -1, "zlib": True, "complevel": 1},
        "W": {"dtype": "int32", "scale_factor": 0.1, "_FillValue": -1, "zlib": True, "complevel": 1},
    }
    encoding = {name: packed[values.attrs["units"]] for name, values in dataset.data_vars.items()}
    with replacing(path) as temporary:
        dataset.to_netcdf(temporary, engine="netcdf4", encoding=encoding)
