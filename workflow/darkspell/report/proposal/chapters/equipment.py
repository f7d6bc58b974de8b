"""Arrays, controllers, other chargers, inverter and itinerary in words."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_name
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
        text = _("Array “{name}”: {power_wp:g} Wp, {slope}, {MOUNTING}").format(
            name=_named(name), power_wp=array.power_wp, slope=_slope(array), MOUNTING=MOUNTING[array.mounting]
        )
        if not with_losses:
            yield f"{text}."
            continue
        text += _("; {loss_pct:g} % is taken off for {rest}").format(
            loss_pct=array.loss_pct, rest=_rest(array)
        )
        more = list(_further(array))
        yield text + (_("; also {items}.").format(items=say.listed(more)) if more else ".")


def _slope(array):
    if array.tilt_by_date:
        slopes = (
            _("{tilt:g}° from {day} {month}").format(tilt=tilt, day=day, month=month_name(month))
            for month, day, tilt in array.tilts
        )
        text = _("sloped by hand through the year ({join})").format(join=", ".join(slopes))
    elif array.tilt_deg == 0:
        return "level" + (_(", turning with its mount") if array.any_heading else "")
    else:
        text = _("sloped {tilt_deg:g}°").format(tilt_deg=array.tilt_deg)
    if array.any_heading:
        return _("{text}, turning with its mount").format(text=text)
    return _("{text} facing {direction}").format(text=text, direction=direction(array.azimuth_deg))


def _rest(array):
    """What the general loss covers apart from the losses that are named."""
    named = {
        "wiring": array.wiring_pct,
        "dirt": any(array.soiling_pct),
        "shade": array.shades,
    }
    left = [word for word, given in named.items() if not given]
    return say.listed(left) if left else _("all other losses")


def _further(array):
    if array.wiring_pct:
        yield _("{wiring_pct:g} % in the cables in full sun").format(wiring_pct=array.wiring_pct)
    if array.mismatch_pct:
        yield _("{mismatch_pct:g} % because modules are not alike").format(mismatch_pct=array.mismatch_pct)
    if array.age_years and array.ageing_pct_year:
        yield _("{age_years:.3g} % for an age of {age_years_2:g} years").format(
            age_years=array.age_years * array.ageing_pct_year, age_years_2=array.age_years
        )
    if any(array.soiling_pct):
        low, high = min(array.soiling_pct), max(array.soiling_pct)
        yield (
            _("{low:g} % for dirt").format(low=low)
            if low == high
            else _("{low:g} to {high:g} % for dirt by the month").format(low=low, high=high)
        )
    if array.shades:
        names = (f"“{say.given(name.replace('_', ' '))}”" for name in array.shades)
        yield _("the shadow of {items}").format(items=say.listed(names))


def _controller(study):
    amps = study.controller.current_limit_a
    limit = "" if amps is None else _(", limited to {amps:g} A").format(amps=amps)
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
            limit = "" if amps is None else _(", limited to {amps:g} A").format(amps=amps)
            does = _("works by MPPT") if array.own_controller.kind == "mppt" else JOINS
            yield _("“{name}” has a controller of its own that {does}{limit}.").format(
                name=_named(name), does=does, limit=limit
            )


def _chargers(study):
    for name, row in study.chargers.items():
        if row.kind == "alternator":
            text = _(
                "an engine's alternator ({label_a:g} A on its label) through a DC-DC charger of "
                "{charger_a:g} A, {hours_per_day:g} hours on {chance_of_use_pct:g} % of {more}"
            ).format(
                label_a=row.label_a,
                charger_a=row.charger_a,
                hours_per_day=row.hours_per_day,
                chance_of_use_pct=row.chance_of_use_pct,
                more="days" if row.days == "all" else row.days,
            )
        elif row.kind == "shore":
            text = _("a charger of {charger_a:g} A on a shore line, {nights}").format(
                charger_a=row.charger_a, nights=_nights(row)
            )
        else:
            text = _("a turbine, by the hours of a file")
        yield _("Charger “{name}”: {text}{months}.").format(name=_named(name), text=text, months=_months(row))


def _generator(study):
    generator = study.generator
    if generator is not None:
        yield (
            _(
                "Generator: gives {charge_w:g} W at the bank; it starts at {start_soc_pct:g} % of "
                "charge, or when loads have been cut off, and stops at {stop_soc_pct:g} %, between "
                "{window} and {window_2}."
            ).format(
                charge_w=generator.charge_w,
                start_soc_pct=generator.start_soc_pct,
                stop_soc_pct=generator.stop_soc_pct,
                window=generator.window[0],
                window_2=generator.window[1],
            )
        )


def _nights(row):
    if row.stays:
        spans = (
            _("{date} to {date_2}").format(date=_date(stay.first), date_2=_date(stay.last))
            for stay in row.stays.values()
        )
        return say.listed(spans)
    return _("on {chance_of_use_pct:g} % of nights").format(chance_of_use_pct=row.chance_of_use_pct)


def _months(row):
    months = getattr(row, "months", range(1, 13))
    return (
        "" if len(months) == 12 else _(", in {items}").format(items=say.listed(month_name(m) for m in months))
    )


def _inverter(study):
    inverter = study.inverter
    if inverter is None or not any(load.supply == "ac" for load in _rows(study)):
        return
    on = _("left on") if inverter.always_on else _("switched on only while something runs on it")
    yield (
        _(
            "Inverter: {power_w:g} W, {efficiency_pct:g} % efficient at half power, drawing "
            "{no_load_w:g} W by itself, {on}."
        ).format(
            power_w=inverter.power_w,
            efficiency_pct=inverter.efficiency_pct,
            no_load_w=inverter.no_load_w,
            on=on,
        )
    )
    if inverter.cutoff_voltage_v is not None:
        yield (
            _("Below {cutoff_voltage_v:g} V the inverter switches off by itself; dc loads go on.").format(
                cutoff_voltage_v=inverter.cutoff_voltage_v
            )
        )


def _rows(study):
    return [*study.loads.values(), *study.measured_loads.values()]


def _places(study):
    if study.itinerary:
        stops = (
            _("{name} ({date} to {date_2})").format(
                name=say.given(stop.name), date=_date(stop.first), date_2=_date(stop.last)
            )
            for stop in study.itinerary.values()
        )
        yield _("Under way: {items}; all other days at {name}.").format(
            items=say.listed(stops), name=say.given(study.site.name)
        )


def _people(study):
    people = study.occupancy
    if not (people.stays or people.absences or people.guests) and people.at_home == "all_days":
        yield _("People: the loads assume the same use all year, without absences or guests.")
    elif people.stays or people.at_home != "all_days":
        days = [_("on {weekdays}").format(weekdays=_weekdays(people.at_home))] if people.at_home else []
        yield _("People are there only {items}.").format(
            items=say.listed([*days, *(f"from {span}" for span in _spans(people.stays))])
        )
    for spans, words in ((people.absences, _("Nobody is there")), (people.guests, _("Guests"))):
        if spans:
            yield f"{words}: {say.listed(_spans(spans))}."
    for when, words in (
        ("home", _("Only while people are there")),
        ("away", _("Only while nobody is there")),
    ):
        names = [f"“{_named(name)}”" for name, load in study.loads.items() if load.when == when]
        if names:
            yield f"{words} {'runs' if len(names) == 1 else 'run'} {say.listed(names)}."


def _spans(spans):
    return [
        _("{date} to {date_2} (“{name}”)").format(
            date=_date(s.first), date_2=_date(s.last), name=_named(name)
        )
        for name, s in spans.items()
    ]


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
        row = (
            _("{blocks_in_series} in series").format(blocks_in_series=bank.blocks_in_series)
            if bank.blocks_in_series > 1
            else "one"
        )
        side = _(", {strings} such strings in parallel").format(strings=strings) if strings > 1 else ""
        yield _("It is made of blocks of {block_voltage_v:g} V, {row}{side}.").format(
            block_voltage_v=bank.block_voltage_v, row=row, side=side
        )
    if bank.heater is not None:
        pad = bank.heater
        yield _(
            "A heating pad of {power_w:g} W holds it at {setpoint_c:g} °C and is never switched off."
        ).format(power_w=pad.power_w, setpoint_c=pad.setpoint_c)
    if bank.absorption_h is not None:
        yield _(
            "After {absorption_h:g} hours at the charging voltage the chargers fall back to float."
        ).format(absorption_h=bank.absorption_h)
    if bank.reconnect_voltage_v is not None:
        yield (
            _(
                "Loads cut off come back at {reconnect_soc_pct:g} % of charge, or once the voltage "
                "reaches {reconnect_voltage_v:g} V."
            ).format(reconnect_soc_pct=bank.reconnect_soc_pct, reconnect_voltage_v=bank.reconnect_voltage_v)
        )


def _date(text):
    month, day = (int(part) for part in text.split("-"))
    return f"{day} {month_name(month)}"


def _named(name):
    return say.given(name_in_words(name))
