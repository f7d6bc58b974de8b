"""What is proposed: array, bank, controller, monitors, and the budget of the loads."""

from darkspell.core.messages import N_, _
from darkspell.loads.budget import INVERTER, appliances_from
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Listing, Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters import equipment
from darkspell.report.proposal.chapters.full_charges import equalising_needs
from darkspell.report.tables.load_budget import HEATER, PRIORITY, STANDING, energy_by_load
from darkspell.report.units import temperatures

CHEMISTRY = {
    "flooded": N_("flooded lead-acid"),
    "agm": N_("sealed lead-acid with absorbent glass mat"),
    "gel": N_("sealed lead-acid with gel"),
    "lfp": N_("lithium iron phosphate"),
    "nmc": N_("lithium nickel manganese cobalt"),
    "naion": N_("sodium-ion"),
    "nicd": N_("nickel-cadmium"),
    "nife": N_("nickel-iron"),
}
MONITOR = {
    "shunt": N_("counts the ampere-hours that pass (a shunt in the negative lead)"),
    "gauge": N_("estimates the charge from the voltage"),
    "pack": N_("counts ampere-hours inside the batteries, one counter in each"),
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
        Listing([*equipment.items(study, with_losses=False), _bank_and_care(results)]),
        Paragraph(
            _(
                "Wp: an array's watts under full test sunshine. Wh, kWh: energy. Ah: charge at the "
                "bank's voltage."
            ),
            "note",
        ),
        _budget(results),
        Paragraph(_order(study)),
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
    return _(CHEMISTRY[name]) if name in CHEMISTRY else str(name)


def bank_line(study):
    """The bank in words.

    Parameters
    ----------
    study : Study
    """
    bank, volts = study.bank, study.system.nominal_voltage_v
    size = _("Bank: {chemistry}, {voltage} V, {capacity_ah:g} Ah (about {energy:.1f} kWh)").format(
        chemistry=chemistry(bank.chemistry),
        voltage=volts,
        capacity_ah=bank.capacity_ah,
        energy=bank.capacity_ah * volts / 1000.0,
    )
    if bank.state_of_health_pct != 100:
        size = _("{bank}, aged to {health:g} % of that").format(bank=size, health=bank.state_of_health_pct)
    where = (
        _("{bank}, outdoors.").format(bank=size)
        if bank.location == "outdoors"
        else _("{bank}, indoors, at {range}.").format(
            bank=size, range=temperatures(bank.indoor_min_c, bank.indoor_max_c)
        )
    )
    limits = _(
        "In normal use it should stay above {usual:g} % of charge; at {lowest:g} %, or below "
        "{cutoff_v:g} V, the loads are cut off."
    ).format(
        usual=100 - bank.planning_depth_pct, lowest=100 - bank.depth_limit_pct, cutoff_v=bank.cutoff_voltage_v
    )
    return say.joined([where, limits, *equipment.bank_parts(bank)])


def _bank_and_care(results):
    """The bank in words and, where it is flooded, what equalising it asks of the owner."""
    return say.joined([bank_line(results.study), equalising_needs(results)])


def monitor_lines(study):
    """One line a monitor.

    Parameters
    ----------
    study : Study
    """
    for name, monitor in study.monitors.items():
        yield (
            _("Monitor “{name}”: {does}; warns below {warn_below_soc_pct:g} % of charge.").format(
                name=say.given(name_in_words(name)),
                does=_(MONITOR[monitor.kind]),
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
            [label, "–", "–", _(PRIORITY[load.tier]), *(_wh(energy[name][m - 1]) for m in (dark, light))]
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
        caption=_("Daily energy use, on an average day of {first} and of {second}").format(
            first=months[0], second=months[1]
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
    kept = _(PRIORITY[load.tier])
    label = say.given(name_in_words(name))
    if load.chance_of_use_pct < 100:
        label = _("{load}, on {chance:g} % of days").format(load=label, chance=load.chance_of_use_pct)
    return [label, power, hours, kept, *(_wh(energy[m - 1]) for m in (dark, light))]


def _wh(energy):
    return "–" if energy == 0 else f"{energy:.0f}"


def _doubt(results):
    return _("The mean use is assumed known to within {share:g} % (one standard deviation).").format(
        share=results.study.load_uncertainty_pct
    )


def _order(study):
    """In which order loads are switched off, and which of them the target counts."""
    tiers = {row.tier for row in (study.loads | study.measured_loads).values()}
    floor = study.short_night_floor_wh
    parts = []
    if "deferrable" in tiers:
        text = _(
            "Loads that can be shed are switched off below {off:g} % of charge and come back at {on:g} %."
        )
        levels = study.deferrable
        parts.append(text.format(off=levels.shed_below_soc_pct, on=levels.resume_above_soc_pct))
    if "critical" in tiers:
        counted = _(
            "A night counts as dark if essential or critical loads lack more than {floor:g} Wh in any one hour."
        )
        parts += [_critical(study), counted.format(floor=floor)]
    elif parts:
        counted = _(
            "The others are essential: a night counts as dark if they lack more than {floor:g} Wh in any one hour."
        )
        parts.append(counted.format(floor=floor))
    else:
        parts.append(_("All loads are essential: nothing is switched off early to spare the rest."))
    return " ".join(parts) + _never(study)


def _critical(study):
    """Which loads are critical, and what is switched off for them."""
    rows, levels = study.loads | study.measured_loads, study.critical
    names = say.listed(say.given(name_in_words(name)) for name, row in rows.items() if row.tier == "critical")
    return _(
        "Critical: {names}. To keep critical loads on, essential ones are switched off below {off:g} % of charge and "
        "come back at {on:g} %."
    ).format(names=names, off=levels.shed_essential_below_soc_pct, on=levels.resume_essential_above_soc_pct)


def _never(study):
    """What is never disconnected, if anything."""
    rows = {**study.loads, **study.measured_loads}
    if not any(row.tier == "uninterruptible" for row in rows.values()):
        return ""
    return " " + _("Loads never switched off draw even after the cut-off.")
