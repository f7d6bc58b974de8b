"""What is proposed: array, bank, controller, monitors, and the budget of the loads."""

from darkspell.core.messages import _
from darkspell.loads.budget import INVERTER, appliances_from
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Listing, Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.proposal.chapters import equipment
from darkspell.report.tables.load_budget import HEATER, PRIORITY, STANDING, energy_by_load

CHEMISTRY = {
    "flooded": "flooded lead-acid",
    "agm": "sealed lead-acid with absorbent glass mat",
    "gel": "sealed lead-acid with gel",
    "lfp": "lithium iron phosphate",
    "nmc": "lithium nickel manganese cobalt",
    "naion": "sodium-ion",
    "nicd": "nickel-cadmium",
    "nife": "nickel-iron",
}
MONITOR = {
    "shunt": "counts the ampere-hours that pass (a shunt in the negative lead)",
    "gauge": "estimates the charge from the voltage",
    "pack": "counts ampere-hours inside the batteries, one counter in each",
}


def section(results):
    """The section on what is proposed.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    study = results.study
    heading = _(
        "The system: {array_wp:g} Wp of array, a bank of {capacity_ah:g} Ah at {nominal_voltage_v} V"
    ).format(
        array_wp=study.array_wp,
        capacity_ah=study.bank.capacity_ah,
        nominal_voltage_v=study.system.nominal_voltage_v,
    )
    blocks = [
        *figure(results, "schematic"),
        Listing([*equipment.items(study, with_losses=False), bank_line(study)]),
        Paragraph(
            _(
                "Wp: an array's watts under full test sunshine. Wh, kWh: energy. Ah: charge at the "
                "bank's voltage."
            ),
            "note",
        ),
        _budget(results),
        Paragraph(_deferrable(study)),
    ]
    return Section(heading, blocks)


def chemistry(name):
    """A chemistry in words.

    Parameters
    ----------
    name : str
        Key of the chemistry.

    Returns
    -------
    str
    """
    return CHEMISTRY.get(name, str(name))


def bank_line(study):
    """The bank in words.

    Parameters
    ----------
    study : Study
    """
    bank = study.bank
    held = bank.capacity_ah * study.system.nominal_voltage_v / 1000.0
    aged = (
        ""
        if bank.state_of_health_pct == 100
        else _(", aged to {state_of_health_pct:g} % of that").format(
            state_of_health_pct=bank.state_of_health_pct
        )
    )
    place = (
        "outdoors"
        if bank.location == "outdoors"
        else (
            _("indoors, at {indoor_min_c} to {indoor_max_c} °C").format(
                indoor_min_c=number(bank.indoor_min_c), indoor_max_c=number(bank.indoor_max_c)
            )
        )
    )
    return _(
        "Bank: {chemistry}, {nominal_voltage_v} V, {capacity_ah:g} Ah (about {held:.1f} "
        "kWh){aged}, {place}. In normal use it should stay above {planning_depth_pct:g} % of "
        "charge; at {depth_limit_pct:g} %, or below {cutoff_voltage_v:g} V, {join}"
    ).format(
        chemistry=chemistry(bank.chemistry),
        nominal_voltage_v=study.system.nominal_voltage_v,
        capacity_ah=bank.capacity_ah,
        held=held,
        aged=aged,
        place=place,
        planning_depth_pct=100 - bank.planning_depth_pct,
        depth_limit_pct=100 - bank.depth_limit_pct,
        cutoff_voltage_v=bank.cutoff_voltage_v,
        join=" ".join(["the loads are cut off.", *equipment.bank_parts(bank)]),
    )


def monitor_lines(study):
    """One line a monitor.

    Parameters
    ----------
    study : Study
    """
    for name, monitor in study.monitors.items():
        yield (
            _("Monitor “{name}”: {MONITOR}; warns below {warn_below_soc_pct:g} % of charge.").format(
                name=say.given(name_in_words(name)),
                MONITOR=MONITOR[monitor.kind],
                warn_below_soc_pct=monitor.warn_below_soc_pct,
            )
        )


def _budget(results):
    study = results.study
    energy = energy_by_load(study, results.climate, appliances_from(study))
    dark, light = (12, 6) if study.site.latitude_deg >= 0 else (6, 12)
    rows = [_load_row(name, load, energy[name], dark, light) for name, load in study.loads.items()]
    for name, load in study.measured_loads.items():
        label = _("{name}, measured").format(name=say.given(name_in_words(name)))
        rows.append(
            [label, "–", "–", PRIORITY[load.tier], *(_wh(energy[name][m - 1]) for m in (dark, light))]
        )
    if INVERTER in energy:
        idle = [_wh(energy[INVERTER][m - 1]) for m in (dark, light)]
        rows.append([_("Inverter, idle"), f"{study.inverter.no_load_w:g} W", "24", "–", *idle])
    rows.append(
        [_("Always on"), f"{study.self_consumption_w:g} W", "24", "–"]
        + [_wh(energy[STANDING][m - 1]) for m in (dark, light)]
    )
    if study.bank.heater:
        warm = [_wh(energy[HEATER][m - 1]) for m in (dark, light)]
        rows.append(
            [_("Bank heater"), f"{study.bank.heater.power_w:g} W", "–", _("never switched off"), *warm]
        )
    total = sum(energy.values())
    rows.append([_("All"), "", "", "", *(_wh(total[m - 1]) for m in (dark, light))])
    months = [month_name(m) for m in (dark, light)]
    return Table(
        caption=_("Daily energy use, on an average day of {months} and of {months_2}").format(
            months=months[0], months_2=months[1]
        ),
        header=[
            _("Load"),
            _("Power"),
            _("Hours a day"),
            _("Priority"),
            *(_("{month}, Wh a day").format(month=month) for month in months),
        ],
        rows=rows,
        align="lrrlrr",
        marked=len(rows) - 1,
        note=_doubt(results),
    )


def _load_row(name, load, energy, dark, light):
    power = f"{load.count} × {load.watts:g} W" if load.count > 1 else f"{load.watts:g} W"
    hours = f"{load.hours_per_day:g}"
    kept = PRIORITY[load.tier]
    label = say.given(name_in_words(name))
    if load.chance_of_use_pct < 100:
        label += _(", on {chance_of_use_pct:g} % of days").format(chance_of_use_pct=load.chance_of_use_pct)
    return [label, power, hours, kept, *(_wh(energy[m - 1]) for m in (dark, light))]


def _wh(energy):
    return "–" if energy == 0 else f"{energy:.0f}"


def _doubt(results):
    demand = results.summary.get("demand_kwh")
    year = ""
    if demand and demand["value"] is not None:
        year = _(" Over a year: {value:.0f} kWh on average").format(value=demand["value"])
        if demand["year_low"] is not None:
            low, high = demand["year_low"], demand["year_high"]
            year += _(", {range} kWh in eight years of ten").format(range=say.span(low, high))
        year += "."
    return _(
        "The mean use is assumed known to within {load_uncertainty_pct:g} % (one standard deviation).{year}"
    ).format(load_uncertainty_pct=results.study.load_uncertainty_pct, year=year)


def _deferrable(study):
    names = [name for name, load in study.loads.items() if load.tier == "deferrable"]
    if not names:
        return _("All loads are essential: nothing is switched off early to spare the rest.") + _never(study)
    off, on = study.deferrable.shed_below_soc_pct, study.deferrable.resume_above_soc_pct
    return (
        _(
            "Loads that can be shed are switched off below {off:g} % of charge and come back at "
            "{on:g} %. The others are essential: this proposal counts the nights on which they lose "
            "power, more than {short_night_floor_wh:g} Wh in any one hour."
        ).format(off=off, on=on, short_night_floor_wh=study.short_night_floor_wh)
    ) + _never(study)


def _never(study):
    """What is never disconnected, if anything."""
    rows = {**study.loads, **study.measured_loads}
    if not any(row.tier == "uninterruptible" for row in rows.values()):
        return ""
    return _(" Loads never switched off draw even when all others are cut off.")
