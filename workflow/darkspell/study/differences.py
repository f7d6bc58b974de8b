"""The keys in which studies differ from each other."""

import json

from darkspell.study.key_tree import find

LEFT_OUT = ("document", "whatifs", "sweeps", "sensitivity")
LONGEST = 60  # letters of a value that is no number


def differences(studies):
    """For each study the keys whose values are not the same in all.

    Parameters
    ----------
    studies : dict of darkspell.study.Study

    Returns
    -------
    dict of dict
        Dotted key to value, by the name of the study; the values are numbers and texts. A list of ``cross`` in which
        one choice changes several keys, such as a site, is one column, ``cross.<list>``, in place of those keys.
    """
    flat = {name: dict(_flat(study._given)) for name, study in studies.items()}
    keys = list(dict.fromkeys(key for one in flat.values() for key in one))
    lists = {
        title: taken.keys
        for study in studies.values()
        for title, taken in study.choices.items()
        if taken.several
    }
    lists = {title: keys for title, keys in lists.items() if len(_taken(studies, title)) > 1}
    named = [key for choice in lists.values() for key in choice]
    unlike = [key for key in keys if len({str(one.get(key, "default")) for one in flat.values()}) > 1]
    unlike = [key for key in unlike if not any(f"{key}.".startswith(f"{one}.") for one in named)]
    return {
        name: {f"cross.{title}": _chosen(studies[name], title) for title in lists}
        | {key: one.get(key, _absent(key)) for key in unlike}
        for name, one in flat.items()
    }


def _taken(studies, title):
    return {_chosen(study, title) for study in studies.values()}


def _chosen(study, title):
    return study.choices[title].name if title in study.choices else ""


def _absent(key):
    """How a key that a study does not give is shown: an entry of its own may be absent, other keys default."""
    parts = key.split(".")
    return "absent" if len(parts) > 2 and (node := find(parts[:1])) and node.entries else "default"


def _flat(given, above=""):
    for key, value in given.items():
        dotted = f"{above}{key}"
        if not above and key in LEFT_OUT:
            continue
        if isinstance(value, dict):
            yield from _flat(value, f"{dotted}.")
        elif isinstance(value, int | float | str) and not isinstance(value, bool):
            yield dotted, value
        else:
            text = json.dumps(value, ensure_ascii=False, default=str)
            yield dotted, text if len(text) <= LONGEST else f"{text[:LONGEST]}..."


def short_names(keys):
    """The last part of each key, or all of it where two keys end alike.

    Parameters
    ----------
    keys : sequence of str
        Dotted keys.

    Returns
    -------
    list of str
    """
    ends = [key.split(".")[-1] for key in keys]
    return [end if ends.count(end) == 1 else key for key, end in zip(keys, ends, strict=True)]
