"""A commented study file to start from."""

from pathlib import Path
from typing import NamedTuple

from darkspell.core.constants import constant
from darkspell.core.errors import StudyError
from darkspell.study.loader import named, study_from
from darkspell.study.yaml_reader import read_yaml

CAPACITY_AH = {
    "flooded": 300, "agm": 300, "gel": 300, "lfp": 200, "nmc": 100, "naion": 100, "nicd": 250, "nife": 250,
}  # fmt: skip
MILD_C = 5  # mean of the coldest month below which frost is likely; our guess
FROST = """\
  # heater: {{power_w: 60}}            # no charge in frost; the coldest month here has {coldest:g} degC
"""
TEXT = """\
# A study to start from. Its appliances and prices are invented: put your own in.
# Every key, with its unit, default and range: config/README.md. Keys behind a # are optional.
#   darkspell check {path}
#   darkspell run {path}

document:
  title: Power for a small place of one's own
  client: The client's name
  prepared_by: Your name
  note: Appliances and prices are invented.
  currency: EUR

site:
  name: The place
  latitude_deg: {latitude:g}
  longitude_deg: {longitude:g}
  altitude_m: 0                      # above sea level; at 0, temperatures of the mean height around; high up more sun
  # albedo: 0.2                      # 0.8 over fresh snow
  # record_low_temperature_c: {low}    # from a climate table; for the voltage of cold strings
  # horizon_deg: [0, 5, 20, 5]       # skyline to north, east, south and west, or finer

# itinerary:                           # a moving home; all other days are spent at the site
#   coast: {{name: The coast, first: "05-01", last: "08-31", latitude_deg: 50, longitude_deg: 1}}

climate:
  source: atlas                      # built in; better: twelve values of a solar atlas, as below
  # source: monthly
  # ghi_kwh_m2_day: {ghi}     # on the flat, January to December{whose}
  # temp_air_c: {temp}
  # source: typical_year
  # file: weather.epw                # EPW, TMY3 or TMY2, in the folder of this file
  # source: measured                 # years measured at the place: the best there is
  # file: record.csv
  # series: {{step: daily, time_columns: [date], ghi_column: ghi, ghi_unit: kWh/m2}}   # or step: hourly
  # source: satellite                # downloaded once, kept in the folder weather

system:
  nominal_voltage_v: {nominal}              # 12, 24 or 48
  cable_resistance_mohm: 5           # bank to loads, there and back

arrays:
  roof:                              # names are yours: letters, digits, _ and -
    power_wp: 400
    tilt_deg: {tilt:g}
    azimuth_deg: {azimuth:g}                 # 0 north, 90 east, 180 south
    mounting: open                   # open, roof or deck
    loss_pct: 10                     # wiring, dirt, mismatch, shade; or name them one by one:
    # wiring_pct: 2                    # in full sun
    # soiling_pct: [3, 3, 3, 3, 2, 2, 2, 2, 2, 3, 3, 3]      # January to December
    # any_heading: true                # on a boat or vehicle that may face any way
    # tilt_by_date: {{"04-01": {april}, "10-01": {october}}}                  # sloped by hand, from these days on
    # shades:
    #   tree: {{from_deg: 90, to_deg: 120, height_deg: 30, opacity_pct: 70}}

controller:
  kind: mppt                         # mppt or pwm
  efficiency_pct: 96
  # current_limit_a: 30
  # input_voltage_max_v: 100
  # absorption_voltage_v: {absorption:g}       # its setting; by chemistry without it

# chargers:                            # other than the arrays
#   engine: {{kind: alternator, charger_a: 30, label_a: 90, hours_per_day: 2, chance_of_use_pct: 20}}
#   quay: {{kind: shore, charger_a: 20, stays: {{easter: {{first: "04-02", last: "04-06"}}}}}}
#   creek: {{kind: turbine, file: creek.csv}}                  # hourly watts, whole years

bank:
  chemistry: {chemistry}
  capacity_ah: {capacity:g}
  location: indoors                  # outdoors follows the weather
  indoor_min_c: 5
  indoor_max_c: 25
  # self_consumption_w: 0.5            # standing draw, after cut-off too: monitor, controller, protection
  # state_of_health_pct: 80             # present over rated capacity
  # second_capacity_pct: {slow:g}         # of capacity_ah, drawn as slowly as below, from the data sheet
  # second_rate_h: 100
{frost}
loads:                               # deferrable: shed first; essential: served as long as the bank can;
                                     # critical: essential loads are shed for it (a vaccine fridge, a radio);
                                     # uninterruptible: never disconnected (bilge pump, navigation lights, gas alarm)
  lights:
    watts: 5
    count: 5
    hours_per_day: 4
    tier: essential
    window: ["17:00", "23:00"]       # local standard time, quoted; may pass midnight
  fridge:                            # in place of watts: amps, wh_per_day, or kwh_per_year from an energy label
    watts: 45
    peak_watts: 120                  # as the motor starts
    hours_per_day: 8                 # a third of the time that it is plugged in; or duty_pct: 33
    tier: essential
    # by_temperature: {{full_at_c: 25, none_at_c: 5}}          # its hours at 25 degC, none at 5
  telephones:
    watts: 10
    count: 2
    hours_per_day: 2
    tier: deferrable
    window: ["08:00", "22:00"]
  laptop:
    watts: 50
    hours_per_day: 3
    tier: deferrable
    chance_of_use_pct: 70            # not every day
    # months: {summer}              # not all year
    # days: Fri-Sun                  # or weekdays, weekends, [Mon, Thu]
    # when: home                     # stops while nobody is there; also any, away, guests
    # supply: ac                     # through the inverter

# inverter: {{power_w: 600, no_load_w: 8, efficiency_pct: 91, efficiency_full_pct: 87, always_on: false}}

# occupancy:
#   absences: {{november: {{first: "11-01", last: "11-30"}}}}         # for loads with when: home or away
#   unattended: {{probability_pct: 90}}  # how long can I leave it?
#   saving: {{below_soc_pct: 40}}        # people who save while the monitor reads low: both results

deferrable:
  shed_below_soc_pct: 50
  resume_above_soc_pct: 65

# critical:                              # if a load is critical: when the essential ones are shed for it
#   shed_essential_below_soc_pct: 30
#   resume_essential_above_soc_pct: 45

load_uncertainty_pct: 10                   # how well the whole list is known

monitors:
  panel:
    kind: shunt                      # or gauge, which reads the voltage
    offset_ma: 10
    warn_below_soc_pct: 30
    # disconnect: {{below_soc_pct: 25}}       # a contact that goes by the reading: how often is it wrong?

target:
  statistic: short_nights            # or lolp, lolh, eue_kwh: means over the years
  at_most: 0.5
  # availability_pct: 99.9             # in place of the two
  # full_charge:                      # and the bank full again in time, in so many years of 100; lead-acid needs it
  #   within_days: 14
  #   years_pct: 90

sizing:                              # the designs to compare
  array_wp: {{from: 200, to: 800, steps: 7}}
  bank_ah: {{from: 100, to: 500, steps: 9}}
  prices:
    array_per_wp: 1.2                # currency per watt of rated power, with a decimal point
    bank_per_ah: 4                   # currency per ampere-hour of rated capacity, of the whole {nominal} V bank
    fixed: 800                       # what every size costs: controller, monitor, cables, work

whatifs:
  thrifty_fridge:
    loads.fridge.watts: 30
  no_laptop:
    loads.laptop: null               # null removes an entry
  larger_array:
    arrays.roof.power_wp: 600

engine:
  members: 1000                      # synthetic years
  seed: 1
"""


