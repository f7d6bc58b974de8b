"""A warning, as `darkspell check` and the proposal print it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One warning.

    Parameters
    ----------
    key : str
        Dotted key of the study that it hangs on.
    value : float or str
        Its value, or the figure that follows from it.
    unit : str
    text : str
        What is wrong, in a sentence.
    cure : str
        What would help, in a sentence.
    """

    key: str
    value: float | str
    unit: str
    text: str
    cure: str
