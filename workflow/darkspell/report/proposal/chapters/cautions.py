"""Cautions, as they apply to one study, and where to look."""

import re
from fnmatch import fnmatch
from math import ceil

from darkspell.core.messages import N_, _
from darkspell.hand_check import electrical, findings, hand_check
from darkspell.hand_check.safety import ventilation
from darkspell.report import wording as say
from darkspell.report.document.tree import Box, Listing, Paragraph, Section
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.key_words import key_words
from darkspell.report.units import air_flow_value, air_unit, is_us, temperature, unit_words

FROST_C = 10.0  # mean of the coldest month above which no frost is spoken of; our choice
NICKEL = ("nicd", "nife")
COLD_SENSITIVE = ("lfp", "nmc", "naion")
# Warnings of the hand calculation that can hurt someone or break the equipment; the others are in the annex.
HAZARDS = (
    "system.load_voltage_max_v", "system.nominal_voltage_v", "site.record_low_temperature_c", "bank.location",
    "bank.strings_in_parallel", "controller.*", "arrays.*.modules_in_series", "arrays.*.own_controller*",
    "inverter.power_w", "inverter.surge_w", "chargers.*.charger_a",
)  # fmt: skip
DEGREES = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) degC")  # as the hand calculation writes temperatures
# By whether there is an inverter, and a shore connection.
MAINS = {
    (True, True): N_("Mains voltage from the inverter or the shore connection can kill."),
    (True, False): N_("Mains voltage from the inverter can kill."),
    (False, True): N_("Mains voltage from the shore connection can kill."),
}
MAINS_WORK = {
    (True, True): N_(
        "Mains: the voltage of the inverter or the shore connection can kill. Both are a licensed "
        "practitioner's work."
    ),
    (True, False): N_("Mains: the voltage of the inverter can kill. It is a licensed practitioner's work."),
    (False, True): N_(
        "Mains: the voltage of the shore connection can kill. It is a licensed practitioner's work."
    ),
}
# Subjects in our words. Numbers as in the publishers' catalogues (IEC web store, VDE, CEN and ISO at iTeh, title page
# of ABYC E-10), read in November 2026. From memory: IEC 62509, IEC 62619 and the articles of NFPA 70. From secondary
# pages: ABYC E-11 and E-13, and that ISO 23625 follows ISO/TS 23625. The full text of each standard rules.
CONTROLLERS = N_("Charge controllers: IEC 62509")
LITHIUM_CELLS = N_("Lithium cells: IEC 62619")
FIXED_TITLE = N_("Photovoltaic supply: IEC 60364-7-712; in the United States NFPA 70, articles 690 and 706")
FIXED_BANK = N_("Stationary lead-acid and nickel batteries: IEC 62485-2")
FIXED_LITHIUM = N_("Stationary lithium batteries: IEC 62485-5")
VEHICLE_TITLE = N_(
    "Caravans and motor caravans: IEC 60364-7-721; direct current EN 1648; in the United States NFPA 70, article 551"
)
BOAT_TITLE = N_("Boats: ISO 13297; in the United States ABYC E-11")
BOAT_BANK = N_("Lead-acid batteries on boats: in the United States ABYC E-10")
BOAT_LITHIUM = N_(
    "Lithium batteries on boats: ISO 23625, until 2025 ISO/TS 23625; in the United States ABYC E-13"
)


def section(results):
    """The section on cautions, with those warnings of the hand calculation that speak of a hazard.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    study = results.study
    check = hand_check(study, results.climate)
    warnings = [one for one in findings(study, check) if is_hazard(one)]
    lead = _(
        "This is not an electrical design. Overcurrent protection, conductor sizes, earthing, "
        "isolation, ventilation and mounting are outside it. Local code comes before anything "
        "written here."
    )
    blocks = [Paragraph(lead), Listing([text for _index, text in cautions_of(study, check)])]
    if warnings:
        blocks.append(Paragraph(_("The hand calculation also warns:")))
        blocks.append(Listing([remark(one) for one in warnings]))
    blocks += [
        Paragraph(_("Where to look, in addition to the local code:")),
        Listing(list(_standards(study))),
    ]
    return Section(_("Cautions: have a licensed practitioner design and install it"), blocks)


def is_hazard(warning):
    """Whether a warning of the hand calculation speaks of a hazard.

    Parameters
    ----------
    warning : darkspell.hand_check.warning.Finding
    """
    return any(fnmatch(warning.key, pattern) for pattern in HAZARDS)


def caution_box(results):
    """The short cautions of page 1, chosen by the study's equipment; a `Box` that no key removes.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    study = results.study
    items = [
        _("Not an electrical design: local code applies; have a licensed practitioner design and install it.")
    ]
    if study.bank.chemistry in COLD_SENSITIVE:
        limit = study.bank.charge_from_c
        items.append(
            _(
                "Never charge this bank below {limit} at the cells. Fit a battery management system "
                "that stops the charge there."
            ).format(limit=temperature(limit))
        )
    else:
        items.append(_("This bank gives off hydrogen: ventilate it, keep flames and sparks away."))
    items.append(
        _(
            "A short circuit of the bank, by a tool or a finger ring, burns and starts fires, at any "
            "voltage: cover the terminals and fit a DC fuse that can interrupt its current."
        )
    )
    items.append(_("The array is live whenever there is daylight. Work at heights needs fall protection."))
    if has_alarms(study):
        items.append(
            _(
                "Fit smoke and carbon monoxide alarms with their own batteries: this system goes dark at "
                "times."
            )
        )
    if has_mains(study):
        items.append(_(MAINS[mains_of(study)]))
    if burns_fuel(study):
        items.append(_("Engine exhaust holds carbon monoxide, which kills without warning: lead it outside."))
    return Box(_("What can hurt you"), items)


