"""What a careful engineer would point at, each with its key, value, unit and cure."""

import numpy as np

from darkspell.chemistry.numbers import reference_capacity
from darkspell.core.calendar import MONTH_NAMES
from darkspell.core.constants import constant
from darkspell.core.messages import _
from darkspell.hand_check import electrical
from darkspell.hand_check.equipment_warnings import plant_findings
from darkspell.hand_check.safety import safety_warnings
from darkspell.hand_check.threshold_warnings import level_findings
from darkspell.hand_check.unit_warnings import slip_findings
from darkspell.hand_check.warning import Finding
from darkspell.loads.budget import appliances_from

PERIODS = {"lolp": 1.0, "lolh": 8760.0, "short_nights": 365.0}  # of a year, in the unit of the statistic
BETWEEN = 0.03  # unavailability between the lines for 95 and 99 %
STORAGE_SHARE = 0.95  # a reserve within a twentieth of a rule of thumb is what the rule asks for
CAUTIONS = (
    "This is not an electrical design: overcurrent protection, conductor size, earthing, isolation, "
    "ventilation of the bank and what the modules' mounts must bear are out of its scope.",
    "Follow the local code and leave installation to a licensed practitioner. Where to look: IEC 60364-7-712 "
    "and -721, NFPA 70 articles 480, 551, 690 and 706, ISO 13297, ABYC E-10 and E-11 afloat, IEC 62485-2 for "
    "lead-acid and nickel banks, IEC 62485-5 for lithium ones.",
)


def findings(study, check):
    """All warnings on a study.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.HandCheck

    Returns
    -------
    list of Finding
    """
    looks = (
        slip_findings,
        _frost,
        _parallel,
        _recharge,
        _storage,
        _current,
        _cutoff,
        _discharge_current,
        _strings,
        _cold_charge,
        _hot_charge,
        _past_monitor,
        _monitors,
        plant_findings,
        level_findings,
        safety_warnings,
    )
    return [finding for look in looks for finding in look(study, check)]


def _frost(study, check):
    """Acid that has given its charge freezes; asked at the planning depth in the coldest month."""
    bank = study.bank
    if bank.chemistry != "flooded":
        return
    full, slope, bend = (
        constant("bank", "common", f"freezing_{part}_c") for part in ("full", "slope", "bend")
    )
    left = 1.0 - bank.planning_depth_pct / 100.0
    freezes = full - slope - bend + left * (slope + left * bend)
    coldest = float(check.temp_bank.min())
    if study.site.record_low_temperature_c is not None and bank.location == "outdoors":
        coldest = min(coldest, study.site.record_low_temperature_c)
    if coldest < freezes:
        text = _(
            "Drawn to its planning depth, the acid freezes at about {freezes:.0f} degC and bursts "
            "the cells; the bank sees {coldest:.0f} degC."
        ).format(freezes=freezes, coldest=coldest)
        cure = _("Keep it warmer, or fuller in the cold months.")
        yield Finding("bank.location", bank.location, "", text, cure)


def _parallel(study, check):
    strings, most = study.bank.strings_in_parallel, constant("hand_check", "most_parallel_strings")
    if strings > most:
        text = _(
            "More than {most:g} strings side by side share the current unevenly; the weakest wears the rest."
        ).format(most=most)
        cure = _("Larger blocks in fewer strings, and leads of one length to each.")
        yield Finding("bank.strings_in_parallel", strings, "strings", text, cure)