class Means(NamedTuple):
    """Monthly means of a place, January to December, for the comments of a new study.

    Attributes
    ----------
    ghi : sequence of float
        Daily global horizontal irradiation [kWh/m2/day].
    temp_air : sequence of float
        Air temperature [degC].
    """

    ghi: tuple
    temp_air: tuple


EXAMPLE = Means(
    (1, 2, 3, 4, 5, 5.5, 5.5, 5, 3.5, 2, 1, 0.8), (0, 1, 5, 9, 13, 17, 19, 18, 14, 9, 4, 1)
)  # invented
BELOW_MEAN_K = 20  # a record low below the mean of the coldest month; our guess, for a comment
LITHIUM = ("lfp", "nmc")


def write_study(path, chemistry="lfp", latitude=47.0, longitude=8.0, means_of=None):
    """Write a commented, valid study file.

    Parameters
    ----------
    path : str or pathlib.Path
        An ending of .yaml is added where none is given.
    chemistry : str
    latitude, longitude : float
        Degrees.
    means_of : callable, optional
        From a valid study to the `Means` of its place, to which the comments are fitted.

    Returns
    -------
    pathlib.Path
        The file written.

    Raises
    ------
    darkspell.core.errors.StudyError
        If the file exists, cannot be written, or would hold no valid study.
    """
    path = Path(path)
    if path.is_dir():
        raise StudyError(f"{path}: is a folder; name the file to write in it, such as {path / 'mine.yaml'}")
    path = path if path.suffix else path.with_suffix(".yaml")
    named(path)
    text = study_text(path, chemistry, latitude, longitude)
    study = study_from(read_yaml(text), path.stem)
    if means_of is not None:
        text = study_text(path, chemistry, latitude, longitude, means_of(study))
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise StudyError(f"{path}: exists and is left alone; choose another name") from None
    except OSError as error:
        raise StudyError(f"{path}: cannot be written ({error.strerror}); does its folder exist?") from None
    return path


def study_text(path, chemistry, latitude, longitude, means=None):
    """Text of a new study file; the array faces the equator, tilted for winter.

    Parameters
    ----------
    path : path-like
    chemistry : str
    latitude, longitude : float
        [degrees]
    means : Means, optional
        Of the place; an example's if not given.

    Returns
    -------
    str
    """
    known, north = EXAMPLE if means is None else means, latitude >= 0
    coldest, tilt = min(known.temp_air), min(round(abs(latitude) + 15), 75)
    flat = max(round(abs(latitude)) - 15, 0)
    nominal = 24 if chemistry in ("nmc", "naion") else 12  # no whole number of their cells makes 12 V
    cells = constant("bank", chemistry, "cells_per_12v") * nominal / 12
    return TEXT.format(
        path=path,
        chemistry=chemistry,
        latitude=latitude,
        longitude=longitude,
        tilt=tilt,
        azimuth=180 if north else 0,
        ghi=[*known.ghi],
        temp=[*known.temp_air],
        whose="" if means is None else ": the built-in atlas's here",
        low=-20 if means is None else round(coldest - BELOW_MEAN_K),
        april=20 if means is None else flat if north else tilt,
        october=60 if means is None else tilt if north else flat,
        summer=[6, 7, 8] if north else [12, 1, 2],
        frost=FROST.format(coldest=coldest) if chemistry in LITHIUM and means and coldest < MILD_C else "",
        capacity=CAPACITY_AH[chemistry],
        absorption=round(constant("bank", chemistry, "absorption_v_cell") * cells, 2),
        slow=round(100 * constant("bank", chemistry, "capacity_100h_factor")),
        nominal=nominal,
    )