def has_mains(study):
    """Whether the study has an inverter or a shore connection.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return any(mains_of(study))


def mains_of(study):
    """What has mains voltage in a study.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    (bool, bool)
        An inverter, a shore connection.
    """
    return study.inverter is not None, any(row.kind == "shore" for row in study.chargers.values())


def burns_fuel(study):
    """Whether a generator or an engine charges the bank.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return study.generator is not None or any(row.kind == "alternator" for row in study.chargers.values())


def has_alarms(study):
    """Whether a load is a smoke, gas or carbon monoxide alarm, by its name.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    words = ("alarm", "smoke", "detector", "monoxide")
    return any(word in name.lower() for name in study.loads for word in words)


def moves(study):
    """Whether the system is on a boat or a vehicle, by its itinerary or an array that turns with its mount.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return bool(study.itinerary) or any(array.any_heading for array in study.arrays.values())


def is_boat(study):
    """Whether a system that moves has an array on a deck.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return moves(study) and any(array.mounting == "deck" for array in study.arrays.values())


def is_vehicle(study):
    """Whether a system that moves has an array close to a roof, and none on a deck.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    mountings = {array.mounting for array in study.arrays.values()}
    return moves(study) and "roof" in mountings and "deck" not in mountings


def remark(warning):
    """A warning of the hand calculation as a sentence, with the key that it hangs on in words.

    Parameters
    ----------
    warning : darkspell.hand_check.warning.Finding
    """
    value = f"{warning.value:g}" if isinstance(warning.value, int | float) else warning.value
    key, _index = key_words(warning.key)
    given = say.given(f"{value} {unit_words(warning.unit)}".strip())
    text = say.given(f"{warning.text} {warning.cure}")
    if is_us():
        text = DEGREES.sub(lambda found: temperature(float(found[1])), text)
    return f"{key} ({given}): {text}"


def cautions_of(study, check):
    """The cautions of a study: pairs of a key, for what it is about, and a text.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck

    Returns
    -------
    list of (str, str)
    """
    return [
        *_bank(study, check),
        *_wiring(),
        *_strings(study),
        *_work(),
        *_mains(study),
        *_combustion(study),
        *_moving(study),
        *_alarms(study),
    ]


def _bank(study, check):
    bank = study.bank
    if bank.chemistry in COLD_SENSITIVE:
        limit = bank.charge_from_c
        yield (
            "cold_charge",
            _(
                "Cold: never charge this bank below {limit} at the cells; it is damaged for good and "
                "may become dangerous. A protection circuit that stops the charge is not optional. "
                "{coldest}"
            ).format(limit=temperature(limit), coldest=_coldest(bank, check)),
        )
        yield (
            "management",
            _("Keep the bank with a battery management system that disconnects it, and away from heat."),
        )
        return
    vented = bank.chemistry in ("flooded", *NICKEL)
    gas = _("whenever it is charged") if vented else _("as it is charged, and more when overcharged")
    yield (
        "gas",
        _(
            "Gas: this bank gives off hydrogen {gas}; with air it explodes at a spark. Ventilate its "
            "room: by IEC 62485-2 at least {air} {unit} of air an hour on boost charge. Set the charging "
            "voltages that its maker gives."
        ).format(gas=gas, air=_air(air_flow_value(ventilation(study))), unit=air_unit()),
    )
    if bank.chemistry in NICKEL:
        yield (
            "lye",
            _(
                "Lye: wear goggles and gloves, top up with distilled water only, and keep acid and the "
                "tools of acid batteries away."
            ),
        )
        return
    if vented:
        yield "acid", _("Acid: wear goggles and gloves, and top up with distilled water only.")
    else:
        yield "sealed", _("Sealed is not gas-tight: never close the bank into a box without a vent.")
    if has_frost(study, check):
        yield "frost", _("Frost: a discharged lead-acid bank freezes; keep it charged.")


