"""Each other way to state a value is the usual one: the same numbers, or the same bits."""

import numpy as np
import pytest

from darkspell.chargers.expected_charge import chargers_from
from darkspell.cli.adopt import with_size
from darkspell.core.calendar import Calendar
from darkspell.core.errors import StudyError
from darkspell.hand_check.electrical import hot_string_voltage
from darkspell.loads.budget import appliances_from
from darkspell.loads.occupancy import presence
from darkspell.pv.dc_power import pwm_amps_per_watt
from darkspell.study import study_from
from study.example import spoilt

CALENDAR = Calendar(7)


def load(**row):
    """A study's one load, as the bank sees it."""
    return appliances_from(study_from(spoilt({"loads": {"lamp": {"tier": "essential"} | row}})))[0]


def engine(**row):
    """Days of use of an alternator, by calendar day."""
    usual = {"kind": "alternator", "charger_a": 20, "label_a": 60, "hours_per_day": 1}
    return chargers_from(study_from(spoilt({"chargers": {"engine": usual | row}})), CALENDAR, 13.0)[
        "engine"
    ].use


def at_home(**people):
    return presence(study_from(spoilt({"occupancy": people})).occupancy, CALENDAR)[0]


@pytest.mark.parametrize(
    ("other", "usual"),
    [
        # 45 W x 8 h = 360 Wh; 131.4 kWh / 365 = 360 Wh; 3.75 A x 12 V = 45 W; 33 % of 10 h (arithmetic)
        ({"watts": 45, "wh_per_day": 360}, {"watts": 45, "hours_per_day": 8}),
        ({"hours_per_day": 8, "wh_per_day": 360}, {"watts": 45, "hours_per_day": 8}),
        ({"watts": 45, "kwh_per_year": 131.4}, {"watts": 45, "hours_per_day": 8}),
        ({"amps": 3.75, "hours_per_day": 8}, {"watts": 45, "hours_per_day": 8}),
        ({"amps": 3.75, "wh_per_day": 360}, {"watts": 45, "hours_per_day": 8}),
        (
            {"duty_pct": 50, "window": ["08:00", "18:00"], "wh_per_day": 100},
            {"watts": 20, "hours_per_day": 5, "window": ["08:00", "18:00"]},
        ),
    ],
)
def test_energy_and_current_are_power_and_hours(other, usual):
    found, wanted = load(**other), load(**usual)
    for name in ("watts", "hours_per_day", "window_start_h", "window_end_h", "peak_watts"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name), rel=1e-12), name


@pytest.mark.parametrize(
    ("key", "other", "usual"),
    [
        ("days", "Sat-Sun", "weekends"),
        ("days", ["Saturday", "sun"], "weekends"),
        ("days", "Mon-Fri", "weekdays"),
        ("days", "Mon to Sun", "all"),
        ("months", [11, 12, 1, 2], [1, 2, 11, 12]),
        ("months", "Nov-Feb", [1, 2, 11, 12]),
        ("months", "June, August and sep", [6, 8, 9]),
        ("months", ["Jan", 3], [1, 3]),
    ],
)
def test_named_days_and_months_are_the_usual_ones(key, other, usual):
    """The same bits for a load, and for an engine."""
    row = {"watts": 10, "hours_per_day": 2}
    assert (load(**row, **{key: other}).use == load(**row, **{key: usual}).use).all()
    assert (engine(**{key: other}) == engine(**{key: usual})).all()


def test_friday_to_sunday_is_three_days_a_week():
    """July 2025 has four Fridays, Saturdays and Sundays each (1 July 2025 is a Tuesday)."""
    use = load(watts=10, hours_per_day=2, days="Fri-Sun").use
    assert use[181:212].sum() == 12
    weekend = load(watts=10, hours_per_day=2, days="weekends").use
    assert (use >= weekend).all() and use.sum() == pytest.approx(1.5 * weekend.sum(), abs=1)


