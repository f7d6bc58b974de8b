"""Studies reduced to what the climate room reads."""

from types import SimpleNamespace

import pytest


@pytest.fixture
def study():
    """Maker of a study's site and climate: ``study(latitude, longitude, source, **keys of climate)``."""

    def make(latitude, longitude, source, **given):
        keys = {
            "ghi_kwh_m2_day": None,
            "peak_sun_hours": None,
            "clearness_index": None,
            "temp_air_c": None,
            "file": None,
        }
        return SimpleNamespace(
            site=SimpleNamespace(
                name="Place", latitude_deg=latitude, longitude_deg=longitude, altitude_m=0.0
            ),
            climate=SimpleNamespace(source=source, **(keys | given)),
        )

    return make
