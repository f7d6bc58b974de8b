"""Arrays, controllers, other chargers, inverter and itinerary in words."""

from darkspell.core.calendar import MONTH_NAMES
from darkspell.report import wording as say
from darkspell.report.figures.number_format import name_in_words
from darkspell.study.days_and_months import DAY_NAMES, day_numbers

MOUNTING = {"open": "on an open rack", "roof": "close to the roof", "deck": "flat on the deck"}
CONTROLLER = {
    "mppt": "MPPT charge controller",
    "pwm": "PWM charge controller",
}
JOINS = "works by PWM"
COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def items(study, with_losses=True):
    """One line each for the parts that bring energy or change it, and for the places.

    Parameters
    ----------
    study : darkspell.study.Study
    with_losses : bool
        Whether to say what is taken off an array's power, and why.
    """
    yield from _arrays(study, with_losses)
    yield _controller(study)
    yield from _own_controllers(study)
    yield from _chargers(study)
    yield from _generator(study)
    yield from _inverter(study)
    yield from _places(study)
    yield from _people(study)


def direction(azimuth):
    """The point of the compass nearest to an azimuth [deg, north is 0].

    Parameters
    ----------
    azimuth : float
        [degrees]

    Returns
    -------
    str
    """
    return COMPASS[round(azimuth / 45.0) % 8]


def _arrays(study, with_losses):
    for name, array in study.arrays.items():
        text = f"Array “{_named(name)}”: {array.power_wp:g} Wp, {_slope(array)}, {MOUNTING[array.mounting]}"
        if not with_losses:
            yield f"{text}."
            continue
        text += f"; {array.loss_pct:g} % is taken off for {_rest(array)}"
        more = list(_further(array))
        yield text + (f"; also {say.listed(more)}." if more else ".")


def _slope(array):
    if array.tilt_by_date:
        slopes = (f"{tilt:g}° from {day} {MONTH_NAMES[month - 1]}" for month, day, tilt in array.tilts)
        text = f"sloped by hand through the year ({', '.join(slopes)})"
    elif array.tilt_deg == 0:
        return "level" + (", turning with its mount" if array.any_heading else "")
    else:
        text = f"sloped {array.tilt_deg:g}°"
    if array.any_heading:
        return f"{text}, turning with its mount"
    return f"{text} facing {direction(array.azimuth_deg)}"


def _rest(array):
    """What the general loss covers apart from the losses that are named."""
    named = {
        "wiring": array.wiring_pct,
        "dirt": any(array.soiling_pct),
        "shade": array.shades,
    }
    left = [word for word, given in named.items() if not given]
    return say.listed(left) if left else "all other losses"


def _further(array):
    if array.wiring_pct:
        yield f"{array.wiring_pct:g} % in the cables in full sun"
    if array.mismatch_pct:
        yield f"{array.mismatch_pct:g} % because modules are not alike"
    if array.age_years and array.ageing_pct_year:
        yield f"{array.age_years * array.ageing_pct_year:.3g} % for an age of {array.age_years:g} years"
    if any(array.soiling_pct):
        low, high = min(array.soiling_pct), max(array.soiling_pct)
        yield f"{low:g} % for dirt" if low == high else f"{low:g} to {high:g} % for dirt by the month"
    if array.shades:
        names = (f"“{say.given(name.replace('_', ' '))}”" for name in array.shades)
        yield f"the shadow of {say.listed(names)}"


def _controller(study):
    amps = study.controller.current_limit_a
    limit = "" if amps is None else f", limited to {amps:g} A"
    return f"{controller(study.controller.kind)}{limit}."


def controller(kind):
    """A kind of controller in words.

    Parameters
    ----------
    kind : str
        Value of ``controller.kind`` in a study.
    """
    return CONTROLLER.get(kind, str(kind))


def _own_controllers(study):
    for name, array in study.arrays.items():
        if array.own_controller:
            amps = array.own_controller.current_limit_a
            limit = "" if amps is None else f", limited to {amps:g} A"
            does = "works by MPPT" if array.own_controller.kind == "mppt" else JOINS
            yield f"“{_named(name)}” has a controller of its own that {does}{limit}."


def _chargers(study):
    for name, row in study.chargers.items():
        if row.kind == "alternator":
            text = (
                f"an engine's alternator ({row.label_a:g} A on its label) through a DC-DC charger of "
                f"{row.charger_a:g} A, {row.hours_per_day:g} hours on {row.chance_of_use_pct:g} % of "
                f"{'days' if row.days == 'all' else row.days}"
            )
        elif row.kind == "shore":
            text = f"a charger of {row.charger_a:g} A on a shore line, {_nights(row)}"
        else:
            text = "a turbine, by the hours of a file"
        yield f"Charger “{_named(name)}”: {text}{_months(row)}."


