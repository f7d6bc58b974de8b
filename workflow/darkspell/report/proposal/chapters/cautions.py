"""Cautions, as they apply to one study, and where to look."""

from darkspell.core.constants import constant
from darkspell.hand_check import electrical, findings, hand_check
from darkspell.hand_check.safety import ventilation
from darkspell.report import wording as say
from darkspell.report.document.tree import Box, Listing, Paragraph, Section
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.proposal.chapters.whatifs import key_words

NICKEL = ("nicd", "nife")
# Titles shortened, from memory; the full text of each standard rules.
ALWAYS = (
    "IEC 60364-7-712, low-voltage electrical installations: solar photovoltaic supply",
    "NFPA 70, the national electrical code of the United States: articles 690 (solar photovoltaic systems) and 706 "
    "(energy storage)",
    "IEC 62485-2, safety of stationary batteries; IEC 62509, performance of photovoltaic charge controllers",
)
LITHIUM_TITLE = (
    "IEC 62619, safety of industrial lithium cells; IEC 62485-5, safety of stationary lithium batteries"
)
MOVING_TITLES = (
    "IEC 60364-7-721, caravans and motor caravans; NFPA 70, article 551 (recreational vehicles)",
    "ISO 13297, small craft: electrical systems; ISO/TS 23625, small craft: lithium-ion batteries",
    "ABYC E-10, storage batteries; ABYC E-11, electrical systems on boats; ABYC E-13, lithium-ion batteries on boats",
)


def section(results):
    """The section on cautions, with the warnings of the hand calculation.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    study = results.study
    check = hand_check(study, results.climate)
    warnings = findings(study, check)
    lead = (
        "This is not an electrical design. Overcurrent protection, conductor sizes, earthing, isolation, "
        "ventilation and mounting are outside it. Local code comes before anything written here. Leave design "
        "and installation to a licensed practitioner."
    )
    items = [
        *_bank(study, check),
        *_wiring(),
        *_strings(study),
        *_work(),
        *_mains(study),
        *_combustion(study),
    ]
    items += [*_moving(study), *_alarms(study)]
    blocks = [Paragraph(lead), Listing(items)]
    if warnings:
        blocks.append(Paragraph("The hand calculation, independent of the simulated years, also warns:"))
        blocks.append(Listing([_finding(one) for one in warnings]))
    blocks += [Paragraph("Where to look, in addition to the local code:"), Listing(list(_standards(study)))]
    return Section("Cautions: have a licensed practitioner design and install it", blocks)


def caution_box(results):
    """The short cautions of page 1, chosen by the study's equipment; a `Box` that no key removes.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    study = results.study
    items = [
        "Not an electrical design: local code applies; have a licensed practitioner design and install it."
    ]
    if study.bank.chemistry in ("lfp", "nmc", "naion"):
        limit = constant("bank", study.bank.chemistry, "cold_charge_limit_c")
        items.append(
            f"Never charge this bank below {number(limit)} \u00b0C at the cells. Fit a battery management system "
            "that disconnects it."
        )
    else:
        items.append("This bank gives off hydrogen: ventilate it, keep flames and sparks away.")
    items.append(
        "A short circuit of the bank, by a tool or a ring, burns and starts fires, at any voltage: cover the "
        "terminals and fit a DC fuse that can interrupt its current."
    )
    items.append("The array is live whenever there is daylight. Work at heights needs fall protection.")
    if has_alarms(study):
        items.append(
            "Fit smoke and carbon monoxide alarms with their own batteries: this system goes dark at times."
        )
    if has_mains(study):
        items.append("Mains voltage from the inverter or the shore connection can kill.")
    if burns_fuel(study):
        items.append("Engine exhaust holds carbon monoxide, which kills without warning: lead it outside.")
    return Box("What can hurt you", items)