def _recharge(study, check):
    ratio, month = float(check.ratio[check.month]), _(check.month_name)
    if ratio == 0.0:
        text = _("In {month} the sun does not rise on the array; the bank only runs down.").format(
            month=month
        )
        yield Finding("arrays", 0.0, _("array-to-load ratio"), text, _("Another source for the dark months."))
        return
    comfortable = constant("hand_check", "comfortable_ratio")
    others = sum(float(amount[check.month]) for amount in check.charger_ah.values())
    together = ratio + others / float(check.load_ah[check.month])
    alone = ratio * check.efficiency < 1.0
    if not alone and together >= comfortable:
        return
    text = _("In {month} little is left over to refill the bank after dull days.").format(month=month)
    if alone:
        text = _("In {month} the array yields less than the loads take; the bank only runs down.").format(
            month=month
        )
        if together * check.efficiency >= 1.0:
            text = _(
                "In {month} the array alone yields less than the loads take; the other chargers must give the rest."
            ).format(month=month)
        elif study.generator is not None:
            text = _(
                "In {month} the array yields less than the loads take; the generator must give the rest."
            ).format(month=month)
        elif others > 0.0:
            text = _(
                "In {month} array and chargers together yield less than the loads take; the bank only runs down."
            ).format(month=month)
    yield Finding(
        "arrays",
        round(ratio, 2),
        _("array-to-load ratio"),
        text,
        _larger_array(study, ratio, together, month),
    )


def _larger_array(study, ratio, together, month):
    """The array that refills the bank with comfort, the other chargers counted."""
    missing = constant("hand_check", "comfortable_ratio") - together
    if missing <= 0.0:
        return _("Nothing, as long as they run as often as the study says.")
    enough = study.array_wp * (1.0 + missing / ratio)
    size = _("{power} Wp in the same planes").format(power=_round(enough))
    if together > ratio:
        size = _("{array} with the other chargers").format(array=size)
    if study.controller.current_limit_a:
        size = _("{array}, if the controller's limit allows it").format(array=size)
    return _("About {array}, other slopes, or smaller loads in {month}.").format(array=size, month=month)


def storage_line(target):
    """Which line of the rule of thumb fits a target: 0 for 95 % availability, 1 for 99 % and more.

    Parameters
    ----------
    target : darkspell.study.targets.Target or None

    Returns
    -------
    int
    """
    if target is None or target.statistic not in PERIODS:
        return 0
    return int(target.at_most / PERIODS[target.statistic] < BETWEEN)


def _storage(study, check):
    line = storage_line(study.target)
    reserve, wanted = float(check.reserve_plan[check.month]), check.storage_days[line]
    if reserve < STORAGE_SHARE * wanted:
        text = _(
            "In {month_name} a full bank carries the loads for {reserve:.1f} days before it reaches its planning "
            "depth; an old rule of thumb asks for {wanted:.1f} days at {value} % availability."
        ).format(month_name=_(check.month_name), reserve=reserve, wanted=wanted, value=("95", "99")[line])
        cure = _(
            "About {bank_ah} Ah, or smaller loads; the simulated years show how often it matters."
        ).format(bank_ah=_round(check.bank_ah[line]))
        yield Finding("bank.capacity_ah", study.bank.capacity_ah, "Ah", text, cure)


def _current(study, check):
    bank = study.bank
    amps = electrical.highest_current(study, check.voltages[1])
    least = constant("bank", bank.chemistry, "charge_current_min_c")
    present = bank.capacity_ah * bank.state_of_health_pct / 100.0
    highest, lowest = bank.largest_charge_a, least * present
    most = highest / present
    whose = _("its chemistry wants") if bank.charge_current_max_a is None else _("by its data sheet it takes")
    if amps > highest:
        text = _(
            "In full sun the bank is charged with {amps:.0f} A; {whose} {highest:.0f} A at most."
        ).format(amps=amps, whose=whose, highest=highest)
        cure = _("Set controller.current_limit_a to {highest:.0f}, or a bank of {amps} Ah.").format(
            highest=highest, amps=_round(amps / most)
        )
        yield Finding("controller.current_limit_a", *_limit(study), text, cure)
    elif amps < lowest:
        nickel = bank.chemistry in ("nicd", "nife")
        text = (
            _(
                "Even full sun charges with {amps:.1f} A only; with less than {lowest:.1f} A nickel "
                "cells take their charge badly."
            )
            if nickel
            else _(
                "Even full sun charges with {amps:.1f} A only; with less than {lowest:.1f} A the acid "
                "stratifies and the plates sulphate."
            )
            if bank.chemistry == "flooded"
            else _(
                "Even full sun charges with {amps:.1f} A only; with less than {lowest:.1f} A the plates sulphate."
            )
        ).format(amps=amps, lowest=lowest)
        cure = _("A larger array, or a bank of {amps} Ah.").format(amps=_round(amps / least))
        yield Finding("bank.capacity_ah", bank.capacity_ah, "Ah", text, cure)


