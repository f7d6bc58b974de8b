"""Text that somebody wrote in Markdown: a string that knows its parts."""

from dataclasses import dataclass


class Rich(str):
    """Text that somebody wrote in Markdown: a plain string that also knows its parts.

    Parameters
    ----------
    runs : iterable of Run
    """

    def __new__(cls, runs):
        """Join the parts."""
        runs = tuple(runs)
        made = super().__new__(cls, "".join(run.text for run in runs))
        made.runs = runs
        return made

    def __getnewargs__(self):
        """Copy and pickle with the parts."""
        return (self.runs,)


@dataclass(frozen=True)
class Run:
    """A part of a text in one style.

    Parameters
    ----------
    text : str
    strong, emphasis, code : bool
    address : str
        Where a link leads; "" for no link.
    """

    text: str
    strong: bool = False
    emphasis: bool = False
    code: bool = False
    address: str = ""


def runs_of(text):
    """Parts of a text; one plain part where it is no `Rich`.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of Run
    """
    return getattr(text, "runs", None) or (Run(str(text)),)
