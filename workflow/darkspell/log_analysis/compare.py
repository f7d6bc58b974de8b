"""Compare a log with a study: everything from the file to the findings; the command writes them out."""

from dataclasses import dataclass, replace

import numpy as np

from darkspell.climate.itinerary import by_place, parts_of
from darkspell.core.constants import constant
from darkspell.log_analysis.alignment import aligned_evidence
from darkspell.log_analysis.classification import verdicts
from darkspell.log_analysis.clock import clock_note, weather_clock_notes
from darkspell.log_analysis.consistency import misfits, reversed_sign
from darkspell.log_analysis.design_bands import DesignBands, design_bands, ordinary_systems
from darkspell.log_analysis.expectation import bank_bounds, charging_level, expected_of
from darkspell.log_analysis.faulty_columns import limit_of, resolution_of, without_stuck
from darkspell.log_analysis.hourly_means import LogHours, hours_of
from darkspell.log_analysis.log_simulator import LogSimulator
from darkspell.log_analysis.overview import HOURLY_S, Overview, overview
from darkspell.log_analysis.plausibility import fits_nominal, plausible
from darkspell.log_analysis.quantities import Evidence, Hours
from darkspell.log_analysis.reader import read_log
from darkspell.log_analysis.weather import KnownWeather, known_weather
from darkspell.weather.daily_clearness import daily_clearness

MEMBERS = 256
COARSE = 1800.0  # s


@dataclass(frozen=True)
class Comparison:
    """What a log says about a study.

    Parameters
    ----------
    name : str
        Of the log's file.
    hours : LogHours
    seen : Overview
        What the log shows without inference.
    bands : DesignBands
    inferred : bool
        Whether causes were asked for: a log of voltage alone, or of less than three days, carries none.
    misfit : list of str
        Features that no fitted system returns; causes are then not stated.
    reversed : str
        The other value of ``log.charging``, where the current flows in by night and out by day; else empty.
    verdicts : list of darkspell.log_analysis.classification.Verdict
    evidence : Evidence or None
    weather : KnownWeather
    clearness : float
        Mean clearness of the log's days over the climate's [-]; NaN where not known.
    clearness_rank : float
        Share of years of the climate that are duller over the same dates [-]; NaN where not known.
    notes : list of str
        What the reader found, did and set aside.
    """

    name: str
    hours: LogHours
    seen: Overview
    bands: DesignBands
    inferred: bool
    misfit: list
    reversed: str
    verdicts: list
    evidence: Evidence | None
    weather: KnownWeather
    clearness: float
    clearness_rank: float
    notes: list


def compare_log(study, system, path, seed=None, begun=None):
    """Compare a log with a study.

    Parameters
    ----------
    study : darkspell.study.Study
    system : darkspell.simulation.system.System
    path : path-like
        The log, a CSV.
    seed : int, optional
        Of the comparison's draws; the study's if not given.
    begun : callable, optional
        Called without arguments once the log is read and the long part begins.

    Returns
    -------
    Comparison

    Raises
    ------
    darkspell.core.errors.StudyError
        If the log cannot be read.
    """
    rows = read_log(path, study.log, study.site.utc_offset_h)
    seed = study.engine.seed if seed is None else seed
    hours = log_hours(study, system, rows)
    weather = known_weather(study, system.calendar, hours[1].dates)
    if begun is not None:
        begun()
    return compare_rows(study, system, *hours, weather, seed)


def log_hours(study, system, rows):
    """Rows with impossible values set aside, and their hours; (`Rows`, `LogHours`).

    Parameters
    ----------
    study : Study
    system : System
    rows : Rows
    """
    nominal = study.system.nominal_voltage_v
    if "voltage" in rows.values:
        fits_nominal(rows.name, rows.values["voltage"], nominal, study.log.voltage_unit)
    values, aside = plausible(rows.values, nominal, system.capacity)
    values, still = without_stuck(rows.seconds, values)
    limit = limit_of(values["current"]) if "current" in values else np.nan
    if np.isfinite(limit):
        values = {**values, "current": np.where(values["current"] >= limit, np.nan, values["current"])}
        still.append(
            f"The current often stops at its largest value, {limit:.4g} A. That is taken for the logger's limit: the "
            "current is unknown there, and no balance of charge is drawn. A wrong sign of log.charging does the same."
        )
    rows = replace(rows, values=values, notes=[*rows.notes, *aside, *still])
    usual = bank_bounds(system)["resting"]  # turns a power into a current
    charging = charging_level(study) * nominal
    hours = hours_of(rows, system.calendar, usual, study.monitors[study.monitor].capacity_set_ah, charging)
    step = resolution_of(values["current"]) if "current" in values else 0.0
    return rows, replace(hours, clipped=bool(np.isfinite(limit)), resolution=step)


