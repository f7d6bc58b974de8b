"""What a user sees while a study runs: the steps under way, those done, and how many are left."""

import time
from dataclasses import dataclass, field
from pathlib import Path

from darkspell.cli.time_left import TimeLeft
from darkspell.pipeline.progress_file import duration, progress_text, read_share

ENDS = ("all",)
LINE_AFTER_S, LINE_EVERY_S, LOOK_EVERY_S, LEFT_EVERY_S = 5.0, 10.0, 0.5, 60.0


@dataclass
class Step:
    """One job of the run."""

    title: str
    began: float
    logs: list = field(default_factory=list)
    said: float = 0.0
    rule: str = ""
    share: float | None = None


class Steps:
    """Follows the events of a run and tells a view about them.

    Parameters
    ----------
    view : PlainView or LiveView
    clock : callable
        Seconds; for the tests.
    usual : dict of float, optional
        Usual time of a step [s] by rule, see `darkspell.cli.time_left`.
    """

    def __init__(self, view, clock=time.monotonic, usual=None):
        self.view, self.clock = view, clock
        self.running, self.failed, self.faults = {}, [], []
        self.done, self.total, self._looked = 0, 0, float("-inf")
        self._time = TimeLeft(usual)

    def take(self, event):
        """Process one event; unknown events are ignored.

        Parameters
        ----------
        event : dict
        """
        handler = getattr(self, f"_{event.get('event')}", None)
        if handler:
            handler(event)

    def look(self, folder):
        """Read the progress of running steps now and then, from the files next to their logs.

        Parameters
        ----------
        folder : path-like
            Where the run works.
        """
        now = self.clock()
        if now - self._looked < LOOK_EVERY_S:
            return
        self._looked = now
        for job, step in self.running.items():
            step.share = read_share(Path(folder, step.logs[0])) if step.logs else None
            self.view.move(job, step, step.share, now - step.began)
        self._say_left(now)

    def _say_left(self, now):
        running = [(step.rule, now - step.began, step.share) for step in self.running.values()]
        seconds = self._time.seconds(now, running)
        if seconds is not None:
            self.view.left(seconds, now)

    def _run_info(self, event):
        stats = event.get("stats") or {}
        counted = {rule: number for rule, number in stats.items() if rule not in (*ENDS, "total")}
        self.total = sum(number for number in counted.values() if isinstance(number, int))
        self._time.begin(
            {rule: number for rule, number in counted.items() if isinstance(number, int)}, self.clock()
        )
        self.view.total(self.total)

    def _job_info(self, event):
        if event.get("rule_name") in ENDS:
            return
        title = event.get("rule_msg") or str(event.get("rule_name"))
        step = Step(title, self.clock(), list(event.get("log") or []), rule=str(event.get("rule_name")))
        self.running[event.get("jobid")] = step
        self.view.start(event.get("jobid"), step)

    def _job_finished(self, event):
        step = self.running.pop(event.get("job_id"), None)
        if step:
            now = self.clock()
            self.done += 1
            self._time.ended(step.rule, now - step.began)
            self.view.finish(event.get("job_id"), step, now - step.began, self.done, self.total)
            self._say_left(now)

    def _job_error(self, event):
        step = self.running.pop(event.get("jobid"), None)
        title = step.title if step else str(event.get("rule_name"))
        rule = str(event.get("rule_name"))
        self._time.ended(rule, None)
        logs = event.get("log") or (step.logs if step else [])
        self.failed.append((title, str(event.get("rule_name")), list(logs)))
        self.view.fail(event.get("jobid"), title)

    def _error(self, event):
        self.faults.append(event.get("text", ""))


