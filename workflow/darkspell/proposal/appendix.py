"""The appendix: headline figures, every assumption and constant with its source, the study file, words."""

import json

from darkspell.proposal import wording as say
from darkspell.proposal.tree import Section, Table, Verbatim

HEADLINES = {
    "short_nights": "Nights with essential loads dark",
    "years_with_short_nights": "Share of years with such nights",
    "lolp": "Loss-of-load probability (LOLP): share of hours with essential load unserved",
    "lolh": "Loss-of-load hours (LOLH)",
    "lold": "Days with essential load unserved (LOLD)",
    "llp": "Energy not delivered over energy asked for (LLP)",
    "eue_kwh": "Expected unserved energy (EUE), all loads",
    "eue_essential_kwh": "Expected unserved energy, essential loads",
    "events": "Times that essential loads go dark",
    "longest_event_h": "Longest such time of a year",
    "annual_max_depth_true": "Depth of discharge that one year in ten passes, in the bank",
    "annual_max_depth_reported": "The same on the monitor",
    "longest_full_charge_interval_days": "Longest time between two full charges",
    "partial_charge_pct": "Share of the year spent later after a full charge than the bank tolerates",
    "equalisations": "Times that an equalising charge falls due",
    "generator_h": "Hours that the generator runs",
    "generator_starts": "Times that it starts",
    "generator_kwh": "Energy taken from the generator",
    "fuel_l": "Fuel that the generator burns",
    "alternator_h": "Hours that the engine runs to charge",
    "equivalent_full_cycles": "Equivalent full cycles: charge drawn over rated capacity",
    "autonomy_dark_days": "Days from full without any charge",
    "autonomy_worst_month_days": "Days from full in the worst month, exceeded 9 times of 10",
    "reading_error_p95": "Reading error not passed 95 % of the time",
    "demand_kwh": "Energy asked for",
    "array_kwh": "Energy taken from the array",
    "spilled_kwh": "Energy that the array offered and nothing took",
}
WORDS = (
    ("Member", "one synthetic year, begun in the sunny half so that winter is whole"),
    ("World", "one draw of what is not known; several members live in each"),
    ("Dark spell", "a run of dull days"),
    (
        "State of charge, depth of discharge",
        "share of the bank's present capacity held and removed; together 100 %",
    ),
    ("Planning depth", "the depth that the bank should not pass in normal use"),
    ("Cut-off", "the loads disconnected, on voltage or at the depth limit, whichever comes first"),
    ("Standing draw", "what goes on drawing after cut-off"),
    ("Autonomy", "days from a given start until the first unserved hour"),
    ("MPPT, PWM", "kinds of charge controller: tracking of the maximum power point; pulse-width modulation"),
    ("LFP, AGM", "lithium iron phosphate; absorbent glass mat"),
    ("Wp, Wh, Ah", "watts at standard test conditions; watt-hours; ampere-hours"),
    ("kt", "clearness: sunshine on the flat over that outside the atmosphere"),
)


def sections(results):
    """The sections of the appendix."""
    from darkspell.constants import sources

    study = results.study
    made = [
        Section("Headline figures with both intervals", [headlines(results.summary)]),
        Section("Every assumption about this system", [_assumptions(study)]),
        Section("Every constant of the model, with its source", [_constants(sources())]),
        Section("The study file, letter for letter", [Verbatim(results.study_text)]),
        Section("Words", [_words()]),
    ]
    return made


def headlines(summary):
    """The headline figures as a table."""
    rows = []
    for key, entry in summary.items():
        mean, year = (_pair(entry[f"{kind}_low"], entry[f"{kind}_high"]) for kind in ("mean", "year"))
        if key == "years_with_short_nights":
            year = "–"
        value = "–" if entry["value"] is None else f"{entry['value']:.3g}"
        unit = "" if entry["unit"] == "-" else entry["unit"]
        rows.append([HEADLINES.get(key, key), value, unit, mean, year, entry.get("method", "")])
    return Table(
        caption="Headline figures",
        header=[
            "Figure",
            "Value",
            "Unit",
            "95 % interval of the mean",
            "80 % interval of a coming year",
            "How",
        ],
        rows=rows,
        align="lrlrrl",
        note="The file summary.json beside this page holds the same with more digits.",
    )


def _pair(low, high):
    return "–" if low is None or high is None else f"{low:.3g} to {high:.3g}"


def _assumptions(study):
    rows = []
    for key, value in _flat(study.resolved()):
        rows.append([say.given(key), say.given(_plain(value)), _origin(study, key)])
    return Table(
        caption="Keys of the study with their values",
        header=["Key", "Value", "From"],
        rows=rows,
        align="lll",
        note="Units stand at the end of each key: pct per cent, deg degrees, c degrees Celsius, soc state of "
        "charge, voc open-circuit voltage, wp watts at standard test conditions.",
    )


def _flat(tree, path=()):
    for key, value in tree.items():
        if isinstance(value, dict) and path != ("whatifs",) and value:
            yield from _flat(value, (*path, key))
        else:
            yield ".".join((*path, str(key))), value


def _plain(value):
    if value is None:
        return "not given"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False)


def _origin(study, key):
    """Whether a key was given in the file or filled in."""
    place = study._given
    for part in key.split("."):
        if not isinstance(place, dict) or part not in place:
            return "default"
        place = place[part]
    return "study file"


def _constants(entries):
    rows = [
        [
            f"{one['room']}: {one['name']}",
            _plain(one["value"]),
            "" if one["unit"] == "-" else one["unit"],
            one["source"],
        ]
        for one in entries
    ]
    return Table(
        caption="Constants of the model",
        header=["Constant", "Value", "Unit", "Source"],
        rows=rows,
        align="llll",
    )


def _words():
    return Table(
        caption="Words and abbreviations",
        header=["Word", "Meaning"],
        rows=[list(pair) for pair in WORDS],
        align="ll",
    )
