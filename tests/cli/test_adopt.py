"""A copy of a study with the recommended design."""

import pytest

from darkspell.cli.adopt import offered
from darkspell.cli.main import main
from darkspell.study import load_study

TEXT = """# keep this comment
document: {title: A test, client: Nobody, prepared_by: Nobody}
site: {name: Somewhere (invented), latitude_deg: 50.0, longitude_deg: 8.0}
climate: {source: atlas}
system: {nominal_voltage_v: 12}
arrays:
  roof: {power_wp: 300, tilt_deg: 45, azimuth_deg: 180}   # 300 too
  wall: {power_wp: 100, tilt_deg: 90, azimuth_deg: 180}
controller: {kind: mppt, current_limit_a: 30}
bank: {chemistry: agm, capacity_ah: 100}
loads: {lamp: {watts: 10, hours_per_day: 4, tier: essential}}
target: {statistic: short_nights, at_most: 1}
sizing: {array_wp: [400, 800], bank_ah: [100, 200], prices: {array_per_wp: 1, bank_per_ah: 3}}
"""


@pytest.fixture
def study(tmp_path):
    path = tmp_path / "hut.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def _sizing(tmp_path, chosen):
    folder = tmp_path / "results" / "hut"
    folder.mkdir(parents=True)
    rows = f"array_wp,bank_ah,chosen\n400,100,False\n800,200,{chosen}\n"
    (folder / "sizing.csv").write_text(rows, encoding="utf-8")


def test_the_copy_has_the_recommended_size_and_every_comment(study, tmp_path, capsys):
    """Each array keeps its share: 300 and 100 Wp become 600 and 200 Wp of 800 (arithmetic)."""
    _sizing(tmp_path, True)
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 0
    copy = tmp_path / "hut_recommended.yaml"
    made = load_study(copy)
    assert [array.power_wp for array in made.arrays.values()] == [600, 200]
    assert made.bank.capacity_ah == 200 and made.controller.current_limit_a == 60
    text = copy.read_text(encoding="utf-8")
    assert (
        text.replace("power_wp: 600", "power_wp: 300")
        .replace("power_wp: 200", "power_wp: 100")
        .replace("capacity_ah: 200", "capacity_ah: 100")
        .replace("current_limit_a: 60", "current_limit_a: 30")
        == TEXT
    )
    told = capsys.readouterr().out
    assert "darkspell run" in told and "cheapest" not in told
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 1
    copy.unlink()
    summary = tmp_path / "results" / "hut" / "summary.json"
    summary.write_text('{"probability_met": {"value": 0.93}}', encoding="utf-8")
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 0
    assert "own size meets the target" in capsys.readouterr().out


def test_the_end_of_a_run_names_the_command_where_another_size_is_recommended(study, tmp_path):
    """400 Wp and 100 Ah in the study, 800 and 200 chosen; silent where they are the same, a cure if none is."""
    results, own = tmp_path / "results", load_study(study)
    assert offered(study, own, results) == ""
    _sizing(tmp_path, False)
    assert "widen sizing" in offered(study, own, results)
    (results / "hut" / "sizing.csv").unlink()
    (results / "hut").rmdir()
    _sizing(tmp_path, True)
    told = offered(study, own, results)
    assert told == (
        "The study has 400 Wp and 100 Ah; recommended are 800 Wp and 200 Ah. "
        f"To take them over: darkspell adopt {study}"
    )
    assert "adopt" not in offered(f"{study}::north", own, results)
    summary = results / own.name / "summary.json"
    summary.write_text('{"probability_met": {"value": 0.93}}')
    assert "recommended" not in offered(study, own, results) and "cheapest size" in offered(
        study, own, results
    )
    summary.write_text('{"probability_met": {"value": 0.4}}')
    assert "recommended are 800 Wp" in offered(study, own, results)
    summary.unlink()
    sized = own.with_changes(
        {"arrays.roof.power_wp": 600, "arrays.wall.power_wp": 200, "bank.capacity_ah": 200}
    )
    assert offered(study, sized, results) == ""


