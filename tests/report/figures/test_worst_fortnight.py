"""A typical worst fortnight, chosen by a stated rule."""

import numpy as np
import xarray as xr

from darkspell.report.figures import worst_fortnight
from darkspell.report.figures.style import look
from darkspell.report.results import read_results
from report.figures.made import a_study, lay_out


def years():
    """Three years at 80 %, each with 14 low days: at 50, 30 and 40 % from days 10, 100 and 200."""
    true = np.full((3, 365), 80.0)
    for row, (level, first) in enumerate(((50, 10), (30, 100), (40, 200))):
        true[row, first : first + 14] = level
    return np.repeat(true, 24, axis=1)


def test_the_median_of_the_worst_fortnights_is_taken():
    """Of 50, 30 and 40 % the median is 40 %, which begins on day 200 (by construction)."""
    assert worst_fortnight.typical_worst(years()) == (2, 200)


def test_the_figure_says_when_and_how_low(tmp_path):
    """Day 200 of a year that begins on 1 July is 17 January (calendar arithmetic: 184 days to 1 January)."""
    study = a_study()
    folder = lay_out(tmp_path, study)
    assert not worst_fortnight.drawable(read_results(folder, study))
    with xr.open_dataset(folder / "hourly.nc") as stored:
        dataset = stored.load()
    for name in ("soc_true_member", "soc_reported_member"):
        dataset[name] = (("shown", "time"), years())
    for name, watts in (("sun_member", 60.0), ("load_member", 25.0)):
        dataset[name] = (("shown", "time"), np.full((3, 8760), watts))
    dataset.to_netcdf(folder / "hourly.nc")
    with look():
        sheet, words = worst_fortnight.page(read_results(folder, study))
        sheet.figure.savefig(tmp_path / "drawn.png", dpi=40)
    assert "17 January" in words.title and "40 %" in words.title.replace("\u00a0", " ")
    assert "20.2 kWh" in words.caption and "8.4 kWh" in words.caption  # 14 d x 24 h x 60 W and 25 W