def compare_rows(study, system, rows, hours, weather, seed):
    """Compare rows that were read; `Comparison`. Parameters as `compare_log` makes them."""
    shunt, log = study.monitors[study.monitor], hours.log
    expected = expected_of(system, log.hours, weather, seed)
    dark = expected.envelope <= 0.0
    seen = overview(
        rows, hours, dark, float(system.chemistry.cut_off), shunt.full_voltage_v, study.bank.chemistry,
        study.system.nominal_voltage_v,
    )  # fmt: skip
    simulator = LogSimulator(system, log.hours, weather.clearness, seed)
    own = np.random.default_rng([seed, 29])
    as_designed = ordinary_systems(simulator.count, shunt.offset_ma * 1e-3, own)
    courses = constant("log_analysis", "band_course_sd")
    bands = design_bands(hours, simulator.lanes(as_designed, own, courses), study.system.nominal_voltage_v)
    found, out, misfit, turned = None, [], [], ""
    inferred = log.has_current and not hours.short
    if inferred:
        rng = np.random.default_rng([seed, 17])
        found = aligned_evidence(
            of_known_meaning(
                evidence_hours(hours, seen.step_s, expected, shunt.offset_ma * 1e-3), rows, seen.step_s
            ),
            expected,
            rng,
        )
        out = verdicts(found, shunt.offset_ma * 1e-3)
        misfit = misfits(simulator, log, expected, found, rng)
        if reversed_sign(log, expected):
            turned = "positive" if study.log.charging == "negative" else "negative"
    rank, ratio = clearness_rank(system, log.hours, weather.clearness)
    late = weather_clock_notes(hours.dates, found.clock) if found else []
    notes = [*rows.notes, *hours.events, *(late or clock_note(log, expected))]
    return Comparison(
        rows.name, hours, seen, bands, inferred, misfit, turned, out, found, weather, ratio, rank, notes
    )


def evidence_hours(hours, step_s, expected, zero_sd):
    """Hours of a log, whose rows are `step_s` seconds apart, as the evidence takes them.

    Parameters
    ----------
    hours : darkspell.log_analysis.hourly_means.LogHours
    step_s : float
    expected : darkspell.log_analysis.quantities.Expected
    zero_sd : float
        Ordinary error of a current sensor at zero, standard deviation [A].
    """
    log, shown = hours.log, 0.0
    if hours.charge_current is not None:
        dark = hours.charge_current[expected.envelope <= 0.0]
        shown = float(np.nanmedian(dark)) if np.isfinite(dark).any() else 0.0
    return Hours(
        log.current.astype(float), log.voltage.astype(float), hours.soc, hours.current_sd,
        hours.measured_current, step_s >= COARSE, hours.load_current, hours.charge_current, hours.clipped,
        hours.resolution, hours.assumed_voltage, shown, zero_sd,
    )  # fmt: skip


def of_known_meaning(hours, rows, step_s):
    """Hours of the evidence, with what is known of the meaning of the rows.

    Means of whole hours by a known moment miss nothing between rows, and are those of the weather's hours.

    Parameters
    ----------
    hours : darkspell.log_analysis.quantities.Hours
    rows : darkspell.log_analysis.reader.Rows
    step_s : float
        Usual time between rows [s].
    """
    whole = hours.coarse and rows.kind == "means" and rows.moment_known and step_s <= HOURLY_S
    return replace(
        hours,
        kind=rows.kind,
        moment_known=rows.moment_known,
        coarse=hours.coarse and not whole,
        hourly_means=whole,
        minute=float(np.median(rows.seconds % 3600.0)) / 60.0,
    )


def clearness_rank(system, hours, known):
    """Share of the climate's years that are duller than the known days, and their ratio to its mean.

    Parameters
    ----------
    system : System
    hours : int64 [H]
        Hours of the study year that the log covers.
    known : float64 [365] or None
        Clearness of the days [-]; NaN where it is not known.
    """
    if known is None:
        return np.nan, np.nan
    members, days = np.arange(MEMBERS), np.unique(hours // 24)
    days = days[np.isfinite(known[days])]
    climate, calendar, seed = system.climate, system.calendar, system.study.engine.seed
    drawn = [daily_clearness(one, calendar, members, members, seed) for one in parts_of(climate)]
    usual = by_place(drawn, climate, calendar)[:, days].mean(1)
    own = known[days].mean()
    return float((usual < own).mean()), float(own / usual.mean())
