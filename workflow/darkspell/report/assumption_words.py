"""Keys that a study leaves open, and the values taken for them, in words for readers of a document."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.figures.number_format import name_in_words, plain
from darkspell.report.key_words import key_words, word
from darkspell.report.units import unit_words
from darkspell.study.key_tree import find, place_of
from darkspell.study.model import Study

MEANINGS = {
    "arrays.*.age_years": N_("Age of the modules"),
    "arrays.*.ageing_pct_year": N_("Power that the modules lose for each year of age"),
    "arrays.*.any_heading": N_("The array turns with a boat or vehicle"),
    "arrays.*.glass": N_("Cover glass of the modules, which reflects slanting light"),
    "arrays.*.mismatch_pct": N_("Loss because modules differ slightly"),
    "arrays.*.module_isc_temp_coefficient_pct_k": N_("Change of short-circuit current with cell temperature"),
    "arrays.*.module_voc_temp_coefficient_pct_k": N_("Change of open-circuit voltage with cell temperature"),
    "arrays.*.modules_in_series": N_("Modules in one string"),
    "arrays.*.mounting": N_("Mounting, which decides how warm the modules become"),
    "arrays.*.loss_pct": N_("All other losses of the array"),
    "arrays.*.own_controller.kind": N_("Kind of the array's own charge controller"),
    "arrays.*.own_controller.efficiency_pct": N_(
        "Efficiency of the array's own charge controller at half power"
    ),
    "arrays.*.own_controller.self_consumption_w": N_("Power that this controller always draws"),
    "arrays.*.power_wp": N_("Power at standard test conditions"),
    "arrays.*.shade_groups": N_("Groups of cells that can be bypassed"),
    "arrays.*.shade_wiring": N_("How groups of cells are wired"),
    "arrays.*.shades.*.months": N_("Months in which the obstacle casts its shadow"),
    "arrays.*.shades.*.opacity_pct": N_("Light that the obstacle blocks"),
    "arrays.*.shades.*.touched_pct": N_("Cell groups that its shadow touches at a time"),
    "arrays.*.snow": N_("What becomes of snow on the array"),
    "arrays.*.soiling_pct": N_("Light lost to dirt"),
    "arrays.*.temp_coefficient_pct_k": N_("Change of power with cell temperature"),
    "arrays.*.wiring_pct": N_("Loss in the array's cables in full sun"),
    "bank.capacity_uncertainty_pct": N_("Uncertainty of the present capacity (one standard deviation)"),
    "bank.charge_current_max_a": N_("Largest charge current"),
    "bank.cutoff_delay_s": N_("Time for which the voltage must stay low before loads are cut off"),
    "bank.cutoff_voltage_v": N_("Voltage below which loads are cut off"),
    "bank.depth_limit_pct": N_("Depth of discharge at which loads are cut off"),
    "bank.heater.setpoint_c": N_("Temperature at which the heater keeps the bank"),
    "bank.heater.temperature_rise_k": N_("Rise of the bank's temperature at full power of the heater"),
    "bank.indoor_max_c": N_("Highest temperature at the bank"),
    "bank.indoor_min_c": N_("Lowest temperature at the bank"),
    "bank.location": N_("Where the bank is"),
    "bank.planning_depth_pct": N_("Depth of discharge that normal use should not pass"),
    "bank.property_uncertainty_pct": N_(
        "Share of their published ranges over which the bank's properties are varied"
    ),
    "bank.rate_h": N_("Discharge time at which the capacity is rated"),
    "bank.reconnect_soc_pct": N_("State of charge at which loads are reconnected"),
    "bank.self_consumption_w": N_("Power that monitor, controller and protection always draw"),
    "bank.state_of_health_pct": N_("Present over rated capacity"),
    "bank.strings_in_parallel": N_("Strings of batteries in parallel"),
    "chargers.*.bypasses_shunt": N_("Its current bypasses the shunt of the monitor"),
    "chargers.*.chance_of_use_pct": N_("Days or nights on which it charges"),
    "chargers.*.days": N_("Days of the week on which it charges"),
    "chargers.*.every_days": N_("Days from one use to the next"),
    "chargers.*.months": N_("Months in which it charges"),
    "chargers.*.share_pct": N_("Share of the file's power that is counted"),
    "chargers.*.spread_pct": N_("Change of its hours from day to day (one standard deviation)"),
    "chargers.*.window": N_("Time of day at which it charges"),
    "climate.angstrom_a": N_("Share of the sun's light outside the atmosphere that arrives on sunless days"),
    "climate.angstrom_b": N_("Further share that arrives on days of sunshine from dawn to dusk"),
    "climate.fill_days": N_("Missing days of a measured year that may be filled"),
    "climate.source": N_("Source of the climate"),
    "climate.series.decimal": N_("Decimal mark of the weather file"),
    "climate.series.header_row": N_("Row of the weather file that names its columns"),
    "climate.series.hour_label": N_("Moment of the hour that a row's time means"),
    "climate.series.satellite": N_("The series is derived from satellites"),
    "climate.series.separator": N_("Separator of the columns of the weather file"),
    "climate.series.temp_unit": N_("Unit of the temperatures of the weather file"),
    "controller.bypasses_shunt": N_("The arrays' current bypasses the shunt of the monitor"),
    "controller.efficiency_pct": N_("Efficiency of the charge controller at half power"),
    "controller.self_consumption_w": N_("Power that the charge controller always draws"),
    "critical.resume_essential_above_soc_pct": N_(
        "State of charge at which essential loads shed for critical ones come back"
    ),
    "critical.shed_essential_below_soc_pct": N_(
        "State of charge below which essential loads are shed for critical ones, where there are any"
    ),
    "deferrable.resume_above_soc_pct": N_("State of charge at which deferrable loads come back"),
    "deferrable.shed_below_soc_pct": N_("State of charge below which deferrable loads are shed"),
    "engine.members": N_("Simulated years"),
    "engine.parameter_draws": N_("Parameter draws, over which these years are spread"),
    "engine.seed": N_("Number from which all random draws follow"),
    "generator.fuel_idle_l_per_h_kw": N_("Fuel of the generator at no load, for each kilowatt of rating"),
    "generator.fuel_l_per_kwh": N_("Further fuel for each kilowatt-hour"),
    "generator.start_soc_pct": N_("State of charge at which the generator starts"),
    "generator.stop_soc_pct": N_("State of charge at which it stops"),
    "generator.window": N_("Time of day at which the generator may run"),
    "inverter.always_on": N_("The inverter is always on"),
    "inverter.efficiency_full_pct": N_("Efficiency of the inverter at full power"),
    "inverter.efficiency_pct": N_("Efficiency of the inverter at half power"),
    "inverter.no_load_w": N_("Power that the inverter draws without a load"),
    "load_uncertainty_pct": N_("Uncertainty of the energy of all loads (one standard deviation)"),
    "loads.*.bypasses_shunt": N_("Its current bypasses the shunt of the monitor"),
    "loads.*.chance_of_use_pct": N_("Days on which it is used"),
    "loads.*.count": N_("Number of such appliances"),
    "loads.*.days": N_("Days of the week on which it is used"),
    "loads.*.hours_per_day": N_("Hours that it runs on a day of use"),
    "loads.*.increases_with_guests": N_("Guests increase it"),
    "loads.*.months": N_("Months in which it is used"),
    "loads.*.peak_watts": N_("Highest power of one"),
    "loads.*.spread_pct": N_("Change of its energy from day to day (one standard deviation)"),
    "loads.*.supply": N_("Supply: directly from the bank (dc) or through the inverter (ac)"),
    "loads.*.watts": N_("Power of one while it runs"),
    "loads.*.when": N_("When it is used, by who is there"),
    "loads.*.window": N_("Time of day at which it is used"),
    "monitors.*.ah_efficiency_set_pct": N_("Charge efficiency set in the monitor"),
    "monitors.*.capacity_set_ah": N_("Capacity set in the monitor"),
    "monitors.*.class_pct": N_("Accuracy class of shunt and meter"),
    "monitors.*.dead_band_ma": N_("Current below which it counts nothing"),
    "monitors.*.full_current_pct": N_(
        "Charging current below which it may call the bank full, over the capacity set"
    ),
    "monitors.*.full_dwell_min": N_("Time for which both conditions of a full bank must last"),
    "monitors.*.full_voltage_v": N_("Voltage above which it may call the bank full"),
    "monitors.*.gain_error_pct": N_("Error of its scale (one standard deviation)"),
    "monitors.*.kind": N_("Kind of monitor"),
    "monitors.*.offset_ma": N_("Current that it reads at zero current (one standard deviation)"),
    "monitors.*.offset_ma_per_k": N_("Change of that current with temperature"),
    "monitors.*.rate_exponent_set": N_("Exponent for fast discharge set in the monitor"),
    "monitors.*.rating_a": N_("Largest current that the shunt can measure"),
    "monitors.*.set_up": N_("Settings that are not given"),
    "monitors.*.table": N_("Bank state that its table is made for"),
    "monitors.*.table_error_mv": N_("Error of its table for the bank at hand (one standard deviation)"),
    "monitors.*.voltmeter_error_mv": N_("Error of its voltmeter (one standard deviation)"),
    "monitors.*.waits_for_rest": N_("It reads only while almost no current flows"),
    "monitors.*.warn_below_soc_pct": N_("Reading below which it warns"),
    "occupancy.at_home": N_("Days of the week on which people are there"),
    "occupancy.guests.*.more_pct": N_("Increase of the loads with guests"),
    "occupancy.saving.less_pct": N_("Reduction of use while people save"),
    "occupancy.saving.loads": N_("Loads that people save on"),
    "occupancy.saving.until_soc_pct": N_("Reading at which people stop saving"),
    "occupancy.unattended.longest_days": N_("Longest absence that is examined"),
    "occupancy.unattended.probability_pct": N_(
        "Probability with which loads must last while nobody is there"
    ),
    "short_night_floor_wh": N_("Essential energy missing in one hour from which a night counts as dark"),
    "site.albedo": N_("Light that the ground reflects"),
    "site.altitude_m": N_("Height above sea level"),
    "site.horizon_deg": N_("Height of the skyline, from north through east"),
    "site.utc_offset_h": N_("Local standard time minus UTC"),
    "site.year_starts": N_("First month of a simulated year"),
    "sizing.life_cycle.array_life_years": N_("Years after which modules are replaced"),
    "sizing.life_cycle.bank_disposal_per_ah": N_("Price of taking an old bank away"),
    "sizing.life_cycle.bank_replacement": N_("Work and transport of each replacement of the bank"),
    "sizing.life_cycle.discount_rate_pct": N_("Real discount rate"),
    "sizing.life_cycle.equipment": N_("Share of the fixed price that wears out"),
    "sizing.life_cycle.equipment_life_years": N_("Years after which that equipment is replaced"),
    "sizing.life_cycle.horizon_years": N_("Years over which costs are counted"),
    "sizing.life_cycle.visit": N_("Price of a maintenance visit"),
    "sizing.life_cycle.visits_per_year": N_("Maintenance visits a year"),
    "sizing.minimise": N_("What the choice among designs on target makes least"),
    "sizing.prices.fixed": N_("Price of the rest, the same for all designs"),
    "sizing.prices.fuel_years": N_("Years of fuel compared with the price of a module or battery"),
    "sizing.remedies": N_("Remedies are compared"),
    "system.cable_resistance_mohm": N_("Resistance of the cables between bank and loads"),
    "target.at_most": N_("Highest value of the target"),
    "target.chance_pct": N_("Probability with which this site must meet the target"),
    "target.full_charge.years_pct": N_("Years that must meet the target on full charges"),
    "target.statistic": N_("What the target limits"),
}
CHOICES = {
    "anti_reflective": N_("anti-reflective"),
    "open": N_("open rack"),
    "roof": N_("close to a roof"),
    "slides": N_("slides off"),
    "series": N_("in series"),
    "outdoors": N_("outdoors"),
    "indoors": N_("indoors"),
    "all": N_("all"),
    "any": N_("whoever is there"),
    "all_days": N_("all days"),
    "label": N_("from the bank's label"),
    "rested": N_("at rest"),
    "first_cost": N_("first cost"),
    "beginning": N_("beginning"),
    "atlas": N_("built-in atlas"),
    "july": N_("July"),
    "january": N_("January"),
    "shunt": N_("shunt"),
    "gauge": N_("voltage gauge"),
    "mppt": "MPPT",
    "pwm": "PWM",
    "lolp": N_("share of hours without essential power"),
}
SECTIONS = {
    "engine": N_("simulation"),
    "chargers": N_("charging"),
    "climate.series": N_("weather file"),
    "sizing.life_cycle": N_("costs"),
    "sizing.prices": N_("costs"),
}
YEAR = list(range(1, 13))


def meaning(key):
    """What a key is: ``Loads: number of such appliances``, ``Array “Roof”: age of the modules``.

    Parameters
    ----------
    key : str
        Dotted key with names of the study's own, or a * in their place.

    Returns
    -------
    str
    """
    pattern, names = _pattern(key)
    if pattern not in MEANINGS:
        return key_words(key)[0]
    words = _(MEANINGS[pattern])
    if "." not in pattern:
        return words
    first = _section(pattern)
    own = " ".join(f"“{say.given(name_in_words(name))}”" for name in names if name != "*")
    return _("{section}: {meaning}").format(section=f"{first} {own}".strip(), meaning=words)


def _section(pattern):
    parts = pattern.split(".")
    title = SECTIONS.get(".".join(parts[:2])) or SECTIONS.get(parts[0])
    return say.sentence(_(title) if title else word(name_in_words(parts[0]).lower()))


def _pattern(key):
    """A key with * in place of the study's own names, and those names."""
    known, made, names, parts = Study.model_fields, [], [], key.split(".")
    while parts:
        made.append(parts.pop(0))
        place = place_of(known[made[-1]])
        if place.entries and parts:
            made.append("*")
            names.append(parts.pop(0))
        known = {name: one for model in reversed(place.sections) for name, one in model.model_fields.items()}
        if not known:
            break
    if "itinerary" in made[:1] and "climate" in made:
        made = made[made.index("climate") :]
    elif made[:1] == ["itinerary"]:
        made = ["site", *made[2:]]
    return ".".join(made), names


