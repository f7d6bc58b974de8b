from darkspell.cli.error_summary import cause, exception, workflow_fault

PRINTED = """\
Job 1: hut: the second step
Traceback (most recent call last):
  File "x/.snakemake/scripts/tmp1.two.py", line 7, in <module>
    raise StudyError("climate.file: is broken; mend it")
darkspell.core.errors.StudyError: climate.file: is broken; mend it
  - and this too
RuleException:
CalledProcessError in file "Snakefile", line 17:
Command 'x' returned non-zero exit status 1.
Traceback (most recent call last):
  File "x/.snakemake/scripts/tmp2.three.py", line 7, in <module>
    1 / 0
ZeroDivisionError: division by zero
[Wed Nov 25 10:58:56 2026]
Error in rule three:
"""


def test_a_study_error_is_told_in_its_own_words():
    assert cause([], ".", PRINTED, "two") == "climate.file: is broken; mend it\n  - and this too"


def test_another_exception_keeps_its_name():
    assert cause([], ".", PRINTED, "three") == "ZeroDivisionError: division by zero"


def test_the_steps_log_comes_first(tmp_path):
    (tmp_path / "log.txt").write_text(
        "line\nTraceback (most recent call last):\n  File\nValueError: from the log\n"
    )
    assert cause(["log.txt"], tmp_path, PRINTED, "two") == "ValueError: from the log"
    (tmp_path / "log.txt").write_text("plain words\n")
    assert cause(["log.txt"], tmp_path, PRINTED, "two") == "plain words"


def test_a_silent_or_killed_step_still_gets_a_cause():
    assert cause(["none.txt"], ".", "", "two") == "It left no message."
    assert "SIGKILL" in cause([], ".", "Command 'x' died with <Signals.SIGKILL: 9>.")


def test_the_last_of_chained_exceptions_counts():
    text = PRINTED.split("RuleException")[0] + "\nDuring handling of the above exception:\n" + PRINTED[-200:]
    assert exception(text) == ["ZeroDivisionError: division by zero"]


def test_snakemakes_heading_is_left_out():
    faults = [
        'WorkflowError in file "Snakefile", line 3:\nhut.yaml: 2 faults\n- a\n- b',
        "WorkflowError:\nfailed",
    ]
    assert workflow_fault([PRINTED]) == "ZeroDivisionError: division by zero"
    assert workflow_fault(faults).splitlines() == ["hut.yaml: 2 faults", "- a", "- b", "failed"]
