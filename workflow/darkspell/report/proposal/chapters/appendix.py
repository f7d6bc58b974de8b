"""The appendix: headline figures, every assumption and constant with its source, the study file, words."""

import json
from math import isfinite, nan

from darkspell.core.constants import CHEMISTRIES, constant
from darkspell.core.messages import N_, _
from darkspell.design.cause_words import CAUSES
from darkspell.report import wording as say
from darkspell.report.assumption_words import meaning, value_words
from darkspell.report.constant_words import constant_words
from darkspell.report.document.language import current
from darkspell.report.document.number_texts import local_number
from darkspell.report.document.tree import Section, Table, Verbatim
from darkspell.report.figures.number_format import MINUS, bounds, within
from darkspell.report.units import is_us, unit_words
from darkspell.statistics.autonomy import HORIZON_DAYS
from darkspell.statistics.registry import HEADLINES as HEADLINES_OF
from darkspell.statistics.registry import QUANTILE_OF_STARTS, QUANTILE_OF_YEARS

HEADLINES = {
    "short_nights": N_("Nights with essential loads dark"),
    "years_with_short_nights": N_("Chance that a coming year has such nights"),
    "lolp": N_("Loss-of-load probability (LOLP): hours with essential load unserved"),
    "lolh": N_("Loss-of-load hours (LOLH)"),
    "lold": N_("Days with essential load unserved (LOLD)"),
    "llp": N_("Energy not delivered over demand (LLP)"),
    "eue_kwh": N_("Expected unserved energy (EUE), all loads"),
    "eue_essential_kwh": N_("Expected unserved energy, essential loads"),
    "events": N_("Times that essential loads go dark"),
    "longest_event_h": N_("Longest such time of a year"),
    "annual_max_depth_true": N_("Depth of discharge exceeded in one year in ten, in the bank"),
    "annual_max_depth_reported": N_("The same on the monitor"),
    "longest_full_charge_interval_days": N_("Longest time between two full charges"),
    "partial_charge_pct": N_("Share of the year in which the last full charge is too long ago for this bank"),
    "equalisations": N_("Times that an equalising charge falls due"),
    "equalised": N_("Equalising charges that array and chargers carry out"),
    "equalising_water_l": N_("Distilled water to top up after equalising charges"),
    "stratified_pct": N_("Share of the year in which an equalising charge is due and not yet done"),
    "generator_h": N_("Hours that the generator runs"),
    "generator_starts": N_("Times that it starts"),
    "generator_kwh": N_("Energy taken from the generator"),
    "fuel_l": N_("Fuel that the generator burns"),
    "critical_lolh": N_("Hours with critical load unserved"),
    "critical_short_nights": N_("Nights with critical loads dark"),
    "critical_eue_kwh": N_("Expected unserved energy, critical loads"),
    "alternator_h": N_("Hours that the engine runs to charge"),
    "equivalent_full_cycles": N_("Equivalent full cycles: charge drawn over rated capacity"),
    "autonomy_dark_days": N_("Days that a full bank lasts without any charge, average of all starts"),
    "autonomy_worst_month_days": N_(
        "Days that a full bank lasts in the month with the fewest, exceeded 9 times in 10"
    ),
    "reading_error_p95_pct": N_("Reading error, exceeded 5 % of the time"),
    "demand_kwh": N_("Energy demand"),
    "array_kwh": N_("Energy taken from the array"),
    "spilled_kwh": N_("Unused solar energy: offered by the array, taken by nothing"),
    "probability_met": N_("Chance that this site meets the target"),
    "main_cause": N_("Share of the main cause in the hours of loss"),
    "unserved_empty_h": N_("Hours lost because the bank is empty at that current and temperature"),
    "unserved_depth_limit_h": N_("Hours lost because the bank is at its depth limit"),
    "unserved_voltage_h": N_("Hours lost because the greatest load pulls the voltage below the cut-off"),
    "unserved_reconnection_h": N_("Of all hours lost, those spent waiting for reconnection"),
    "unserved_too_cold_h": N_("Hours lost because the bank was too cold to charge"),
    "unserved_charge_current_h": N_("Hours lost because bank or controller limited the charge current"),
    "unserved_too_hot_h": N_("Hours lost because the bank was too hot to charge"),
    "unserved_shed_h": N_("Hours lost because essential loads are shed for critical ones"),
}
KINDS = ("place", "simulation", "year")
NAMED = ("probability_met", "main_cause")  # whose labels say what they are
SOURCES = ("atlas", "monthly", "typical_year", "measured", "satellite")
COMPARED = (
    "monthly",
    "measured",
)  # better sources, of which the uncertainty figure says what they would bring
MOUNTINGS = ("open", "roof", "deck")
# Shares too small or too plain for a bare number: factor, unit.
SCALES = {
    "lolp": (1000, N_("in 1000 hours")),
    "llp": (1000, N_("in 1000 kWh")),
    "years_with_short_nights": (100, N_("% of years")),
    "probability_met": (100, "%"),
    "main_cause": (100, "%"),
}
QUANTILES = (QUANTILE_OF_YEARS, QUANTILE_OF_STARTS)
WHOLE_DAYS = ("autonomy_worst_month_days",)
SLIPS = "slip_"
UNITS = {
    "degC": "°C",
    "deg": "°",
    "W/m2": "W/m²",
    "Wh/m2": "Wh/m²",
    "uV": "µV",
    "uV/K": "µV/K",
    "mOhm Ah": "mΩ Ah",
}
ENTRIES = ("arrays", "loads", "measured_loads", "chargers", "monitors", "itinerary")
WORDS = (
    (
        N_("Member"),
        N_("one synthetic year; it starts in the sunny half, so that the winter is not cut in two"),
    ),
    (
        N_("Parameter draw"),
        N_(
            "one draw of climate, loads and bank within their uncertainty; several years are simulated with each"
        ),
    ),
    (
        N_("Synthetic year"),
        N_("a simulated year: 8760 hours of weather and use with the statistics of the site"),
    ),
    (
        N_("State of charge, depth of discharge"),
        N_("share of the bank's present capacity held and removed; together 100 %"),
    ),
    (
        N_("Full"),
        N_(
            "of the bank: it holds {held:g} % of its capacity or more, since the current never quite ends; of a "
            "monitor: it reads {read:g} % or more, which rounds to 100"
        ),
    ),
    (
        N_("Best guess"),
        N_("of a loss the median over parameter draws, of everything else the mean of the years"),
    ),
    (N_("Usual lowest charge"), N_("100 % less the planning depth")),
    (N_("Planning depth"), N_("the depth that the bank should not exceed in normal use")),
    (
        N_("Cut-off"),
        N_("disconnection of the loads, at the cut-off voltage or the depth limit, whichever comes first"),
    ),
    (N_("Always on"), N_("what draws at all times, also after the cut-off")),
    (N_("Autonomy"), N_("days from a given start until the first unserved hour")),
    (
        N_("MPPT, PWM"),
        N_("kinds of charge controller: tracking of the maximum power point; pulse-width modulation"),
    ),
    (N_("LFP, AGM"), N_("lithium iron phosphate; absorbent glass mat")),
    (N_("Wp, Wh, Ah"), N_("watts at standard test conditions; watt-hours; ampere-hours")),
    (N_("kt"), N_("clearness: irradiation on a horizontal plane over that outside the atmosphere")),
)


