"""Arrays, controllers, other chargers, inverter and itinerary in words."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_and_day, month_name
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.units import temperature
from darkspell.study.days_and_months import day_numbers

MOUNTING = {"open": N_("on an open rack"), "roof": N_("close to the roof"), "deck": N_("flat on the deck")}
CONTROLLER = {
    "mppt": N_("MPPT charge controller"),
    "pwm": N_("PWM charge controller"),
}
GROUPS = {"weekdays": N_("weekdays"), "weekends": N_("weekends")}
DAYS = (
    N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday"), N_("Saturday"), N_("Sunday")
)  # fmt: skip
COMPASS = (
    N_("north"),
    N_("north-east"),
    N_("east"),
    N_("south-east"),
    N_("south"),
    N_("south-west"),
    N_("west"),
    N_("north-west"),
)


def items(study, with_losses=True):
    """One line each for the parts that bring energy or change it, and for the places.

    Parameters
    ----------
    study : darkspell.study.Study
    with_losses : bool
        Whether to say what is taken off an array's power, and why, and to name controllers and an engine's ratings;
        the client's document has these in its diagram.
    """
    yield from _arrays(study, with_losses)
    if with_losses:
        yield _controller(study)
        yield from _own_controllers(study)
    yield from _chargers(study, with_losses)
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
    return _(COMPASS[round(azimuth / 45.0) % 8])


def _arrays(study, with_losses):
    for name, array in study.arrays.items():
        text = _("Array “{name}”: {power_wp:g} Wp, {slope}, {mounting}").format(
            name=_named(name),
            power_wp=array.power_wp,
            slope=_slope(array),
            mounting=_(MOUNTING[array.mounting]),
        )
        if not with_losses:
            yield f"{text}."
            continue
        text = _("{array}; {loss_pct:g} % is taken off for {causes}").format(
            array=text, loss_pct=array.loss_pct, causes=_rest(array)
        )
        more = list(_further(array))
        yield _("{array}; also {losses}.").format(array=text, losses=say.listed(more)) if more else f"{text}."


def _slope(array):
    if array.tilt_by_date:
        slopes = (
            _("{tilt:g}° from {day}").format(tilt=tilt, day=month_and_day(month, day))
            for month, day, tilt in array.tilts
        )
        text = _("sloped by hand through the year ({slopes})").format(slopes=", ".join(slopes))
    elif array.tilt_deg == 0:
        text = _("level")
    else:
        text = _("sloped {tilt:g}°").format(tilt=array.tilt_deg)
    if array.any_heading:
        return _("{slope}, turning with its mount").format(slope=text)
    if array.tilt_deg == 0 and not array.tilt_by_date:
        return text
    return _("{slope} facing {direction}").format(slope=text, direction=direction(array.azimuth_deg))


def _rest(array):
    """What the general loss covers apart from the losses that are named."""
    named = {
        N_("wiring"): array.wiring_pct,
        N_("dirt"): any(array.soiling_pct),
        N_("shade"): array.shades,
    }
    left = [_(word) for word, given in named.items() if not given]
    return say.listed(left) if left else _("all other losses")


def _further(array):
    if array.wiring_pct:
        yield _("{wiring_pct:g} % in the cables in full sun").format(wiring_pct=array.wiring_pct)
    if array.mismatch_pct:
        yield _("{mismatch_pct:g} % because modules are not alike").format(mismatch_pct=array.mismatch_pct)
    if array.age_years and array.ageing_pct_year:
        yield _("{share:.3g} % for an age of {age:g} years").format(
            share=array.age_years * array.ageing_pct_year, age=array.age_years
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
        yield _("the shadow of {what}").format(what=say.listed(names))


def _controller(study):
    amps, kind = study.controller.current_limit_a, controller(study.controller.kind)
    if amps is None:
        return f"{kind}."
    return _("{controller}, limited to {amps:g} A.").format(controller=kind, amps=amps)


def controller(kind):
    """A kind of controller in words.

    Parameters
    ----------
    kind : str
        Value of ``controller.kind`` in a study.
    """
    return _(CONTROLLER[kind]) if kind in CONTROLLER else str(kind)


def _own_controllers(study):
    for name, array in study.arrays.items():
        if array.own_controller:
            text = (
                _("“{array}” has a controller of its own that works by MPPT")
                if array.own_controller.kind == "mppt"
                else _("“{array}” has a controller of its own that works by PWM")
            ).format(array=_named(name))
            amps = array.own_controller.current_limit_a
            if amps is not None:
                text = _("{controller}, limited to {amps:g} A").format(controller=text, amps=amps)
            yield f"{text}."


def _chargers(study, with_ratings):
    for name, row in study.chargers.items():
        if row.kind == "alternator":
            text = (
                _(
                    "an engine's alternator ({label_a:g} A on its label) through a DC-DC charger of {charger_a:g} A, "
                    "{hours:g} hours on {chance:g} % of {days}"
                )
                if with_ratings
                else _("an engine's alternator, {hours:g} hours on {chance:g} % of {days}")
            ).format(
                label_a=row.label_a,
                charger_a=row.charger_a,
                hours=row.hours_per_day,
                chance=row.chance_of_use_pct,
                days=_("days") if row.days == "all" else _weekdays(row.days),
            )
        elif row.kind == "shore":
            text = _("a charger of {charger_a:g} A on a shore line, {nights}").format(
                charger_a=row.charger_a, nights=_nights(row)
            )
        else:
            text = _("a turbine, by the hours of a file")
        months = getattr(row, "months", range(1, 13))
        if len(months) < 12:
            named = say.listed(month_name(month) for month in months)
            text = _("{charger}, in {months}").format(charger=text, months=named)
        yield _("Charger “{name}”: {charger}.").format(name=_named(name), charger=text)


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
            _("{low} to {high}").format(low=_date(stay.first), high=_date(stay.last))
            for stay in row.stays.values()
        )
        return say.listed(spans)
    return _("on {chance_of_use_pct:g} % of nights").format(chance_of_use_pct=row.chance_of_use_pct)


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
        yield _("People: no absences and no guests are given.")
    elif people.stays or people.at_home != "all_days":
        when = [_("on {days}").format(days=_weekdays(people.at_home))] if people.at_home else []
        when += [_("from {span}").format(span=span) for span in _spans(people.stays)]
        yield _("People are there only {when}.").format(when=say.listed(when))
    if people.absences:
        yield _("Nobody is there: {spans}.").format(spans=say.listed(_spans(people.absences)))
    if people.guests:
        yield _("Guests: {spans}.").format(spans=say.listed(_spans(people.guests)))
    for when in ("home", "away"):
        names = [
            _("“{name}”").format(name=_named(name)) for name, load in study.loads.items() if load.when == when
        ]
        if names:
            text = (
                _("Used only while people are there: {loads}.")
                if when == "home"
                else _("Used only while nobody is there: {loads}.")
            )
            yield text.format(loads=say.listed(names))


def _spans(spans):
    return [
        _("{date} to {date_2} (“{name}”)").format(
            date=_date(s.first), date_2=_date(s.last), name=_named(name)
        )
        for name, s in spans.items()
    ]


def _weekdays(days):
    if days in GROUPS:
        return _(GROUPS[days])
    return say.listed(_(DAYS[day]) for day in day_numbers(days))


def bank_parts(bank):
    """What a bank is made of, and what its heater and its chargers do; sentences, none where nothing is given.

    Parameters
    ----------
    bank : darkspell.study Bank
    """
    if bank.blocks_in_series is not None:
        row = (
            _("{count} in series").format(count=bank.blocks_in_series)
            if bank.blocks_in_series > 1
            else _("one")
        )
        if bank.strings_in_parallel > 1:
            row = _("{row}, {count} such strings in parallel").format(row=row, count=bank.strings_in_parallel)
        yield _("It is made of blocks of {voltage:g} V, {row}.").format(voltage=bank.block_voltage_v, row=row)
    if bank.heater is not None:
        pad = bank.heater
        yield _("A heating pad of {power_w:g} W holds it at {temperature} and is never switched off.").format(
            power_w=pad.power_w, temperature=temperature(pad.setpoint_c)
        )
    if bank.absorption_h is not None:
        yield _("After {hours:g} hours at the charging voltage the chargers fall back to float.").format(
            hours=bank.absorption_h
        )
    if bank.reconnect_voltage_v is not None:
        yield _(
            "Loads cut off come back at {charge:g} % of charge, or once the voltage reaches {voltage:g} V."
        ).format(charge=bank.reconnect_soc_pct, voltage=bank.reconnect_voltage_v)


def _date(text):
    month, day = (int(part) for part in text.split("-"))
    return month_and_day(month, day)


def _named(name):
    return say.given(name_in_words(name))