class PlainView:
    """Lines, for logs and pipes."""

    def __init__(self, stream):
        self.stream = stream
        self._said_left = float("-inf")

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        return None

    def total(self, total):
        """Report the number of steps.

        Parameters
        ----------
        total : int
        """
        self._say(f"{_steps(total)} to go")

    def start(self, job, step):
        """Report that a step has started.

        Parameters
        ----------
        job : int
        step : str
        """

    def finish(self, job, step, seconds, done, total):
        """Report that a step is done.

        Parameters
        ----------
        job : int
        step : str
        seconds : float
        done, total : int
            Steps done, and all steps.
        """
        self._say(f"{done:>3} of {total}  {step.title}  ({seconds:.1f} s)")

    def fail(self, job, title):
        """Report that a step failed.

        Parameters
        ----------
        job : int
        title : str
        """
        self._say(f"failed    {title}")

    def move(self, job, step, share, elapsed):
        """Report how much of a long step is done.

        Parameters
        ----------
        job : int
        step : str
        share : float
            Share done, 0 to 1.
        elapsed : float
            Seconds since its start.
        """
        if elapsed - step.said >= (LINE_EVERY_S if step.said else LINE_AFTER_S):
            step.said = elapsed
            self._say(f"          {step.title}: {progress_text(share or 0.0, elapsed)}")

    def left(self, seconds, now):
        """Report the time to the end of the run, once a minute at most and while it is more than that.

        Parameters
        ----------
        seconds : float
        now : float
            Time of the report [s].
        """
        if seconds >= LEFT_EVERY_S and now - self._said_left >= LEFT_EVERY_S:
            self._said_left = now
            self._say(f"          all steps: about {duration(seconds)} left")

    def _say(self, text):
        print(text, file=self.stream, flush=True)


class LiveView:
    """Moving lines, for a terminal."""

    def __init__(self, stream):
        from rich.console import Console
        from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        self.console = Console(file=stream, highlight=False)
        columns = (
            SpinnerColumn(finished_text="  "),
            TextColumn("{task.description}", markup=False),
            BarColumn(bar_width=24),
            TextColumn("{task.fields[count]}", markup=False),
            TimeElapsedColumn(),
        )
        self.progress = Progress(*columns, console=self.console, transient=True)
        self.whole = self.progress.add_task("looking at what has changed", total=None, count="")
        self.tasks = {}

    def __enter__(self):
        self.progress.start()
        return self

    def __exit__(self, *exc):
        self.progress.stop()

    def total(self, total):
        """Report the number of steps.

        Parameters
        ----------
        total : int
        """
        self.progress.update(self.whole, total=total, description=_steps(total), count=f"0 of {total}")

    def start(self, job, step):
        """Report that a step has started.

        Parameters
        ----------
        job : int
        step : str
        """
        self.tasks[job] = self.progress.add_task(step.title, total=None, count="")

    def finish(self, job, step, seconds, done, total):
        """Report that a step is done.

        Parameters
        ----------
        job : int
        step : str
        seconds : float
        done, total : int
            Steps done, and all steps.
        """
        self._drop(job)
        self.progress.update(self.whole, completed=done, count=f"{done} of {total}")
        self._say("done  ", "green", f"{step.title}  ({seconds:.1f} s)")

    def fail(self, job, title):
        """Report that a step failed.

        Parameters
        ----------
        job : int
        title : str
        """
        self._drop(job)
        self._say("failed", "bold red", title)

    def move(self, job, step, share, elapsed):
        """Report how much of a long step is done.

        Parameters
        ----------
        job : int
        step : str
        share : float
            Share done, 0 to 1.
        elapsed : float
            Seconds since its start.
        """
        if share:
            self.progress.update(
                self.tasks[job], total=1.0, completed=share, count=progress_text(share, elapsed)
            )

    def left(self, seconds, now):
        """Report the time to the end of the run.

        Parameters
        ----------
        seconds : float
        now : float
            Time of the report [s].
        """
        whole = self.progress.tasks[0]
        count = f"{whole.completed:.0f} of {whole.total:.0f}, about {duration(seconds)} left"
        self.progress.update(self.whole, count=count)

    def _drop(self, job):
        if job in self.tasks:
            self.progress.remove_task(self.tasks.pop(job))

    def _say(self, word, style, text):
        from rich.text import Text

        self.progress.console.print(Text(f"  {word}  ", style) + Text(text))


def _steps(number):
    return "1 step" if number == 1 else f"{number} steps"