def _cutoff(study, check):
    bank, appliances, coldest = study.bank, appliances_from(study), float(check.temp_bank.min())
    peak, own, off_at = electrical.greatest_load(appliances), study.inverter_cutoff_v, bank.cutoff_voltage_v
    if own is None:
        left = electrical.charge_at_cutoff(study, peak, coldest, off_at)
    else:
        yield from _inverter_cutoff(study, peak, coldest)
        direct = electrical.greatest_load([one for one in appliances if not one.ac])
        left = electrical.charge_at_cutoff(study, direct, coldest, off_at, peak - direct)
    if left > 1.0 - bank.planning_depth_pct / 100.0:
        text = _(
            "If all loads that may run together do ({peak:.0f} W, a motor starting), the voltage falls to "
            "the cut-off with {left:.0f} % of the charge left (bank at {coldest:.0f} degC)."
        ).format(peak=peak, left=100 * left, coldest=coldest)
        cure = _(
            "A lower cut-off if the maker allows, thicker cables, a larger or warmer bank, or fewer at once."
        )
        if own is None and any(one.ac for one in appliances):
            cure += " " + _(
                "An inverter with a cut-off of its own (inverter.cutoff_voltage_v) leaves dc loads on."
            )
        yield Finding("bank.cutoff_voltage_v", bank.cutoff_voltage_v, "V", text, cure)


def _discharge_current(study, _check):
    most = study.bank.discharge_current_max_a
    amps = electrical.greatest_load(appliances_from(study)) / study.bank.cutoff_voltage_v
    if most is not None and amps > most:
        text = _(
            "All loads that may run together take {amps:.0f} A: the electronics in the bank switch off."
        ).format(amps=amps)
        cure = _("Windows that keep large loads apart, more batteries in parallel, or another kind.")
        yield Finding("bank.discharge_current_max_a", most, "A", text, cure)


def _inverter_cutoff(study, peak, coldest):
    left = electrical.charge_at_cutoff(study, peak, coldest, study.inverter_cutoff_v)
    if left > 1.0 - study.bank.planning_depth_pct / 100.0:
        text = _(
            "If all loads that may run together do ({peak:.0f} W), the inverter switches off with "
            "{left:.0f} % of the charge left (bank at {coldest:.0f} degC)."
        ).format(peak=peak, left=100 * left, coldest=coldest)
        cure = _(
            "A lower cut-off if the maker allows, thicker cables, a larger or warmer bank, or fewer at once."
        )
        yield Finding("inverter.cutoff_voltage_v", study.inverter_cutoff_v, "V", text, cure)


def _strings(study, check):
    highest, low = study.controller.input_voltage_max_v, study.site.record_low_temperature_c
    known = {name: array for name, array in study.arrays.items() if array.module_voc_v is not None}
    if highest is None or not known:
        return
    if low is None:
        text = _(
            "Without it the voltage of a cold string cannot be compared with controller.input_voltage_max_v."
        )
        cure = _("Give the lowest temperature on record.")
        yield Finding("site.record_low_temperature_c", _("not given"), "degC", text, cure)
        return
    for name, array in known.items():
        volts = electrical.cold_string_voltage(array, low)
        if volts > highest:
            text = _(
                "At {low:g} degC the string reaches {volts:.0f} V; the controller survives {highest:g} V."
            ).format(low=low, volts=volts, highest=highest)
            fits = int(array.modules_in_series * highest / volts)
            cure = (
                _("At most {fits} in series.").format(fits=fits)
                if fits
                else _("A controller for a higher voltage.")
            )
            key = f"arrays.{name}.modules_in_series"
            yield Finding(key, array.modules_in_series, _("in series"), text, cure)


