import re
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import darkspell
from climate.record.series import write_wageningen
from darkspell.climate.extraterrestrial import daily_extraterrestrial
from darkspell.core.errors import StudyError
from darkspell.validation.joint import farthest, joint_test, statistics
from darkspell.validation.judge import climates, headline
from darkspell.validation.page import LEFT_OUT
from darkspell.validation.run import write_chapter
from darkspell.validation.stations import read_stations
from darkspell.validation.typical_year import NO_YEAR, typical_days


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder as a user has one: Wageningen's days under another name, and where it lies."""
    place = tmp_path_factory.mktemp("stations")
    write_wageningen(place / "raw.txt")
    rows = [line.split(",") for line in (place / "raw.txt").read_text().splitlines()[1:]]
    days = [np.datetime64(year, "Y").astype("datetime64[D]") + int(day) - 1 for year, day, *_ in rows]
    table = pd.DataFrame({"date": days, "ghi_MJ_m2_d": [float(row[2]) / 1000 for row in rows]})
    table.to_csv(place / "one_1976_1999.csv", index=False)
    (place / "README.md").write_text(
        "# Days\n\n| file | station | lat, lon | years |\n|---|---|---|---|\n"
        "| one_1976_1999.csv | One, NL (maritime) | 51.97, 5.67 | 1976-1999 |\n| gone.csv | Gone | 1, 2 | - |\n"
    )
    return place


@pytest.fixture(scope="module")
def written(folder, tmp_path_factory):
    out = tmp_path_factory.mktemp("chapter") / "validation"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "darkspell.report.figures.write.FORMATS", ("svg",)
        )  # the other formats have their own tests
        return out, write_chapter(folder, out, members=100, pseudo=19)


def test_the_folder_and_the_package_are_the_same_station(written):
    out, _ = written
    table = pd.read_csv(out / "storage.csv")
    assert list(table["station"].unique()) == ["One", "Wageningen"]
    one, two = (table[table["station"] == name].drop(columns="station") for name in ("One", "Wageningen"))
    assert one["ratio"].to_numpy() == pytest.approx(two["ratio"].to_numpy(), rel=0.01)
    for name in ("record_low", "record_high", "years", "with_loss"):
        assert one[name].to_numpy() == pytest.approx(two[name].to_numpy(), rel=1e-6)
    # The package's file has temperatures, which enter the ceiling of clearness (dew point) of a record and of a
    # typical year; the other two sources take those of the grid.
    alike = one["source"].isin(["atlas", "monthly"]).to_numpy()
    assert one["ratio"][alike].to_numpy() == pytest.approx(two["ratio"][alike].to_numpy(), rel=1e-6)
    assert (table.groupby(["station", "source", "wanted"]).size() == 3).all()


def test_without_its_temperatures_the_package_has_the_climates_of_the_folder(folder):
    one, two = read_stations(folder)
    bare = replace(two.record, temp_air=None, temp_air_range=None)
    pairs = zip(climates(one).items(), climates(replace(two, record=bare)).items(), strict=True)
    for (source, ours), (name, theirs) in pairs:
        assert source == name
        for part in ("kt_quantiles", "kt_ceiling", "temp_air_mean", "fast_phi", "slow_weight"):
            np.testing.assert_allclose(getattr(ours, part), getattr(theirs, part), rtol=1e-6)
    # With them only the ceiling and what it bends are others, by 2 % at most.
    warm = climates(two)["record"]
    np.testing.assert_allclose(warm.kt_quantiles, climates(one)["record"].kt_quantiles, rtol=1e-6)
    np.testing.assert_allclose(warm.kt_ceiling, climates(one)["record"].kt_ceiling, rtol=0.02)