def test_stays_are_what_absences_leave():
    stays = {"summer": {"first": "06-01", "last": "08-31"}, "new_year": {"first": "12-27", "last": "01-02"}}
    away = {"autumn": {"first": "09-01", "last": "12-26"}, "spring": {"first": "01-03", "last": "05-31"}}
    assert (at_home(stays=stays) == at_home(absences=away)).all()
    assert at_home(stays=stays).sum() == 92 + 7
    both = at_home(stays=stays, at_home="Fri-Sun")
    assert (both == (at_home(stays=stays) | at_home(at_home="Fri-Sun"))).all()


def test_an_engine_on_every_nth_day():
    """On each day, as without the key; on every third, the days 0, 3, 6 from 1 July, across New Year."""
    assert (engine(every_days=1) == engine()).all()
    third = np.roll(engine(every_days=3), -CALENDAR.first_day)
    assert third.sum() == 122 and (np.flatnonzero(third) % 3 == 0).all()
    assert (engine(every_days=3, months="Dec-Feb") == engine(every_days=3) * engine(months="Dec-Feb")).all()


def test_an_availability_is_a_share_of_hours():
    """99.9 % of the hours served is a loss of 0.001 of them (arithmetic)."""
    by_share = study_from(spoilt({"target": {"availability_pct": 99.9}})).target
    by_loss = study_from(spoilt({"target": {"statistic": "lolp", "at_most": 0.001}})).target
    assert (by_share.statistic, by_share.at_most) == (by_loss.statistic, by_loss.at_most)


def array(**label):
    """A study whose roof has modules of a label, on PWM."""
    roof = {"tilt_deg": 45, "azimuth_deg": 180} | label
    return study_from(spoilt({"arrays": {"roof": roof}, "controller.kind": "pwm"})).arrays["roof"]


def test_modules_by_count_are_their_power():
    assert array(modules=3, module_wp=110).power_wp == array(power_wp=330).power_wp


def test_a_label_of_the_usual_module_gives_the_usual_current():
    """88.5 Wp at 17.7 V is 5 A; 0.8 of the way to 5.375 A in short circuit is 5.3 A, 1.06 times 5 A (arithmetic)."""
    usual = pwm_amps_per_watt(12)
    assert pwm_amps_per_watt(12, [array(power_wp=88.5)]) == usual
    label = {"modules": 2, "module_wp": 88.5, "module_vmp_v": 17.7, "module_isc_a": 5.375}
    assert pwm_amps_per_watt(12, [array(**label)]) == pytest.approx(usual, rel=1e-12)
    # 72 cells: half the current of each watt, and a mixture lies between, weighted by power.
    double = array(modules=1, module_wp=177, module_vmp_v=35.4, module_isc_a=5.375)
    assert pwm_amps_per_watt(12, [double]) == pytest.approx(usual / 2, rel=1e-12)
    assert pwm_amps_per_watt(12, [double, array(power_wp=177)]) == pytest.approx(0.75 * usual, rel=1e-12)


def test_a_hot_string_works_at_its_labels_voltage_less_its_coefficient():
    """18 V x 2 x (1 - 0.35 % x 45 K) = 30.33 V (arithmetic)."""
    roof = study_from(
        spoilt(
            {"arrays.roof.module_vmp_v": 18.0, "arrays.roof.modules_in_series": 2, "controller.kind": "mppt"}
        )
    ).arrays["roof"]
    assert hot_string_voltage(roof, 70.0) == pytest.approx(30.33, abs=0.001)