def _cold_charge(study, check):
    bank = study.bank
    if bank.chemistry not in ("lfp", "nmc", "naion"):
        return
    limit = bank.charge_from_c
    margin = constant("hand_check", "cold_margin_k") if bank.location == "outdoors" else 0.0
    cold = [_(MONTH_NAMES[m]) for m in check.month_order if check.temp_bank[m] < limit + margin]
    if cold:
        text = _(
            "The bank is too cold to be charged (below {limit:g} degC) at times in {items}; its "
            "monthly mean falls to {min:.0f} degC."
        ).format(limit=limit, items=_listed(cold), min=check.temp_bank.min())
        cure = _("Keep it indoors, insulate and heat it (bank.heater), or take lead-acid.")
        yield Finding("bank.location", bank.location, "", text, cure)


def _hot_charge(study, check):
    limit, bank = study.bank.charge_temperature_max_c, study.bank
    margin = constant("hand_check", "cold_margin_k") if bank.location == "outdoors" else 0.0
    hot = [
        _(MONTH_NAMES[m])
        for m in check.month_order
        if limit is not None and check.temp_bank[m] > limit - margin
    ]
    if hot:
        text = _(
            "The bank is too hot to be charged (above {limit:g} degC) at times in {months}; its monthly mean rises "
            "to {highest:.0f} degC."
        ).format(limit=limit, months=_listed(hot), highest=check.temp_bank.max())
        cure = _("A shaded, ventilated place, or another kind of bank.")
        yield Finding("bank.charge_temperature_max_c", limit, "degC", text, cure)


def _past_monitor(study, check):
    total = sum(float(energy.sum()) for energy in check.load_wh.values())
    for name, load in study.loads.items():
        if load.bypasses_shunt:
            day, share = float(check.load_wh[name].mean()), 100.0 * float(check.load_wh[name].sum()) / total
            text = _(
                "The shunt does not see its {day:.0f} Wh/day, {share:.1f} % of the year's energy."
            ).format(day=day, share=share)
            cure = _(
                "Connect its negative to the load side of the shunt, unless it must run when all else is off."
            )
            yield Finding(f"loads.{name}.bypasses_shunt", "true", "", text, cure)


def _monitors(study, check):
    """A capacity set that is neither the label's nor what a slow discharge takes out, both as the bank is now."""
    bank, left = study.bank, study.bank.state_of_health_pct / 100.0
    ends = (
        left * bank.capacity_ah,
        left * reference_capacity(bank.chemistry, bank.capacity_ah, bank.rate_h, bank.capacity_points),
    )
    tolerance = constant("hand_check", "set_capacity_tolerance_pct") / 100.0
    least, most = (1.0 - tolerance) * min(ends), (1.0 + tolerance) * max(ends)
    for name, monitor in study.monitors.items():
        if monitor.kind == "shunt" and not least <= monitor.capacity_set_ah <= most:
            text = _(
                "The bank holds {ends:.0f} Ah now, drawn slowly; the reading goes wrong by the difference."
            ).format(ends=ends[1])
            cure = _("Set {ends:.0f} Ah, and again as the bank ages.").format(ends=ends[1])
            key = f"monitors.{name}.capacity_set_ah"
            yield Finding(key, monitor.capacity_set_ah, "Ah", text, cure)
        elif monitor.kind == "gauge" and study.bank.chemistry == "lfp":
            flat = _flat_millivolts(study)
            text = _(
                "From 50 to 70 % of charge the rested voltage of this bank moves by {flat:.0f} mV only."
            ).format(flat=flat)
            yield Finding(
                f"monitors.{name}.kind",
                "gauge",
                "",
                text,
                _("Trust the shunt; read the gauge as a warning."),
            )


def _flat_millivolts(study):
    curve = (constant("bank", study.bank.chemistry, name) for name in ("ocv_soc", "ocv_v_cell"))
    low, high = np.interp([0.5, 0.7], *curve)
    return (high - low) * study.cells * 1000.0


def _limit(study):
    limit = study.controller.current_limit_a
    return (_("no limit"), "") if limit is None else (limit, "A")


def _listed(words):
    *first, last = words
    return _("{first} and {last}").format(first=", ".join(first), last=last) if first else last


def _round(value):
    """Two significant digits and a half: sizes that a shop might have."""
    step = 10.0 ** max(np.floor(np.log10(value)) - 1.0, 0.0)
    return f"{np.ceil(value / step) * step:.0f}"