def _generator(study):
    generator = study.generator
    if generator is not None:
        yield (
            f"Generator: gives {generator.charge_w:g} W at the bank; it starts at {generator.start_soc_pct:g} % of "
            f"charge, or when loads have been cut off, and stops at {generator.stop_soc_pct:g} %, between "
            f"{generator.window[0]} and {generator.window[1]}."
        )


def _nights(row):
    if row.stays:
        spans = (f"{_date(stay.first)} to {_date(stay.last)}" for stay in row.stays.values())
        return say.listed(spans)
    return f"on {row.chance_of_use_pct:g} % of nights"


def _months(row):
    months = getattr(row, "months", range(1, 13))
    return "" if len(months) == 12 else f", in {say.listed(MONTH_NAMES[m - 1] for m in months)}"


def _inverter(study):
    inverter = study.inverter
    if inverter is None or not any(load.supply == "ac" for load in _rows(study)):
        return
    on = "left on" if inverter.always_on else "switched on only while something runs on it"
    yield (
        f"Inverter: {inverter.power_w:g} W, {inverter.efficiency_pct:g} % efficient at half power, drawing "
        f"{inverter.no_load_w:g} W by itself, {on}."
    )
    if inverter.cutoff_voltage_v is not None:
        yield (f"Below {inverter.cutoff_voltage_v:g} V the inverter switches off by itself; dc loads go on.")


def _rows(study):
    return [*study.loads.values(), *study.measured_loads.values()]


def _places(study):
    if study.itinerary:
        stops = (
            f"{say.given(stop.name)} ({_date(stop.first)} to {_date(stop.last)})"
            for stop in study.itinerary.values()
        )
        yield f"Under way: {say.listed(stops)}; all other days at {say.given(study.site.name)}."


def _people(study):
    people = study.occupancy
    if not (people.stays or people.absences or people.guests) and people.at_home == "all_days":
        yield "People: the loads assume the same use all year, without absences or guests."
    elif people.stays or people.at_home != "all_days":
        days = [f"on {_weekdays(people.at_home)}"] if people.at_home else []
        yield f"People are there only {say.listed([*days, *(f'from {span}' for span in _spans(people.stays))])}."
    for spans, words in ((people.absences, "Nobody is there"), (people.guests, "Guests")):
        if spans:
            yield f"{words}: {say.listed(_spans(spans))}."
    for when, words in (("home", "Only while people are there"), ("away", "Only while nobody is there")):
        names = [f"“{_named(name)}”" for name, load in study.loads.items() if load.when == when]
        if names:
            yield f"{words} {'runs' if len(names) == 1 else 'run'} {say.listed(names)}."


def _spans(spans):
    return [f"{_date(s.first)} to {_date(s.last)} (“{_named(name)}”)" for name, s in spans.items()]


def _weekdays(days):
    return (
        days if days in ("weekdays", "weekends") else say.listed(DAY_NAMES[day] for day in day_numbers(days))
    )


def bank_parts(bank):
    """What a bank is made of, and what its heater and its chargers do; sentences, none where nothing is given.

    Parameters
    ----------
    bank : darkspell.study Bank
    """
    if bank.blocks_in_series is not None:
        strings = bank.strings_in_parallel
        row = f"{bank.blocks_in_series} in series" if bank.blocks_in_series > 1 else "one"
        side = f", {strings} such strings in parallel" if strings > 1 else ""
        yield f"It is made of blocks of {bank.block_voltage_v:g} V, {row}{side}."
    if bank.heater is not None:
        pad = bank.heater
        yield f"A heating pad of {pad.power_w:g} W holds it at {pad.setpoint_c:g} °C and is never switched off."
    if bank.absorption_h is not None:
        yield f"After {bank.absorption_h:g} hours at the charging voltage the chargers fall back to float."
    if bank.reconnect_voltage_v is not None:
        yield (
            f"Loads cut off come back at {bank.reconnect_soc_pct:g} % of charge, or once the voltage reaches "
            f"{bank.reconnect_voltage_v:g} V."
        )


def _date(text):
    month, day = (int(part) for part in text.split("-"))
    return f"{day} {MONTH_NAMES[month - 1]}"


def _named(name):
    return say.given(name_in_words(name))
