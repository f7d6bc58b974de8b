"""Cautions, as they apply to one study, and where to look."""

from darkspell.core.constants import constant
from darkspell.hand_check import electrical, findings, hand_check
from darkspell.report import wording as say
from darkspell.report.document.tree import Listing, Paragraph, Section
from darkspell.report.figures.number_format import name_in_words, number
from darkspell.report.proposal.chapters.whatifs import key_words

NICKEL = ("nicd", "nife")
# Titles shortened, from memory; the full text of each standard rules.
TITLES = (
    "IEC 60364-7-712, low-voltage electrical installations: solar photovoltaic supply; part 7-721: caravans and "
    "motor caravans",
    "NFPA 70, the national electrical code of the United States: articles 480 (storage batteries), 551 "
    "(recreational vehicles), 690 (solar photovoltaic systems), 706 (energy storage)",
    "ISO 13297, small craft: electrical systems; ISO/TS 23625, small craft: lithium-ion batteries",
    "ABYC E-11, electrical systems on boats; ABYC E-13, lithium-ion batteries on boats",
    "IEC 62485-2, safety of stationary batteries (hydrogen and ventilation)",
    "IEC 62619, safety of industrial lithium cells; IEC 62509, performance of photovoltaic charge "
    "controllers",
)


def section(results):
    """The section on cautions, with what the hand calculation points at."""
    check = hand_check(results.study, results.climate)
    found = findings(results.study, check)
    lead = (
        "This is not an electrical design. Overcurrent protection, conductor sizes, earthing, isolation, "
        "ventilation and what the mounts must bear are outside it. Local code comes before anything written "
        "here; leave design and installation to a licensed practitioner."
    )
    items = [*_bank(results.study, check), *_wiring(), *_strings(results.study), *_place()]
    blocks = [Paragraph(lead), Listing(items)]
    if found:
        blocks.append(
            Paragraph("The hand calculation, worked apart from the synthetic years, also points at this:")
        )
        blocks.append(Listing([_finding(one) for one in found]))
    blocks += [Paragraph("Where to look, besides the local code:"), Listing(list(TITLES))]
    return Section("Cautions: have a licensed practitioner design and install it", blocks)


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
    gas = "whenever it is charged" if vented else "when it is overcharged or a cell fails"
    yield (
        f"Gas: this bank gives off hydrogen {gas}; the mixture with air explodes at a spark. Ventilate its place "
        "as IEC 62485-2 requires, keep flames and sparks away, and set the charging voltages that its maker gives."
    )
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
    yield f"{acid} A discharged lead-acid bank freezes; keep it charged in frost."


def _coldest(bank, check):
    if bank.location == "indoors":
        text = (
            f"The study takes it to stand indoors, never below {number(bank.indoor_min_c)} °C; "
            "that must hold in an empty, unheated winter too."
        )
    else:
        low = float(check.temp_air.min())
        text = f"The study takes it to stand outdoors, in a coldest month of {number(low)} °C on average."
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
        beside = f"the controller survives {survives:g} V" if survives else "hold that against its data sheet"
        yield (
            f"String voltage in the cold: at {number(low)} °C, the lowest temperature on record, the open string of "
            f"array “{say.given(name_in_words(worst))}” reaches about {volts[worst]:.0f} V; {beside}. Bright sun on "
            "a cold clear morning does this."
            + (" Direct current above about 60 V can kill at a touch." if volts[worst] > 60 else "")
        )
    if len(known) < len(study.arrays):
        yield (
            "String voltage in the cold: the study lacks a module's open-circuit voltage or the record-low "
            "temperature, so whether the controller survives the coldest morning we do not know. Work it out "
            "before buying."
        )


def _place():
    yield (
        "If it is to move, on a boat or a vehicle: that needs cable that stands vibration, strain relief, "
        "protection from water, and the rules made for it (below); a boat's metal corrodes where a return "
        "current strays."
    )
    yield (
        "Mains: anything above the bank's own voltage, an inverter or a shore connection included, can kill. It "
        "is not part of this proposal, and belongs in a licensed practitioner's hands."
    )