@pytest.mark.parametrize(("chosen", "words"), [(None, "run the study first"), (False, "meets the target")])
def test_without_a_recommendation_nothing_is_written(study, tmp_path, capsys, chosen, words):
    if chosen is not None:
        _sizing(tmp_path, chosen)
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 1
    assert words in capsys.readouterr().err
    assert [path.name for path in tmp_path.glob("*.yaml")] == ["hut.yaml"]


def test_whole_pieces_are_adopted_where_the_study_lists_them(study, tmp_path):
    """Sizes, tilt and controller of the chosen pieces, not the grid's size; each array keeps its share."""
    sold = (
        "catalogue: {modules: {pane: {power_wp: 100, price: 90, modules_per_string: 1, max_count: 9}}, "
        "blocks: {case: {capacity_ah: 100, nominal_voltage_v: 12, price: 200, max_in_parallel: 4}}, "
        "controllers: {small: {current_limit_a: 25, price: 100, input_voltage_max_v: 100}}, tilts_deg: [60]}}"
    )
    text = TEXT.replace("bank_per_ah: 3}}", f"bank_per_ah: 3}}, {sold}")
    study.write_text(text, encoding="utf-8")
    _sizing(tmp_path, True)
    rows = "place,array_wp,bank_ah,tilt_deg,azimuth_deg,controller\nchosen,600,300,60,,small\n"
    (tmp_path / "results" / "hut" / "catalogue_designs.csv").write_text(rows, encoding="utf-8")
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 0
    made = load_study(tmp_path / "hut_recommended.yaml")
    assert [(array.power_wp, array.tilt_deg) for array in made.arrays.values()] == [(450, 60), (150, 60)]
    assert made.bank.capacity_ah == 300 and made.controller.current_limit_a == 25


BLOCKS = "block_voltage_v: 6, blocks_in_series: 2, block_capacity_ah: 100"


@pytest.mark.parametrize("strings", ["", ", strings_in_parallel: 1"])
def test_a_bank_of_blocks_gets_whole_strings_of_them(study, tmp_path, capsys, strings):
    """180 Ah are two strings of 100 Ah; what bank may take grows with it (arithmetic)."""
    bank = f"bank: {{chemistry: agm, capacity_ah: 100, charge_current_max_a: 30, {BLOCKS}{strings}}}"
    study.write_text(TEXT.replace("bank: {chemistry: agm, capacity_ah: 100}", bank), encoding="utf-8")
    _sizing(tmp_path, True)
    table = tmp_path / "results" / "hut" / "sizing.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("800,200", "800,180"), encoding="utf-8")
    assert main(["adopt", str(study), "--results", str(tmp_path / "results")]) == 0
    made = load_study(tmp_path / "hut_recommended.yaml").bank
    assert (made.strings_in_parallel, made.capacity_ah, made.charge_current_max_a) == (2, 200, 60)
    assert "800 Wp and 200 Ah" in capsys.readouterr().out


def test_blocks_on_lines_of_their_own_and_in_a_file_that_extends_another(study, tmp_path):
    lines = "bank:\n  chemistry: agm\n  capacity_ah: 100\n  block_voltage_v: 6\n  blocks_in_series: 2\n"
    lines += "  block_capacity_ah: 100   # of the case\n"
    study.write_text(TEXT.replace("bank: {chemistry: agm, capacity_ah: 100}\n", lines), encoding="utf-8")
    (tmp_path / "more.yaml").write_text("extends: hut.yaml\nloads.lamp.watts: 12\n", encoding="utf-8")
    _sizing(tmp_path, True)
    (tmp_path / "results" / "more").mkdir()
    table = tmp_path / "results" / "hut" / "sizing.csv"
    (tmp_path / "results" / "more" / "sizing.csv").write_text(
        table.read_text(encoding="utf-8"), encoding="utf-8"
    )
    for name in ("hut", "more"):
        assert main(["adopt", str(tmp_path / f"{name}.yaml"), "--results", str(tmp_path / "results")]) == 0
        bank = load_study(tmp_path / f"{name}_recommended.yaml").bank
        assert (bank.strings_in_parallel, bank.capacity_ah) == (2, 200)
    assert "# of the case" in (tmp_path / "hut_recommended.yaml").read_text(encoding="utf-8")
