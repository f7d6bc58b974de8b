"""Sixty mistakes of a first study, each with the answer that is expected: refused, warned of, or understood."""

import pytest

from darkspell.cli.main import main
from darkspell.study.template import write_study

REFUSED, WARNED, MEANT = "refused", "warned", "meant"
TIMES = '["17:00", "23:00"]'
# What was typed in place of a piece of the file that `darkspell new` writes; the answer, and words of it.
MISTAKES = {
    "faces north": ("azimuth_deg: 180", "azimuth_deg: 0", WARNED, "arrays.roof.azimuth_deg", "faces away"),
    "compass word": ("azimuth_deg: 180", "azimuth_deg: south", MEANT),
    "compass letters": ("azimuth_deg: 180", 'azimuth_deg: "SSW"', MEANT),
    "no compass word": ("azimuth_deg: 180", "azimuth_deg: down", REFUSED, "azimuth_deg", "0 to 360 deg"),
    "azimuth from south": ("azimuth_deg: 180", "azimuth_deg: -30", REFUSED, "-30 deg", "0 north, 90 east, 180 south"),
    "azimuth without unit": ("azimuth_deg: 180", "azimuth: 180", REFUSED, "did you mean azimuth_deg?"),
    "letter in latitude": ("latitude_deg: 47", "latitude_deg: 47N", REFUSED, "decimal degrees", ": 47"),
    "minutes in latitude": ("latitude_deg: 47", "latitude_deg: 47:30", REFUSED, "decimal degrees", "47.5"),
    "latitude beyond": ("latitude_deg: 47", "latitude_deg: 97", REFUSED, "97 deg", "north positive"),
    "at sea": ("longitude_deg: 8", "longitude_deg: -38", MEANT, "sea"),
    "altitude in feet": ("altitude_m: 0", "altitude_m: 9800", REFUSED, "9800 m", "up to 6,000 m|to 6,000 m"),
    "tilt below the horizon": ("tilt_deg: 62", "tilt_deg: -62", REFUSED, "-62 deg", "0 to 90"),
    "tilt in percent": ("tilt_deg: 62", "tilt_deg: 62 %", REFUSED, "tilt_deg", "without quotes or unit"),
    "kWp": ("power_wp: 400", "power_wp: 0.4", WARNED, "looks like kWp", "Give 400"),
    "unit typed": ("power_wp: 400", "power_wp: 400 Wp", REFUSED, "without quotes or unit: 400"),
    "thousands comma": ("power_wp: 400", "power_wp: 1,200", REFUSED, "1200", "1.200 if the comma"),
    "decimal comma": ("power_wp: 400", "power_wp: 400,5", REFUSED, "with a point: 400.5"),
    "thin blank": ("power_wp: 400", "power_wp: 1\u202f200", REFUSED, "plain characters: 1200"),
    "no-break blank": ("power_wp: 400", "power_wp:\u00a0400", REFUSED, "line 4", "no-break space"),
    "no blank": ("watts: 45", "watts:45", REFUSED, "put a blank after the colon: watts: 45"),
    "minus sign": ("indoor_min_c: 5", "indoor_min_c: \u22125", REFUSED, "plain characters: -5"),
    "kW": ("watts: 45", "watts: 0.045", WARNED, "looks like kW", "Give 45"),
    "Wh for W": ("watts: 45", "watts: 45 Wh", REFUSED, "without quotes or unit", "100,000 W"),
    "negative power": ("watts: 45", "watts: -45", REFUSED, "-45 W", "more than 0"),
    "no power": ("watts: 45", "watts: 0", REFUSED, "0 W", "more than 0"),
    "25 hours": ("hours_per_day: 8 ", "hours_per_day: 25 ", REFUSED, "25 h", "up to 24 h"),
    "hours as a time": ("hours_per_day: 8 ", "hours_per_day: 8:30 ", REFUSED, "hours_per_day", "number"),
    "minutes": ("hours_per_day: 8 ", "hours_per_day: 30min ", REFUSED, "hours_per_day", "number"),
    "duty as a share": ("hours_per_day: 8 ", "duty_pct: 0.33 ", WARNED, "share of 1", "Give 33"),
    "half a lamp": ("count: 5", "count: 5.5", REFUSED, "whole number"),
    "peak below power": ("peak_watts: 120", "peak_watts: 20", REFUSED, "peak_watts", "45 W"),
    "loss as a share": ("loss_pct: 10 ", "loss_pct: 0.1 ", WARNED, "arrays.roof.loss_pct", "Give 10"),
    "efficiency as a share": ("efficiency_pct: 96", "efficiency_pct: 0.96", REFUSED, "0.96 %", "50 to 100 %"),
    "Wh for Ah": ("capacity_ah: 200", "capacity_ah: 2560", WARNED, "looks like Wh", "Give 213"),
    "20,000 Ah": ("capacity_ah: 200", "capacity_ah: 20000", WARNED, "bank.capacity_ah", "looks like Wh"),
    "mAh for Ah": ("capacity_ah: 200", "capacity_ah: 200000", REFUSED, "200000 Ah", "100,000 Ah"),
    "kWh for Ah": ("capacity_ah: 200", "capacity_ah: 2.5", WARNED, "less than three hours", "kWh times 1000"),
    "unit of capacity": ("capacity_ah: 200", "capacity_ah: 200Ah", REFUSED, "unit: 200"),
    "key in Wh": ("capacity_ah: 200", "capacity_wh: 2560", REFUSED, "did you mean capacity_ah?"),
    "null": ("capacity_ah: 200", "capacity_ah: null", REFUSED, "capacity_ah: is missing", "[Ah]"),
    "nothing": ("capacity_ah: 200", "capacity_ah:", REFUSED, "capacity_ah: is missing", "[Ah]"),
    "long chemistry": ("chemistry: lfp", "chemistry: LiFePO4", REFUSED, "did you mean lfp?"),
    "capitals": ("chemistry: lfp", "chemistry: LFP", REFUSED, "did you mean lfp?"),
    "other word": ("location: indoors", "location: inside", REFUSED, "outdoors, indoors"),
    "12.8 V": ("nominal_voltage_v: 12 ", "nominal_voltage_v: 12.8 ", REFUSED, "12, 24, 48", "did you mean 12?"),
    "ohms": ("cable_resistance_mohm: 5 ", "cable_resistance_mohm: 0.005 ", WARNED, "looks like ohm", "Give 5"),
    "depth as a share": ("indoor_max_c: 25", "planning_depth_pct: 0.8", REFUSED, "0.8 %", "5 to 100 %"),
    "ends swapped": ("indoor_min_c: 5", "indoor_min_c: 35", REFUSED, "indoor_max_c", "35 degC"),
    "yes": ("mounting: open ", "any_heading: yes ", REFUSED, "did you mean true?"),
    "off": ("mounting: open ", "any_heading: off ", REFUSED, "did you mean false?"),
    "smart quotes": (TIMES, "[\u201c17:00\u201d, \u201c23:00\u201d]", REFUSED, "window[1]", '"00:00" to "24:00"'),
    "times unquoted": (TIMES, "[17:00, 23:00]", MEANT),
    "am and pm": (TIMES, '["5pm", "11pm"]', REFUSED, "window[1]", '"00:00" to "24:00"'),
    "one digit": (TIMES, '["7:00", "23:00"]', REFUSED, "window[1]", '"00:00" to "24:00"'),
    "a range": (TIMES, "17:00-23:00", REFUSED, "window", '["17:00", "23:00"]'),
    "own tier": ("tier: essential\n    window", "tier: vital\n    window", REFUSED, "essential, deferrable"),
    "old tier": ("tier: essential\n    window", "tier: always\n    window", REFUSED, "write uninterruptible"),
    "letters swapped": ("kind: mppt", "kind: mttp", REFUSED, "mppt, pwm"),
    "tab": ("  watts: 45", "\twatts: 45", REFUSED, "indent with spaces"),
    "twice": ("watts: 45", "watts: 45\n    watts: 50", REFUSED, "'watts'", "keep one"),
    "colon in a title": ("title: Power for", "title: Power: for", REFUSED, "between quotes"),
    "blank in a name": ("  fridge:", "  the fridge:", REFUSED, "loads.the fridge", "letters, digits, _ and -"),
    "accent in a name": ("  fridge:", "  K\u00fchler:", REFUSED, "loads.K\u00fchler", "letters, digits, _ and -"),
    "wrong section": ("engine:\n", "capacity_ah: 200\nengine:\n", REFUSED, "did you mean bank.capacity_ah?"),
    "probability of a half": ("short_nights  ", "lolp  ", WARNED, "target.at_most", "4380 hours"),
    "every night": ("at_most: 0.5", "at_most: 365", WARNED, "365 nights"),
    "sizes backwards": ("{from: 200, to: 800", "{from: 800, to: 200", REFUSED, "sizing.array_wp", "from below to"),
    "step for steps": ("to: 800, steps: 7}", "to: 800, step: 100}", REFUSED, "from, to and steps"),
    "price with currency": ("array_per_wp: 1.2", "array_per_wp: 1.2 EUR", REFUSED, "array_per_wp", "number"),
    "what-if without section": ("loads.fridge.watts: 30", "fridge.watts: 30", REFUSED, "loads.<name>.watts"),
    "what-if on nothing": ("loads.fridge.watts: 30", "loads.frige.watts: 30", REFUSED, "has no frige", "fridge"),
    "1k": ("members: 1000 ", "members: 1k ", REFUSED, "whole number"),
    "apostrophe": ("members: 1000 ", "members: 1'000 ", REFUSED, "1000"),
    "ampere for mA": ("offset_ma: 10", "offset_ma: 0.01", WARNED, "looks like A", "Give 10"),
    "charge as a share": ("warn_below_soc_pct: 30", "warn_below_soc_pct: 0.3", WARNED, "share of 1", "Give 30"),
    "marks crossed": ("shed_below_soc_pct: 50", "shed_below_soc_pct: 70", REFUSED, "resume_above_soc_pct"),
    "MJ for kWh": (
        "source: atlas ",
        "source: monthly\n  ghi_kwh_m2_day: [4, 7, 11, 14, 18, 20, 20, 18, 13, 7, 4, 3] ",
        REFUSED,
        "divide MJ/m2 a day by 3.6",
    ),
    "percent of clearness": (
        "source: atlas ",
        f"source: monthly\n  clearness_index: {[40] * 12} ",
        REFUSED,
        "divide by 100",
    ),
    "eleven months": (
        "source: atlas ",
        f"source: monthly\n  clearness_index: {[0.4] * 11} ",
        REFUSED,
        "11 values",
        "twelve",
    ),
    "Fahrenheit": (
        "source: atlas ",
        f"source: monthly\n  clearness_index: {[0.4] * 12}\n  temp_air_c: {[70] + [20] * 11} ",
        REFUSED,
        "temp_air_c[1]",
        "70 degC",
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """The text of a new study."""
    path = tmp_path_factory.mktemp("new") / "new.yaml"
    write_study(path, "lfp", 47.0, 8.0)
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", MISTAKES)
def test_each_mistake_gets_its_answer(template, name, tmp_path, capsys):
    """Refused with exit code 1 in a few lines, or warned of, or read as it was meant."""
    old, new, answer, *words = MISTAKES[name]
    assert old in template
    path = tmp_path / "mine.yaml"
    path.write_text(template.replace(old, new, 1), encoding="utf-8")
    code = main(["check", str(path)])
    printed = capsys.readouterr()
    assert code == (1 if answer == REFUSED else 0), printed.err
    said = " ".join((printed.err if answer == REFUSED else printed.out).split())
    assert all(any(one in said for one in word.split("|")) for word in words), said
    assert "Traceback" not in printed.err and len(printed.err.splitlines()) <= 6


def test_the_template_itself_has_no_slip(template, tmp_path, capsys):
    """None of the warnings above comes up without the mistake."""
    path = tmp_path / "mine.yaml"
    path.write_text(template, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    printed = capsys.readouterr().out
    assert not any(word in printed for word in ("looks like", "faces away", "It allows", "share of 1"))
