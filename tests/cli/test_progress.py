import io
import json

import pytest

from darkspell.cli.event_log import EventTail
from darkspell.cli.headline import frequency, headline
from darkspell.cli.progress import LiveView, PlainView, Steps
from darkspell.cli.time_left import TimeLeft, usual_seconds
from darkspell.study.loader import study_from
from study.example import spoilt

EVENTS = [
    {"event": "run_info", "stats": {"one": 2, "all": 1, "total": 3}},
    {
        "event": "job_info",
        "jobid": 1,
        "rule_name": "one",
        "rule_msg": "hut: the [first] step",
        "log": ["a.txt"],
    },
    {"event": "job_info", "jobid": 2, "rule_name": "one", "rule_msg": None},
    {"event": "job_finished", "job_id": 1},
    {"event": "job_error", "jobid": 2, "rule_name": "one", "log": []},
    {"event": "job_info", "jobid": 0, "rule_name": "all"},
    {"event": "job_finished", "job_id": 0},
    {"event": "something_new", "x": 1},
    {"event": "error", "text": "WorkflowError"},
]


@pytest.mark.parametrize("view", [PlainView, LiveView])
def test_steps_follow_the_events(view):
    out = io.StringIO()
    steps = Steps(view(out), clock=iter(range(100)).__next__)
    with steps.view:
        for event in EVENTS:
            steps.take(event)
    assert (steps.done, steps.total, steps.running) == (1, 2, {})
    assert steps.failed == [("one", "one", [])] and steps.faults == ["WorkflowError"]
    assert "hut: the [first] step" in out.getvalue()


def test_plain_lines():
    out = io.StringIO()
    steps = Steps(PlainView(out), clock=iter([0.0, 0.0, 0.0, 2.5]).__next__)
    for event in EVENTS:
        steps.take(event)
    assert out.getvalue().splitlines() == [
        "2 steps to go",
        "  1 of 2  hut: the [first] step  (2.5 s)",
        "failed    one",
    ]


class _Left(PlainView):
    def left(self, seconds, now):
        self.said = [*getattr(self, "said", []), round(seconds)]


def test_time_left_is_that_of_a_night_of_steps_of_known_length():
    """Four studies of 100 and 20 s, one step after another; two workers would take half of it."""
    for workers in (1, 2):
        now = [0.0]
        steps = Steps(_Left(io.StringIO()), clock=lambda now=now: now[0])
        steps.take({"event": "run_info", "stats": {"years": 4, "page": 4, "all": 1, "total": 9}})
        for pair in range(0, 4, workers):
            for rule, seconds in (("years", 100.0), ("page", 20.0)):
                jobs = [f"{rule}{pair + worker}" for worker in range(workers)]
                for job in jobs:
                    steps.take({"event": "job_info", "jobid": job, "rule_name": rule})
                now[0] += seconds
                for job in jobs:
                    steps.take({"event": "job_finished", "job_id": job})
        # from the first page on, when both lengths are known; of two that end together the second counts as done
        assert steps.view.said == ([360, 260, 240, 140, 120, 20] if workers == 1 else [120, 120, 20, 20, 0])


def test_time_left_is_said_before_each_kind_of_step_has_ended():
    """Two kinds of known proportion, 100 and 20 s; this machine takes twice as long: right from the first step on."""
    now = [0.0]
    usual = {"years": 100.0, "page": 20.0}
    steps = Steps(_Left(io.StringIO()), clock=lambda now=now: now[0], usual=usual)
    steps.take({"event": "run_info", "stats": {"years": 4, "page": 4, "all": 1, "total": 9}})
    for number in range(4):
        steps.take({"event": "job_info", "jobid": number, "rule_name": "years"})
        now[0] += 200.0
        steps.take({"event": "job_finished", "job_id": number})
    assert steps.view.said == [3 * 200 + 4 * 40, 2 * 200 + 4 * 40, 200 + 4 * 40, 4 * 40]


def test_a_step_that_tells_its_share_says_how_long_the_others_take():
    left = TimeLeft({"years": 100.0, "page": 20.0})
    left.begin({"years": 2, "page": 2}, 0.0)
    assert left.seconds(10.0, [("years", 10.0, None)]) is None
    assert left.seconds(30.0, [("years", 30.0, 0.1)]) == pytest.approx(2 * 300 + 2 * 60 - 30)
    left.ended("years", None)  # failed: it takes no more time, and says nothing of its kind
    assert left.seconds(60.0, [("years", 60.0, 0.2)]) == pytest.approx(300 + 2 * 60 - 60)


def test_usual_times_grow_with_the_work():
    few = study_from(spoilt({"engine.members": 64, "whatifs": {}}))
    many = study_from(spoilt({"engine.members": 1000, "whatifs": {"a": {"bank.capacity_ah": 90}}}))
    small, large = usual_seconds([few]), usual_seconds([many])
    assert large["members"] > small["members"] and large["whatifs"] > small["whatifs"]
    assert usual_seconds([few, many])["members"] == pytest.approx((small["members"] + large["members"]) / 2)


def test_events_are_read_as_they_come(tmp_path):
    path = tmp_path / "events.jsonl"
    tail = EventTail(path)
    assert tail.new() == []
    path.write_text('{"event": "a"}\n{"event": ')
    assert tail.new() == [{"event": "a"}]
    with path.open("a") as file:
        file.write('"b"}\nbroken\n[1]\n{"event": "c"}\n')
    assert tail.new() == [{"event": "b"}, {"event": "c"}]
    assert tail.new() == []


def test_frequencies():
    assert frequency(1 / 9) == "about 1 year in 9 has one (11 %)"
    assert frequency(0.0) == "no year of those drawn has one"
    assert frequency(0.8) == "8 years in 10 have one (80 %)"


def test_the_headline_gives_answer_doubt_and_where_to_read_on(tmp_path):
    place = tmp_path / "results" / "hut"
    place.mkdir(parents=True)
    entry = {"value": 0.31, "unit": "nights/year", "place_low": 0.22, "place_high": 0.42}
    share = {"value": 0.14, "unit": "-"}
    (place / "summary.json").write_text(json.dumps({"short_nights": entry, "years_with_short_nights": share}))
    (place / "proposal.html").touch()
    (place / "proposal.pdf").touch()
    lines = headline("hut", tmp_path).splitlines()
    assert lines[0] == "hut"
    assert (
        "0.31 short nights" in lines[1] and "between 0.22 and 0.42" in lines[1] and "1 year in 7" in lines[1]
    )
    assert lines[-1].endswith("results/hut/proposal.html")


def test_the_headline_says_what_a_cut_out_by_a_reading_does(tmp_path):
    place = tmp_path / "results" / "hut"
    place.mkdir(parents=True)
    (place / "summary.json").write_text("{}")
    rows = (
        "panel,disconnects,1.6,,",
        "panel,early_disconnects,1.2,0.9,1.5",
        "panel,late_disconnects,0,0,0.1",
    )
    (place / "disconnects.csv").write_text("\n".join(["monitor,statistic,by_reading,low,high", *rows]))
    said = headline("hut", tmp_path).splitlines()[1]
    assert "by panel acts 1.6 times a year" in said and "too early 1.2 (between 0.9 and 1.5" in said
    assert "too late 0 (" in said and "without it" in said


def test_a_headline_without_a_summary_still_says_where_to_look(tmp_path):
    assert headline("hut", tmp_path).splitlines() == ["hut", "  Read next: results/hut/summary.json"]
