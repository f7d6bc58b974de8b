"""The system as a one-line diagram, with the ratings that the study gives."""

from dataclasses import dataclass, field

from darkspell.core.messages import N_, _
from darkspell.hand_check.electrical import cold_string_voltage, greatest_load, highest_current
from darkspell.loads.budget import appliances_from
from darkspell.pv.ratings import charging_voltage
from darkspell.report.figures import symbols
from darkspell.report.figures.layout import Finding, Page, wrapped
from darkspell.report.figures.number_format import name_in_words, number, plain, sentence_list
from darkspell.report.figures.style import SMALL, WIDTH_MM, WORDS
from darkspell.report.units import temperature

ROW = 19.0  # height of a source [mm]
LINE_MM = 3.6  # height of a line of text [mm]
TEXT_MM = 36.0  # width of the words on the right [mm]
TAIL = 39.0  # height below the rows, for shunt, fuse and battery [mm]
# Places along the line, from the left edge [mm].
SOURCE, NAME, ISOLATOR, JOIN, CONTROL, PAST_IN, BUS = 9.0, 18.0, 51.0, 57.0, 65.0, 80.0, 84.0
PAST_OUT, FUSE, SWITCH, CONVERT, END, LOADS = 88.0, 94.0, 101.0, 110.0, 120.0, 121.5
METER = 66.0
SHORT = {
    "flooded": N_("flooded lead-acid"), "agm": N_("AGM lead-acid"), "gel": N_("gel lead-acid"),
    "lfp": N_("lithium iron phosphate"), "nmc": N_("lithium NMC"), "naion": N_("sodium-ion"),
    "nicd": N_("nickel-cadmium"), "nife": N_("nickel-iron"),
}  # fmt: skip
TIERS = {
    "uninterruptible": N_("Never switched off"),
    "critical": N_("Critical"),
    "essential": N_("Essential"),
    "deferrable": N_("Can be shed"),
}


@dataclass(frozen=True)
class Source:
    """A source and the device between it and the bus.

    Parameters
    ----------
    kind : {"array", "alternator", "shore", "turbine", "generator"}
    words, device : list of str
        Name and ratings of the source; of its controller or charger, empty where it joins the one above.
    past : bool
        Whether its current does not pass the shunt.
    shared : bool
        Whether it shares a controller with other arrays.
    """

    kind: str
    words: list
    device: list
    past: bool = False
    shared: bool = False


@dataclass(frozen=True)
class Feeder:
    """A group of loads that are switched together.

    Parameters
    ----------
    tier : {"uninterruptible", "critical", "essential", "deferrable"}
    words : list of str
        What hangs on it, with its power.
    inverter : list of str
        Ratings of the inverter that feeds it; empty for direct current.
    past : bool
        Whether its current does not pass the shunt.
    """

    tier: str
    words: list
    inverter: list = field(default_factory=list)
    past: bool = False


def sources(study):
    """Sources from the top of the diagram down; arrays without a controller of their own come first.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    list of Source
    """
    shared = [row for row in study.arrays.items() if row[1].own_controller is None]
    owned = [row for row in study.arrays.items() if row[1].own_controller is not None]
    main = _controller(study.controller)
    made = [
        Source("array", _array(study, *row), main if n == 0 else [], study.controller.bypasses_shunt, True)
        for n, row in enumerate(shared)
    ]
    made += [
        Source("array", _array(study, *row), _controller(row[1].own_controller),
               study.controller.bypasses_shunt)
        for row in owned
    ]  # fmt: skip
    for name, row in study.chargers.items():
        made.append(Source(row.kind, *_charger(name, row), row.bypasses_shunt))
    if study.generator is not None:
        made.append(
            Source("generator", [_("Generator")], [_("Charger"), f"{plain(study.generator.charge_w)} W"])
        )
    return sorted(made, key=lambda source: source.past)