def value_words(key, value, currency=""):
    """A value in words, with its unit: ``yes``, ``all months``, ``0 % in every month``, ``08:00 to 20:00``.

    Parameters
    ----------
    key : str
        Dotted key, as for `meaning`.
    value : object
    currency : str
        Of the study's prices.

    Returns
    -------
    str
    """
    place = find(key.split("."))
    unit = place.unit.replace("currency", currency) if place else ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, str):
        return _(CHOICES[value]) if value in CHOICES else say.given(value.replace("_", " "))
    if isinstance(value, list):
        return _list_words(value, unit)
    if isinstance(value, int | float):
        return _with_unit(plain(value), unit)
    return say.given(str(value))


def _with_unit(text, unit):
    if text == "1" and unit in ("days", "years"):
        unit = unit[:-1]
    shown = {"": "", "-": "", "deg": "°", "degC": "°C", "mohm": "mΩ"}.get(unit, unit)
    if shown == "°":
        return f"{text}°"
    return f"{text} {unit_words(shown)}".strip()


def _list_words(value, unit):
    if value == YEAR:
        return _("all months")
    if len(value) == 12 and len(set(value)) == 1:
        return _("{value} in every month").format(value=_with_unit(plain(value[0]), unit))
    if unit == "HH:MM":
        return say.to(*map(str, value))
    numbers = all(isinstance(one, int | float) for one in value)
    text = ", ".join(plain(one) if numbers else say.given(str(one)) for one in value)
    return _with_unit(text, unit)