def _air(volume):
    """An air flow rounded up, to tenths below 3: less than what is needed is never printed."""
    return number(ceil(10 * volume - 1e-9) / 10, 1) if volume < 3 else number(ceil(volume - 1e-9))


def has_frost(study, check):
    """Whether a bank can meet frost, outdoors or in a house that is not heated: where a month is cold.

    Parameters
    ----------
    study : darkspell.study.Study
    check : darkspell.hand_check.calculation.HandCheck
    """
    return float(check.temp_air.min()) <= FROST_C


def _coldest(bank, check):
    parts = []
    if bank.location == "indoors":
        parts.append(
            _(
                "The study assumes that it is indoors, never below {lowest}; keep it so in an empty, "
                "unheated winter too."
            ).format(lowest=temperature(bank.indoor_min_c))
        )
    else:
        low = float(check.temp_air.min())
        parts.append(
            _("The study assumes that it is outdoors; the coldest month averages {lowest}.").format(
                lowest=temperature(low)
            )
        )
    if bank.heater is not None:
        parts.append(
            _("A pad is to hold it at {held}, which it does while there is power for it.").format(
                held=temperature(bank.heater.setpoint_c)
            )
        )
    return say.joined(parts)


def _wiring():
    yield (
        "overcurrent",
        _(
            "Fuses: a fuse or breaker rated for direct current at the bank's terminal, able to "
            "interrupt its short-circuit current, and one for each circuit, sized for its conductor."
        ),
    )
    yield (
        "short_circuit",
        _(
            "Short circuit: a spanner or a ring across the terminals of any bank carries hundreds of "
            "amperes. Take rings off, insulate tools, and cover the terminals."
        ),
    )


def _strings(study):
    low, survives = study.site.record_low_temperature_c, study.controller.input_voltage_max_v
    known = {name: a for name, a in study.arrays.items() if a.module_voc_v is not None and low is not None}
    if known:
        volts = {name: electrical.cold_string_voltage(array, low) for name, array in known.items()}
        worst = max(volts, key=volts.get)
        text = (
            _(
                "Cold strings: at {lowest}, the lowest temperature on record, the open string of array “{array}” "
                "reaches about {volts:.0f} V; the controller allows {allowed:g} V."
            )
            if survives
            else _(
                "Cold strings: at {lowest}, the lowest temperature on record, the open string of array “{array}” "
                "reaches about {volts:.0f} V; compare that with its data sheet."
            )
        )
        text = text.format(
            lowest=temperature(low),
            array=say.given(name_in_words(worst)),
            volts=volts[worst],
            allowed=survives or 0.0,
        )
        touch = _("Direct current above about 60 V can kill at a touch.") if volts[worst] > 60 else ""
        yield "string_voltage", say.joined([text, touch])
    if len(known) < len(study.arrays):
        yield (
            "string_voltage_unknown",
            _(
                "Cold strings: the study lacks a module's open-circuit voltage or the record-low "
                "temperature. Work out the voltage of the coldest morning before buying: it can destroy "
                "the controller."
            ),
        )


def _work():
    yield (
        "daylight",
        _("Daylight: the array is live whenever light falls on it. Cover it, or work on it in the dark."),
    )
    yield "heights", _("Heights: work on a roof or a mast needs fall protection and a second person.")


def _mains(study):
    if has_mains(study):
        yield (
            "mains",
            _(MAINS_WORK[mains_of(study)]),
        )
    else:
        yield (
            "no_mains",
            _("Mains: there is none here. To add an inverter or mains is a licensed practitioner's work."),
        )


def _combustion(study):
    if burns_fuel(study):
        yield (
            "carbon_monoxide",
            _(
                "Carbon monoxide: engine exhaust kills without warning. Lead it outside, and fit an "
                "alarm with its own battery."
            ),
        )


def _alarms(study):
    if has_alarms(study):
        yield (
            "alarms",
            _(
                "Alarms: this bank, which can go empty, feeds smoke or carbon monoxide alarms. Use "
                "alarms with their own batteries."
            ),
        )


def _standards(study):
    """Titles of the study's kind of place alone; of a boat and a vehicle, where the study does not show which."""
    lithium = study.bank.chemistry in COLD_SENSITIVE
    if not moves(study):
        yield _(FIXED_TITLE)
        yield _(FIXED_LITHIUM if lithium else FIXED_BANK)
    if moves(study) and not is_vehicle(study):
        yield _(BOAT_TITLE)
        yield _(BOAT_LITHIUM if lithium else BOAT_BANK)
    if moves(study) and not is_boat(study):
        yield _(VEHICLE_TITLE)
    if lithium:
        yield _(LITHIUM_CELLS)
    yield _(CONTROLLERS)


def _moving(study):
    if moves(study):
        yield (
            "moving",
            _(
                "On the move: use cable made for vibration, strain relief, and protection from water. "
                "Stray return current corrodes a boat's metal."
            ),
        )