def feeders(study):
    """Groups of loads; those that do not pass the shunt last; list of Feeder.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    rows = [(name, row) for name, row in (study.loads | study.measured_loads).items()]
    made = []
    for tier in TIERS:
        for past in (True, False):
            for supply in ("dc", "ac"):
                group = [
                    (name, row)
                    for name, row in rows
                    if (row.tier, row.bypasses_shunt, row.supply) == (tier, past, supply)
                ]
                if group:
                    made.append(Feeder(tier, _loads(study, tier, group), _inverter(study, supply), past))
    if study.bank.heater is not None:
        made.append(Feeder("uninterruptible", [_("Bank heater"), f"{plain(study.bank.heater.power_w)} W"]))
    return sorted(made, key=lambda feeder: feeder.past)


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    study = results.study
    amps_in, amps_out = currents(study)
    bank = _bank(study)[0]
    return Finding(
        title=_("Expect up to {amps_in} A into the bank and up to {amps_out} A out of it").format(
            amps_in=number(amps_in), amps_out=number(amps_out)
        ),
        note=_("One-line diagram: each line is both conductors of a circuit."),
        caption=_("Fuses, cables and switches are for a licensed practitioner to rate and place."),
        alt=(
            _(
                "Sources on the left: {sources}. They join a direct-current bus with {bank}. Loads on the "
                "right, by priority: {priorities}."
            ).format(
                sources=sentence_list(one.words[0] for one in sources(study)),
                bank=bank,
                priorities=sentence_list(dict.fromkeys(_(TIERS[one.tier]).lower() for one in feeders(study))),
            )
        ),
    )


def currents(study):
    """Largest current into the bank, by the ratings, and out of it, by the loads.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    amps_in, amps_out : float
        [A]; what goes out is taken at the cut-off voltage.
    """
    volts = charging_voltage(study)
    amps_in = highest_current(study, volts)
    amps_in += sum(getattr(row, "charger_a", 0.0) for row in study.chargers.values())
    if study.generator is not None:
        amps_in += study.generator.charge_w / volts
    watts = greatest_load(appliances_from(study)) + study.self_consumption_w
    return float(amps_in), float(watts / study.bank.cutoff_voltage_v)


def page(results):
    """The whole figure and its words; (Page, Finding).

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    page : darkspell.report.figures.layout.Page
    finding : darkspell.report.figures.layout.Finding
    """
    study, words = results.study, finding(results)
    left, right = sources(study), feeders(study)
    heights = [
        max(ROW - 5.0, LINE_MM * len(_folded(row.words)) + 4.0 + 4.0 * bool(row.inverter)) for row in right
    ]
    rows = max(ROW * len(left), sum(heights))
    sheet = Page(words, rows + TAIL)
    ax = sheet.axes(0, 0, WIDTH_MM, rows + TAIL)
    ax.set_axis_off()
    ax.set_xlim(0, WIDTH_MM)
    ax.set_ylim(0, rows + TAIL)
    top = TAIL + rows
    at_left = [top - ROW * n - 14.0 for n in range(len(left))]
    at_right = [top - sum(heights[:n]) - heights[n] / 2 for n in range(len(right))]
    symbols.wire(ax, (BUS, top - 6.0), (BUS, TAIL - 3.0), width=2.4)
    ax.text(BUS, top - 4.5, f"{study.system.nominal_voltage_v} V", ha="center", size=SMALL, color=WORDS)
    _draw_sources(ax, left, at_left)
    _draw_feeders(ax, right, at_right)
    _draw_bank(ax, study)
    return sheet, words


def _array(study, name, row):
    low = study.site.record_low_temperature_c
    words = [name_in_words(name), f"{plain(row.power_wp)} Wp"]
    if row.module_voc_v is not None and low is not None:
        words.append(
            _("{voltage} V open, at {temperature}").format(
                voltage=number(cold_string_voltage(row, low)), temperature=temperature(low)
            )
        )
    return words


def _controller(row):
    words = [_("{kind} controller").format(kind=row.kind.upper())]
    limits = [f"{plain(row.current_limit_a)} A"] if row.current_limit_a is not None else []
    if getattr(row, "input_voltage_max_v", None) is not None:
        limits.append(_("up to {voltage} V").format(voltage=plain(row.input_voltage_max_v)))
    return [*words, ", ".join(limits)] if limits else words


def _charger(name, row):
    label = name_in_words(name)
    if row.kind == "alternator":
        return [label, _("alternator"), f"{plain(row.label_a)} A"], [
            _("DC-DC charger"),
            f"{plain(row.charger_a)} A",
        ]
    if row.kind == "shore":
        return [label, _("shore line")], [_("Charger"), f"{plain(row.charger_a)} A"]
    return [label, _("turbine")], [_("Controller")]


def _loads(study, tier, group):
    watts = sum(row.watts * row.count for _index, row in group if hasattr(row, "watts"))
    off = {"essential": 100 - study.bank.depth_limit_pct, "deferrable": study.deferrable.shed_below_soc_pct}
    if study.has_critical:
        off |= {"critical": off["essential"], "essential": study.critical.shed_essential_below_soc_pct}
    ratings = [f"{number(watts)} W"] if watts else []
    ratings += [_("off at {off} % charge").format(off=plain(off[tier]))] if tier in off else []
    names = name_in_words(", ".join(name_in_words(name).lower() for name, _index in group))
    return [_(TIERS[tier]), names, *([", ".join(ratings)] if ratings else [])]


def _inverter(study, supply):
    if supply == "dc" or study.inverter is None:
        return []
    return [_("Inverter {power_w} W").format(power_w=plain(study.inverter.power_w))]


def _bank(study):
    bank, volts = study.bank, study.system.nominal_voltage_v
    held = number(bank.capacity_ah * volts / 1000.0, 1)
    return [
        _("{capacity} Ah at {voltage} V").format(capacity=plain(bank.capacity_ah), voltage=volts),
        _("about {energy} kWh").format(energy=held),
        _(SHORT[bank.chemistry]),
    ]


def _folded(lines):
    """Lines as they fit the right-hand column: list of (text, weight), the first bold."""
    return [
        (part, "normal" if n else "bold")
        for n, line in enumerate(lines)
        for part in wrapped(line, TEXT_MM, SMALL, "normal" if n else "bold")
    ]


def _column(ax, x, top, lines, **how):
    """Lines of text downwards from `top`; list of (text, weight)."""
    for n, (text, weight) in enumerate(lines):
        ax.text(x, top - LINE_MM * n, text, size=SMALL, weight=weight, color=WORDS, va="top", zorder=5,
                parse_math=False, **how)  # fmt: skip


def _tap(past, start):
    """Where a conductor ends that does not pass the shunt: points from its row to the bank's side of the shunt."""
    x = PAST_IN if past == "in" else PAST_OUT
    return (x, start), (x, TAIL - 17.0), (BUS, TAIL - 17.0)