def has_mains(study):
    """Whether the study has an inverter or a shore connection.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return study.inverter is not None or any(row.kind == "shore" for row in study.chargers.values())


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


def _finding(one):
    """A warning of the hand calculation, with the key that it hangs on in words."""
    value = f"{one.value:g}" if isinstance(one.value, int | float) else one.value
    key, _ = key_words(one.key)
    return f"{key} ({say.given(f'{value} {one.unit}'.strip())}): {say.given(f'{one.text} {one.cure}')}"


def _bank(study, check):
    bank = study.bank
    if bank.chemistry in ("lfp", "nmc", "naion"):
        kind = "Sodium" if bank.chemistry == "naion" else "Lithium"
        limit = constant("bank", bank.chemistry, "cold_charge_limit_c")
        yield (
            f"{kind} in the cold: never charge this bank below {number(limit)} °C at the cells; it is damaged for "
            "good and may become dangerous. A protection circuit that stops charging in the cold is not optional. "
            f"{_coldest(bank, check)}"
        )
        yield (
            f"A {kind.lower()} bank can push a very large current into a short circuit: the fuse must be able to "
            "interrupt it. Keep it with a battery management system that disconnects it, and away from heat."
        )
        return
    vented = bank.chemistry in ("flooded", *NICKEL)
    gas = "whenever it is charged" if vented else "as it is charged, and more when overcharged"
    yield (
        f"Gas: this bank gives off hydrogen {gas}; the mixture with air explodes at a spark. Ventilate its room "
        f"as IEC 62485-2 requires: by its formula about {number(ventilation(study))} m³ of air an hour on boost "
        "charge. Keep flames and sparks away, and set the charging voltages that its maker gives."
    )
    yield "A short circuit of the bank carries a very large current: the fuse must be able to interrupt it."
    if bank.chemistry in NICKEL:
        yield (
            "It holds lye: wear goggles and gloves, top it up with distilled water only, and keep acid and the "
            "tools of acid batteries away from it."
        )
        return
    acid = (
        "It holds acid: wear goggles and gloves, and top it up with distilled water only."
        if vented
        else "Sealed is not gas-tight: never close it into a box without a vent."
    )
    yield f"{acid}{_frost(study, check)}"


def _frost(study, check):
    """A word on freezing, where the climate has frost."""
    if study.bank.location == "outdoors" and float(check.temp_air.min()) > 10.0:
        return ""
    return " A discharged lead-acid bank freezes; keep it charged in frost."


def _coldest(bank, check):
    if bank.location == "indoors":
        text = (
            f"The study assumes that it is indoors, never below {number(bank.indoor_min_c)} °C; "
            "keep it so in an empty, unheated winter too."
        )
    else:
        low = float(check.temp_air.min())
        text = f"The study assumes that it is outdoors; the coldest month averages {number(low)} °C."
    if bank.heater is not None:
        text += f" A pad is to hold it at {number(bank.heater.setpoint_c)} °C, which it does while there is "
        text += "power for it."
    return text


def _wiring():
    yield (
        "Overcurrent: a fuse or breaker rated for direct current at the bank's terminal, and one for each "
        "circuit, sized for the conductor; a bank of a few volts can still start a fire."
    )


def _strings(study):
    low, survives = study.site.record_low_temperature_c, study.controller.input_voltage_max_v
    known = {name: a for name, a in study.arrays.items() if a.module_voc_v is not None and low is not None}
    if known:
        volts = {name: electrical.cold_string_voltage(array, low) for name, array in known.items()}
        worst = max(volts, key=volts.get)
        rating = f"the controller allows {survives:g} V" if survives else "compare that with its data sheet"
        yield (
            f"String voltage in the cold: at {number(low)} °C, the lowest temperature on record, the open string of "
            f"array “{say.given(name_in_words(worst))}” reaches about {volts[worst]:.0f} V; {rating}. Bright sun on "
            "a cold clear morning does this."
            + (" Direct current above about 60 V can kill at a touch." if volts[worst] > 60 else "")
        )
    if len(known) < len(study.arrays):
        yield (
            "String voltage in the cold: the study lacks a module's open-circuit voltage or the record-low "
            "temperature, so we do not know whether the controller survives the coldest morning. Work it out "
            "before buying."
        )


def _work():
    yield (
        "Live in daylight: the array gives its full voltage whenever light falls on it, and no switch stops that. "
        "Cover it, or work on it in the dark."
    )
    yield "Heights: work on a roof or a mast needs fall protection and a second person."
    yield (
        "Tools: a spanner or a ring across the terminals of any bank carries hundreds of amperes. Take rings off, "
        "insulate tools, and cover the terminals."
    )


def _mains(study):
    if has_mains(study):
        yield (
            "Mains: the voltage of the inverter or the shore connection can kill. Both belong in a licensed "
            "practitioner's hands."
        )
    else:
        yield "Mains: this proposal has no inverter and no mains. Adding either is a licensed practitioner's work."


def _combustion(study):
    if burns_fuel(study):
        yield (
            "Carbon monoxide: engine exhaust kills without warning. Run the engine outdoors or with its exhaust led "
            "outside, and fit an alarm with its own battery."
        )


def _alarms(study):
    if has_alarms(study):
        yield (
            "Alarms: the study feeds smoke or carbon monoxide alarms from this bank, which goes dark at times. Use "
            "alarms with their own batteries."
        )


def _standards(study):
    yield from ALWAYS
    if study.bank.chemistry in ("lfp", "nmc", "naion"):
        yield LITHIUM_TITLE
    if moves(study):
        yield from MOVING_TITLES


def moves(study):
    """Whether the system is on a boat or a vehicle, by its itinerary or an array that turns with its mount.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    return bool(study.itinerary) or any(array.any_heading for array in study.arrays.values())


def _moving(study):
    if moves(study):
        yield (
            "On a boat or a vehicle: use cable made for vibration, strain relief, and protection from water; follow "
            "the rules made for it (below). Stray return current corrodes a boat's metal."
        )
