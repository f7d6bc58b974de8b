"""Keys of a study, and its what-ifs, in plain words; keys that are not listed here keep their English words."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.figures.number_format import name_in_words, plain
from darkspell.report.units import key_value
from darkspell.study.sweeps import steps_of_sweeps

HOURS_A_DAY = N_("hours a day")
UNITS = {
    "wp": "Wp", "ah": "Ah", "pct": "%", "deg": "°", "c": "°C", "v": "V", "w": "W", "watts": "W", "h": "h",
    "a": "A", "ma": "mA", "mohm": "mΩ", "m": "m", "day": HOURS_A_DAY, "wh": "Wh",
}  # fmt: skip
PLAIN = {"state_of_health_pct": "capacity left with age", "bypasses_shunt": "wired past the monitor"}

WORDS = (
    N_("site"),
    N_("climate"),
    N_("system"),
    N_("bank"),
    N_("controller"),
    N_("inverter"),
    N_("generator"),
    N_("target"),
    N_("sizing"),
    N_("occupancy"),
    N_("heater"),
    N_("ageing"),
    N_("arrays"),
    N_("loads"),
    N_("monitors"),
    N_("chargers"),
    N_("deferrable"),
    N_("critical"),
    N_("itinerary"),
    N_("saving"),
    N_("absorption voltage"),
    N_("age years"),
    N_("ageing pct year"),
    N_("altitude"),
    N_("any heading"),
    N_("availability"),
    N_("azimuth"),
    N_("batteries"),
    N_("cable resistance"),
    N_("capacity"),
    N_("capacity left with age"),
    N_("capacity set"),
    N_("capacity uncertainty"),
    N_("chance"),
    N_("chance of use"),
    N_("charge current max"),
    N_("charge temperature max"),
    N_("charge temperature min"),
    N_("chemistry"),
    N_("class"),
    N_("count"),
    N_("current limit"),
    N_("cutoff voltage"),
    N_("days"),
    N_("depth limit"),
    N_("discharge current max"),
    N_("efficiency"),
    N_("every days"),
    N_("first"),
    N_("from"),
    N_("full current"),
    N_("full voltage"),
    N_("gain error"),
    N_("height"),
    N_("hours per"),
    N_("increases with guests"),
    N_("indoor max"),
    N_("indoor min"),
    N_("kind"),
    N_("latitude"),
    N_("less"),
    N_("load uncertainty"),
    N_("load voltage max"),
    N_("location"),
    N_("longitude"),
    N_("loss"),
    N_("mismatch"),
    N_("module voc"),
    N_("modules in series"),
    N_("month"),
    N_("months"),
    N_("mounting"),
    N_("name"),
    N_("no load"),
    N_("nominal voltage"),
    N_("offset"),
    N_("peak"),
    N_("planning depth"),
    N_("power"),
    N_("rate"),
    N_("rating"),
    N_("reconnect soc"),
    N_("record low temperature"),
    N_("resume above soc"),
    N_("self consumption"),
    N_("setpoint"),
    N_("shed below soc"),
    N_("snow"),
    N_("snow days"),
    N_("soiling"),
    N_("source"),
    N_("spread"),
    N_("start soc"),
    N_("stop soc"),
    N_("strings in parallel"),
    N_("supply"),
    N_("surge"),
    N_("tier"),
    N_("tilt"),
    N_("until soc"),
    N_("warn below soc"),
    N_("watts"),
    N_("when"),
    N_("window"),
    N_("wired past the monitor"),
    N_("year starts"),
    N_("years"),
)


def word(text):
    """A word of a key in the document's language; one that is not listed stays.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return _(text) if text in WORDS else text


def key_words(key):
    """A key in plain words, and the unit that it ends in: ``arrays.wall.power_wp`` is ``Wall, power`` in Wp.

    Parameters
    ----------
    key : str
        Dotted key.

    Returns
    -------
    str
    """
    path = key.split(".")
    own = " ".join(path[1:-1])  # a name that the study gives
    label = say.given(name_in_words(own)) if own else say.sentence(word(name_in_words(path[0]).lower()))
    if len(path) == 1:
        return label, ""
    *name, unit = path[-1].split("_")
    unit = _(HOURS_A_DAY) if unit == "day" else UNITS.get(unit, "")
    what = PLAIN.get(path[-1], " ".join(name if unit else path[-1].split("_")))
    return (f"{label}, {say.given(word(what))}" if what else label), unit


def whatif_name(study, name):
    """Name of a what-if for a reader; a step of a sweep by its keys: ``Bank capacity 240 Ah``.

    Parameters
    ----------
    study : darkspell.study.Study
    name : str
        As in whatifs.csv.

    Returns
    -------
    str
    """
    for _title, step, changes in steps_of_sweeps(study.sweeps):
        if step == name:
            return say.sentence(", ".join(_step(key, value) for key, value in changes.items()))
    return name_in_words(str(name))


def _step(key, value):
    """One key of a step with its value and unit."""
    label, unit = key_words(key)
    label = label[:1].lower() + label[1:].replace(",", "")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return f"{label} {name_in_words(str(value)).lower()}"
    value, unit = key_value(value, unit)
    return f"{label} {plain(value)}{unit}" if unit == "°" else f"{label} {plain(value)} {unit}".strip()