def sections(results):
    """The sections of the appendix.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    study = results.study
    made = [
        Section(_("Headline figures with sampling and yearly intervals"), [headlines(results.summary)]),
        Section(_("Assumptions that the study file does not name"), [_assumptions(study)]),
        Section(_("Constants of the model, with their sources"), [_constants(constants_of(study))]),
        Section(_("The study file"), [Verbatim(results.study_text)]),
        Section(_("Terms used"), [_words(study)]),
    ]
    return made


def headlines(summary):
    """The headline figures as a table.

    Parameters
    ----------
    summary : dict
        As summary.json.
    """
    rows, sealed = [], "equalised" not in summary
    counted = [entry for key, entry in summary.items() if key not in NAMED]
    methods = list(dict.fromkeys(entry["method"] for entry in counted if entry.get("method")))
    for key, entry in summary.items():
        how = str(methods.index(entry["method"]) + 1) if entry.get("method") in methods else ""
        rows.append([_label(key, entry, sealed), *_figures(key, entry), how])
    return Table(
        caption=_("Headline figures"),
        header=[
            _("Headline figure"),
            _("Unit"),
            _("Best guess"),
            _("Average of all years"),
            _("This site, 95 %"),
            _("Sampling error of the simulation, 95 %"),
            _("80 % interval of a coming year"),
            _("How"),
        ],
        rows=[[local_number(cell, current().numbers) for cell in row] for row in rows],
        align="llrrrrrr",
        shares=(40, 19, 15, 14, 27, 27, 16, 8),
        note=" ".join(
            [
                _("The file summary.json has the same with more digits."),
                _(
                    "The best guess of a loss is the median over parameter draws. This document gives it wherever "
                    "it counts nights, hours or events. The average is larger, since sites with little sun lose "
                    "much; energy balances use it. The chance of a coming year counts all years alike, so it may be "
                    "above the best guess of nights. Hours by cause are parts of the hours above."
                ),
                *(f"{number}: {method}." for number, method in enumerate(methods, 1)),
            ]
        ),
    )


def _figures(key, entry):
    """Unit, best guess, average, and the three intervals of one headline figure, with the digits of other tables."""
    factor, unit = SCALES.get(key, (1, "" if entry["unit"] == "-" else unit_words(entry["unit"])))
    if key in WHOLE_DAYS:
        return [unit, *_whole_days(entry)]

    def scaled(name):
        number = entry.get(name)
        return nan if number is None else factor * number

    site, sampling, year = ((scaled(f"{kind}_low"), scaled(f"{kind}_high")) for kind in KINDS)
    known = sampling if sampling[0] <= scaled("value") <= sampling[1] else site
    mean = nan if key in HEADLINES_OF and HEADLINES_OF[key].reduction in QUANTILES else scaled("mean")
    best = say.chance(entry["value"]).removesuffix("%").strip() if key == "probability_met" else None
    return [
        _(unit) if factor != 1 else unit,
        best or within(scaled("value"), *known, least=0),
        "–"
        if not isfinite(mean)
        else within(mean, *(known if known[0] <= mean <= known[1] else (nan, nan)), least=0),
        *map(_pair, (site, sampling)),
        "–" if key == "years_with_short_nights" else _pair(year),
    ]


def _pair(ends):
    return "–" if not all(map(isfinite, ends)) else say.to(*bounds(*ends, least=0))


def _whole(days):
    return "–" if days is None else f"{int(days)}+" if days >= HORIZON_DAYS else f"{int(days)}"


def _whole_days(entry):
    """Value and intervals of a span in whole days that it lasts, as the table of autonomy by month has them."""
    ends = ((entry[f"{kind}_low"], entry[f"{kind}_high"]) for kind in KINDS)
    return _whole(entry["value"]), "–", *(say.to(*map(_whole, pair)) for pair in ends)


def _label(key, entry, sealed):
    """What a headline figure is, in words."""
    if key == "main_cause":
        words = CAUSES[entry["cause"]]
        return f"{_(HEADLINES[key])}: {_(words)}"
    if key == "equalisations" and sealed:
        return _("Times that a month passes without a full charge")
    return _(HEADLINES.get(key, key))


def _assumptions(study):
    rows = [_assumption(key, value, study.document.currency) for key, value in left_open(study)]
    return Table(
        caption=_("Keys that the study file leaves open, and the values used"),
        header=[_("What it is"), _("Value"), _("Key")],
        rows=rows,
        align="lll",
        shares=(86, 32, 41),
        note=_(
            "The keys that the file gives are in it, below. A * means each of several entries; keys without a "
            "value are left out."
        ),
    )


def _assumption(key, value, currency):
    """One key in words, its value, and the key; entries that share it are in brackets after it."""
    base, _bracket, entries = key.partition(" (")
    what = meaning(base) + (f" ({say.given(entries)}" if entries else "")
    return [what, value_words(base, value, currency), say.given(key)]


def left_open(study):
    """Keys that the study file does not give, with the values taken in their place.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of (str, object)
        Dotted keys; what several entries of one section share is listed once, with a * in place of their names.
        Without the look of the proposal (``study``), without what has no value, and without the keys by which a
        log is read.
    """
    rows, found, idle = study.resolved(), {}, _idle(study)
    for key, value in _flat(rows):
        section, *rest = key.split(".")
        if (
            key.startswith(idle)
            or section in ("document", "log", "whatifs", "sweeps")
            or value in (None, {}, [])
            or _is_given(study, key)
        ):
            continue
        several = len(rest) > 1 and section in ENTRIES and len(rows[section]) > 1
        name = ".".join((section, "*", *rest[1:])) if several else key
        found.setdefault((name, json.dumps(value)), []).append((key, value))
    listed = []
    for (name, _index), group in found.items():
        listed.append((name if len(group) > 1 else group[0][0], group))
    names = [name for name, _index in listed]
    return [
        (name if names.count(name) == 1 else f"{name} ({_entries(group)})", group[0][1])
        for name, group in listed
    ]


def _idle(study):
    """Beginnings of keys that change nothing in a study."""
    tiers = {load.tier for load in study.loads.values()}
    absent = {
        "bank.indoor_": study.bank.location == "indoors",
        "climate.angstrom_": study.climate.sunshine_hours is not None,
        "climate.fill_days": study.climate.source in ("measured", "satellite"),
        "critical.": "critical" in tiers,
        "deferrable.": "deferrable" in tiers,
        "sizing.prices.fuel_": study.generator is not None,
    }
    return tuple(start for start, there in absent.items() if not there)


def _entries(group):
    return ", ".join(key.split(".")[1] for key, _index in group)


def _flat(tree, path=()):
    for key, value in tree.items():
        if isinstance(value, dict) and path != ("whatifs",) and value:
            yield from _flat(value, (*path, key))
        else:
            yield ".".join((*path, str(key))), value


def _with_unit(entry):
    """Value of a constant with its unit, as people write them."""
    value = entry["value"]
    text = ", ".join(map(_plain, value)) if isinstance(value, list) else _plain(value)
    unit = UNITS.get(entry["unit"], entry["unit"])
    return text if unit == "-" else f"{text} {unit}"


def _plain(value):
    return f"{value:g}".replace("-", MINUS) if isinstance(value, int | float) else str(value)


def _is_given(study, key):
    place = study._given
    for part in key.split("."):
        if not isinstance(place, dict) or part not in place:
            return False
        place = place[part]
    return True


def constants_of(study):
    """Constants behind one proposal, as `darkspell.core.constants.sources`.

    Left out are thresholds by which `check` finds slips of the pen, the chemistries that neither study nor what-ifs
    name, other climate sources than the study's and the better ones that it is compared with, parts that the study
    does not have, what sets the size of jobs, and what reads a monitor's log.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    from darkspell.core.constants import ROOMS, sources

    unused = {"pipeline", "log_analysis"}
    if study.climate.source not in ("measured", "satellite"):
        unused.add("record")
    absent = _absent(study)
    return [
        one
        for one in sources([room for room in ROOMS if room not in unused])
        if not absent & set(one["name"].split("."))
        and not any(one["name"].startswith(start) for start in (*absent, SLIPS))
    ]


