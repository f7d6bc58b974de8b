"""Figures by name, where they are there."""

from darkspell.proposal import wording as say
from darkspell.proposal.tree import Figure


def figure(results, name):
    """A list with one figure, or an empty one where it was not drawn.

    Parameters
    ----------
    results : darkspell.proposal.results.Results
    name : str
    """
    words, path = results.captions.get(name), results.figures / name
    if words is None or not path.with_suffix(".svg").is_file():
        return []
    texts = (say.given(words.get(key, "")) for key in ("title", "caption"))
    return [Figure(path, *texts, alt=say.given(words.get("alt") or name))]