LAMP = {"tier": "essential", "watts": 10, "hours_per_day": 4}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"loads.lamp": {"tier": "essential", "hours_per_day": 4}},
            ("loads.lamp.watts", "is missing", "amps"),
        ),
        ({"loads.lamp": {"tier": "essential", "watts": 4}}, ("hours_per_day", "is missing", "wh_per_day")),
        (
            {"loads.lamp": LAMP | {"wh_per_day": 50}},
            ("loads.lamp.wh_per_day", "40 Wh a day", "two of the three"),
        ),
        (
            {"loads.lamp": LAMP | {"wh_per_day": 40, "kwh_per_year": 14.6}},
            ("loads.lamp.kwh_per_year", "keep one of the two"),
        ),
        ({"loads.lamp": LAMP | {"amps": 2}}, ("loads.lamp.amps", "10 W", "keep one of the two")),
        (
            {"loads.lamp": {"tier": "essential", "wh_per_day": 400, "watts": 10}},
            ("loads.lamp.hours_per_day", "40 h", "up to 24 h"),
        ),
        ({"loads.lamp": LAMP | {"wh_per_day": "40 Wh"}}, ("loads.lamp.wh_per_day", "number")),
        ({"loads.lamp": LAMP | {"days": "Fri-Somday"}}, ("loads.lamp.days", "Fri-Somday", "Mon, Thu")),
        ({"loads.lamp": LAMP | {"days": "S"}}, ("loads.lamp.days", "names no day")),
        ({"loads.lamp": LAMP | {"months": [5, 3]}}, ("loads.lamp.months", "ascend")),
        ({"loads.lamp": LAMP | {"months": "Nov-Nix"}}, ("loads.lamp.months", "list")),
        ({"loads.lamp": LAMP | {"months": ["Nov", "Nix"]}}, ("loads.lamp.months[2]", "whole number")),
        (
            {"occupancy": {"stays": {"a": {"first": "01-01", "last": "01-09"}}, "at_home": "all_days"}},
            ("occupancy.at_home", "stays"),
        ),
        (
            {"target": {"availability_pct": 99, "statistic": "lolh", "at_most": 10}},
            ("target.statistic", "availability_pct", "keep one"),
        ),
        ({"target": {}}, ("target.statistic", "availability_pct")),
        ({"arrays.roof.modules": 2}, ("arrays.roof.power_wp", "is missing", "module_wp")),
        (
            {
                "arrays.roof": {
                    "tilt_deg": 1,
                    "azimuth_deg": 1,
                    "modules": 2,
                    "module_wp": 100,
                    "power_wp": 150,
                }
            },
            ("arrays.roof.power_wp", "200 Wp", "leave one out"),
        ),
        ({"arrays.roof.module_isc_a": 5.0}, ("arrays.roof.module_isc_a", "module_vmp_v")),
    ],
)
def test_what_does_not_go_together_is_refused(changes, words):
    if "arrays.roof.modules" in changes:
        changes = changes | {"arrays.roof.power_wp": None}
    with pytest.raises(StudyError) as fault:
        study_from(spoilt(changes), "test")
    assert all(word in str(fault.value) for word in words), str(fault.value)


def test_a_resolved_study_is_a_study():
    """What is filled in does not contradict what was typed."""
    typed = {
        "loads.lamp": {"tier": "essential", "amps": 2, "kwh_per_year": 30},
        "target": {"availability_pct": 97.3},
        "arrays.roof": {"tilt_deg": 45, "azimuth_deg": 180, "modules": 3, "module_wp": 105.7},
    }
    study = study_from(spoilt(typed))
    assert study_from(study.resolved()).resolved() == study.resolved()


def test_a_what_if_changes_an_array_of_modules_by_either_form():
    """Six modules of 80 Wp: another power is no longer six modules, and seven modules another power."""
    counted = {"arrays.roof": {"modules": 6, "module_wp": 80, "tilt_deg": 45, "azimuth_deg": 180}}
    study = study_from(spoilt(counted))
    assert study.with_changes({"arrays.roof.power_wp": 500}).array_wp == 500
    assert study.with_changes({"arrays.roof.modules": 7}).array_wp == 560
    both = study_from(spoilt(counted | {"arrays.roof.power_wp": 480}))
    assert both.with_changes({"arrays.roof.module_wp": 100}).array_wp == 600
    with pytest.raises(StudyError, match="leave one out"):
        study.with_changes({"arrays.roof.modules": 7, "arrays.roof.power_wp": 500})


def test_a_recommended_size_is_written_in_whole_modules():
    """500 Wp of modules of 80 Wp are seven of them; the rest of the text stays."""
    text = "arrays: {roof: {modules: 6, module_wp: 80}}  # mine\nbank: {capacity_ah: 100}\n"
    counted = {"arrays.roof": {"modules": 6, "module_wp": 80, "tilt_deg": 45, "azimuth_deg": 180}}
    made = with_size(text, study_from(spoilt(counted)), 500.0, 200.0)
    assert made == "arrays: {roof: {modules: 7, module_wp: 80}}  # mine\nbank: {capacity_ah: 200}\n"