def test_the_page_says_what_the_tables_hold(written):
    out, heads = written
    page = (out / "validation.html").read_text(encoding="utf-8")
    head = pd.read_csv(out / "headline.csv").set_index(["source", "wanted"])
    assert f"{head.loc[('record', 0.01), 'mean']:.2f} times" in page
    assert heads["record", 0.01]["cells"] == 6
    assert page.count("<img") == 4 and not re.search("https?://", page)
    stations = pd.read_csv(out / "stations.csv")
    assert list(stations["of"].unique()) == ["measured", "atlas", "typical", "monthly", "record"]
    assert (stations["days_set_aside"] == 127).all()
    # The model does not get as far as this station's own days without being fitted on them.
    fitted = stations[stations["of"] == "record"].iloc[0]
    assert fitted["winter_dark_share"] == pytest.approx(stations.iloc[0]["winter_dark_share"], abs=0.03)


def test_a_folder_that_says_nothing_is_told(tmp_path):
    with pytest.raises(StudyError, match="not a folder.*stations=<folder>"):
        read_stations(tmp_path / "nowhere")
    with pytest.raises(StudyError, match="stations.csv .* file, name, latitude, longitude"):
        read_stations(tmp_path)
    (tmp_path / "stations.csv").write_text("file,name,latitude\nx.csv,X,1\n")
    with pytest.raises(StudyError, match="stations.csv: no column longitude"):
        read_stations(tmp_path)


# Records of one and the same process are rejected as often as the test says; of another one nearly always.
def test_the_joint_test_has_its_level_and_its_power():
    rng, month = np.random.default_rng(5), np.repeat(np.arange(12), 31)[:365]

    def record(phi):
        rows = rng.standard_normal((15, 365))
        for day in range(1, 365):
            rows[:, day] = phi * rows[:, day - 1] + np.sqrt(1 - phi**2) * rows[:, day]
        return statistics(0.45 + 0.12 * rows, month)

    drawn = [record(0.35) for _ in range(79)]
    alike = np.array([joint_test(record(0.35), drawn) for _ in range(40)])
    assert (alike < 0.1).sum() <= 9  # of 40, 4 expected; more than 9 come once in a hundred times
    other = [joint_test(record(0.55), drawn) for _ in range(5)]
    assert max(other) <= 0.05
    assert farthest(record(0.55), drawn, 1)[0][0].startswith("lag")


# By hand: two of four ratios lie within 0.6 to 1.7, one within its record's interval.
def test_headline_by_hand():
    from types import SimpleNamespace

    rows = [
        {"source": "record", "bank": 2.0, "wanted": 0.01, "ratio": ratio, "world_low": 0.5 * ratio,
         "world_high": 2.0 * ratio, "record_low": 0.7, "record_high": 1.3, "years": 20}
        for ratio in (0.25, 1.0, 1.6, 4.0)
    ]  # fmt: skip
    found = headline([SimpleNamespace(cells=rows)], "record")
    assert (found["cells"], found["near"], found["inside"], found["covered"]) == (4, 0.5, 0.25, 0.5)
    assert found["mean"] == pytest.approx(1.6**0.25)
    # Width log 4 in each, and twenty times what two of them miss by log 2.
    assert found["score"] == pytest.approx(np.log(4) + 20 * np.log(2) * 2 / 4)


def test_a_station_without_a_whole_winter_is_set_aside_with_its_reason(written, tmp_path):
    """Wageningen with all days from November to February missing in each year, and with two years only."""
    write_wageningen(tmp_path / "all.csv")
    table = pd.read_csv(tmp_path / "all.csv").drop_duplicates(["year", "doy"])
    dates = pd.to_datetime(table["year"] * 1000 + table["doy"], format="%Y%j")
    days = pd.DataFrame({"date": dates.dt.date, "ghi_MJ_m2_d": table["kj"] / 1000.0})
    summer = days.assign(ghi_MJ_m2_d=days["ghi_MJ_m2_d"].where(~dates.dt.month.isin([12, 1])))
    summer.loc[dates.dt.year == 1980] = days[dates.dt.year == 1980]
    summer.to_csv(tmp_path / "summer.csv", index=False)
    days[dates.dt.year < 1978].to_csv(tmp_path / "short.csv", index=False)
    names = "file,name,latitude,longitude\nsummer.csv,Summer,51.97,5.67\nshort.csv,Short,51.97,5.67\n"
    (tmp_path / "stations.csv").write_text(names)
    set_aside = []
    assert [station.name for station in read_stations(tmp_path, set_aside)] == ["Wageningen"]
    reasons = dict(set_aside)
    assert "winter" in reasons["Summer"] and "study years" in reasons["Short"]
    with pytest.raises(StudyError, match="Summer: no winter"):
        read_stations(tmp_path)
    out, heads = tmp_path / "out", write_chapter(tmp_path, tmp_path / "out", members=20, pseudo=5)
    assert heads["record", 0.01]["cells"] == 3
    assert "Summer: no winter has 90 % of its days" in (out / "validation.html").read_text(encoding="utf-8")