def _absent(study):
    """Parts of the constants' names, or their beginnings, that a study has no use for; set of str."""

    def named(key, own):
        """Values of a key in the study and in its what-ifs."""
        changes = (pair for changed in study.whatifs.values() for pair in changed.items())
        return {*own} | {value for name, value in changes if name.endswith(key)}

    arrays = study.arrays.values()
    own_controllers = [array.own_controller.kind for array in arrays if array.own_controller]
    chemistries = named("bank.chemistry", [study.bank.chemistry])
    absent = {*CHEMISTRIES} - chemistries
    for source in {*SOURCES} - named("climate.source", [study.climate.source, *COMPARED]):
        absent |= {source, f"{source}_belt", f"{source}_polar"}
    absent |= {*MOUNTINGS} - named("mounting", [array.mounting for array in arrays])
    if "flooded" not in chemistries:
        absent |= {"common.equalise", "common.water", "common.freezing"}
    if study.generator is None:
        absent.add("common.generator")
    if "pwm" not in named("controller.kind", [study.controller.kind, *own_controllers]):
        absent.add("pwm")
    return absent


def _constants(entries):
    rows = [
        [
            constant_words(one["room"], one["name"]),
            _with_unit(one),
            one["source"],
            f"{one['room']}: {one['name']}",
        ]
        for one in entries
    ]
    return Table(
        caption=_("Constants of the model"),
        header=[_("Constant"), _("Value"), _("Source"), _("Name")],
        rows=rows,
        align="llll",
        shares=(40, 23, 66, 30),
        note=_(
            "Constants of the parts that this study has; the file provenance.json holds all under the names of the "
            "last column, by which sources refer to each other. After a source, "
            "“memory” means that we quote it from memory and have not looked it up; “read”, that we looked it up; "
            "“run”, that we computed the value with the library named."
        )
        + (" " + _("Constants and keys of the study keep their metric units.") if is_us() else ""),
    )


def _words(study):
    full = {
        "held": 100 * constant("bank", study.bank.chemistry, "full_soc"),
        "read": 100 * constant("statistics", "read_as_full"),
    }
    return Table(
        caption=_("Words and abbreviations"),
        header=[_("Word"), _("Meaning")],
        rows=[[_(word), _(meaning).format(**full)] for word, meaning in WORDS],
        align="ll",
    )