def _draw_sources(ax, rows, levels):
    shared = [y for row, y in zip(rows, levels, strict=True) if row.kind == "array" and row.shared]
    for row, y in zip(rows, levels, strict=True):
        _source_symbol(ax, row, y)
        lines = [(text, "normal" if n else "bold") for n, text in enumerate(row.words)]
        _column(ax, NAME, y + 2.8 + LINE_MM * len(lines), lines)
        if not row.device:
            symbols.wire(ax, (SOURCE, y), (JOIN, y))
            continue
        symbols.wire(ax, (SOURCE, y), (PAST_IN if row.past else BUS, y))
        symbols.converter(ax, CONTROL, y, "~" if row.kind in ("shore", "generator") else "=", "=")
        lines = [(text, "normal") for text in row.device]
        _column(ax, CONTROL + 2.0, y + 6.0 + LINE_MM * len(lines), lines, ha="center")
        if row.past:
            symbols.wire(ax, *_tap("in", y))
            symbols.junction(ax, BUS, TAIL - 17.0)
        else:
            symbols.junction(ax, BUS, y)
    if len(shared) > 1:
        symbols.wire(ax, (JOIN, max(shared)), (JOIN, min(shared)))
        symbols.junction(ax, JOIN, max(shared))


def _source_symbol(ax, row, y):
    if row.kind == "array":
        symbols.array(ax, SOURCE, y)
        symbols.switch(ax, ISOLATOR, y)
    elif row.kind == "shore":
        symbols.supply(ax, SOURCE, y)
    else:
        symbols.machine(ax, SOURCE, y, "~" if row.kind == "generator" else "=")


def _draw_feeders(ax, rows, levels):
    for row, y in zip(rows, levels, strict=True):
        symbols.wire(ax, (PAST_OUT if row.past else BUS, y), (END - 4.0, y))
        if row.past:
            symbols.wire(ax, *_tap("out", y))
            symbols.junction(ax, BUS, TAIL - 17.0)
        else:
            symbols.junction(ax, BUS, y)
        symbols.fuse(ax, FUSE, y)
        if row.tier != "uninterruptible":
            symbols.switch(ax, SWITCH, y)
        if row.inverter:
            symbols.converter(ax, CONVERT, y, "=", "~")
            _column(ax, CONVERT + 5.0, y - 5.6, [(text, "normal") for text in row.inverter], ha="right")
        symbols.feeder(ax, END, y)
        lines = _folded(row.words)
        _column(ax, LOADS, y + LINE_MM * len(lines) / 2, lines)


def _draw_bank(ax, study):
    top = TAIL - 3.0
    symbols.wire(ax, (BUS, top), (BUS, TAIL - 28.0))
    named = {kind: [name_in_words(n) for n, row in study.monitors.items() if row.kind == kind]
             for kind in ("shunt", "gauge")}  # fmt: skip
    if named["shunt"]:
        symbols.shunt(ax, BUS, TAIL - 10.0)
        for up in (-2.0, 2.0):
            symbols.wire(ax, (BUS - 5.5, TAIL - 10.0 + up), (METER, TAIL - 10.0 + up), width=0.6)
        symbols.meter(ax, METER, TAIL - 10.0, "%")
        _label_left(ax, TAIL - 10.0, _("Shunt and display"), named["shunt"])
    if named["gauge"]:
        symbols.wire(ax, (BUS, TAIL - 26.0), (METER, TAIL - 26.0), width=0.6)
        symbols.meter(ax, METER, TAIL - 26.0, "V")
        _label_left(ax, TAIL - 26.0, _("Voltage gauge"), named["gauge"])
    symbols.fuse(ax, BUS, TAIL - 22.0, upright=True)
    symbols.battery(ax, BUS, TAIL - 31.0)
    ax.text(BUS + 4.0, TAIL - 22.0, _("main fuse"), size=SMALL, color=WORDS, va="center")
    size, energy, kind = _bank(study)
    lines = [(_("Bank"), "bold"), (f"{size}, {energy}", "normal"), (kind, "normal")]
    _column(ax, BUS + 7.5, TAIL - 26.5, lines)


def _label_left(ax, y, kind, names):
    """Name of an instrument to the left of its circle."""
    for up, text, weight in ((0.6, kind, "bold"), (-3.0, sentence_list(names), "normal")):
        ax.text(
            METER - 5.0, y + up, text, size=SMALL, weight=weight, color=WORDS, ha="right", parse_math=False
        )