def test_stations_of_constant_values_are_set_aside_with_their_reason(tmp_path):
    """Eight years of one value a day, of one clearness a day, and of one clearness a month, at 50 degrees."""
    days = pd.date_range("2000-01-01", "2007-12-31")
    extra = 3.6 * daily_extraterrestrial(50.0, np.minimum(days.day_of_year.to_numpy(), 365))
    made = {
        "value": np.full(days.size, 2.5),
        "clearness": 0.45 * extra,
        "months": extra * (0.3 + 0.02 * days.month.to_numpy()),
    }
    rows = ["file,name,latitude,longitude"]
    for name, ghi in made.items():
        table = pd.DataFrame({"date": days.strftime("%Y-%m-%d"), "ghi_MJ_m2_d": ghi.round(3)})
        table.to_csv(tmp_path / f"{name}.csv", index=False)
        rows.append(f"{name}.csv,{name},50.0,10.0")
    (tmp_path / "stations.csv").write_text("\n".join(rows) + "\n")
    set_aside = []
    assert [station.name for station in read_stations(tmp_path, set_aside)] == ["Wageningen"]
    reasons = dict(set_aside)
    assert "one value longer than chance" in reasons["value"]
    assert all("not measured days" in reasons[name] for name in ("clearness", "months"))


@pytest.mark.parametrize("latitude", ["north", "", "95", "inf"])
def test_a_station_without_a_location_is_set_aside(folder, tmp_path, latitude):
    shutil.copy(next(folder.glob("*.csv")), tmp_path / "days.csv")
    rows = f"file,name,latitude,longitude\ndays.csv,nowhere,{latitude},10.0\n"
    (tmp_path / "stations.csv").write_text(rows)
    set_aside = []
    assert [station.name for station in read_stations(tmp_path, set_aside)] == ["Wageningen"]
    assert set_aside[0][0] == "nowhere" and "stations.csv" in set_aside[0][1]


def test_a_record_without_a_complete_january_still_makes_a_typical_year():
    dates = np.arange("2001-01-15", "2002-01-15", dtype="datetime64[D]")
    days, years = typical_days(dates, np.full(dates.size, 0.4))
    assert np.isnan(days[:31]).all() and years[0] == NO_YEAR and days[31:].tolist() == [0.4] * 334


def test_the_chapter_and_the_page_on_the_data_state_the_same_left_out_figures():
    """The page on the data has them as `judge_climate.py` and `choose_widths.py` printed them."""
    page = Path(darkspell.__file__).parents[1] / "data" / "README.md"
    names = {"record": "fitted on the record", "monthly": "twelve monthly means", "atlas": "atlas alone"}
    rows = [
        line.split(" | ") for line in page.read_text(encoding="utf-8").splitlines() if line.count("|") > 8
    ]
    for source, name in (names | {"typical": "typical year of measured months"}).items():
        row = next(row for row in rows if row[0] == f"| {name}")
        near, mean, inside = LEFT_OUT[source]
        assert [row[1], row[2], row[5]] == [f"{near} %", f"{mean:.2f}", f"{inside} %"]
