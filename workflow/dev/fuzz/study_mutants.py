"""Mutants of study files: of the tree of keys first, then of the text that it is written as."""

from copy import deepcopy

import yaml

from darkspell.study.key_tree import _constraints as constraints
from darkspell.study.key_tree import choices, every_key
from dev.fuzz.values import (
    EXTREMES,
    FACTORS,
    HOSTILE_NAMES,
    TEXTS,
    VALID_NAMES,
    WRONG_TYPES,
    misspelt,
    spoilt_bytes,
)

BASE = "base.yaml"  # the study before its mutations, next to the mutant
ENTRIES = ("loads", "arrays", "monitors", "whatifs", "sweeps", "chargers", "itinerary")


def study_mutant(rng, study):
    """A study file after one to four mutations.

    Parameters
    ----------
    rng : random.Random
    study : dict
        A valid study as in its file; not changed.

    Returns
    -------
    bytes
    list of str
        Names of the mutations.
    """
    tree, done = deepcopy(study), []
    gentle = rng.random() < 0.5  # most of these are valid studies still, and reach the arithmetic
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        mutate = rng.choice(GENTLE if gentle else TREE)
        mutate(rng, tree)
        done.append(mutate.__name__)
    text = yaml.dump(tree, Dumper=_Dumper, sort_keys=False, allow_unicode=rng.random() < 0.8, width=1000)
    if not gentle and rng.random() < 0.5:
        mutate = rng.choice(TEXT)
        text = mutate(rng, text)
        done.append(mutate.__name__)
    data = text.encode("utf-8", "replace")
    if not gentle and rng.random() < 0.1:
        data = spoilt_bytes(rng, data)
        done.append("spoilt_bytes")
    return data, done


class _Dumper(yaml.SafeDumper):
    def ignore_aliases(self, data):
        return True


def nodes(tree, parts=()):
    """All ``(container, key, path)`` below a mapping or list.

    Parameters
    ----------
    tree : dict or list
    parts : tuple
        Keys that lead to it.
    """
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in list(items):
        yield tree, key, (*parts, key)
        if isinstance(value, dict | list):
            yield from nodes(value, (*parts, key))


def _node(rng, tree):
    return rng.choice(list(nodes(tree)) or [({"x": 1}, "x", ("x",))])


def drop(rng, tree):
    """Leave a key or an element out.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    del container[key]


def rename(rng, tree):
    """Misspell a key.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    if isinstance(container, dict):
        _renamed(container, key, misspelt(rng, key))


def hostile_name(rng, tree):
    """Give a name of the user's own that a CSV, a page or a shell reads as something else.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    section = tree.get(rng.choice(ENTRIES))
    if isinstance(section, dict) and section:
        _renamed(section, rng.choice(list(section)), rng.choice(HOSTILE_NAMES))


def _renamed(mapping, old, new):
    items = [(new if key == old else key, value) for key, value in mapping.items()]
    mapping.clear()
    mapping.update(items)


def swap_type(rng, tree):
    """Put a value of another type.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    container[key] = deepcopy(rng.choice((*WRONG_TYPES, str(container[key]), [container[key]])))


def text_value(rng, tree):
    """Put a text as people write it.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    container[key] = rng.choice((*TEXTS, *HOSTILE_NAMES))


def null(rng, tree):
    """Say null.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    container[key] = None


def name_like_a_value(rng, tree):
    """Give a valid name that a table or a page may read as a number, a date or nothing.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    section = tree.get(rng.choice(ENTRIES))
    if isinstance(section, dict) and section:
        _renamed(section, rng.choice(list(section)), rng.choice(VALID_NAMES))


def nudge(rng, tree):
    """Change a number by a factor near one, or by a small unit.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    numbers = _numbers(tree)
    if numbers:
        container, key, _ = rng.choice(numbers)
        value = container[key] * rng.choice((0.5, 0.9, 1.1, 1.5, 2.0, 3.0, 10.0, 0.1))
        container[key] = max(round(value), 1) if type(container[key]) is int else round(value, 4)


def own_key(rng, tree):
    """Set a plain key of a section that the study has to a value within its bounds.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    sections = [
        (dotted, field) for dotted, _, field in KEYS
        if dotted.count(".") and "<name>" not in dotted and isinstance(tree.get(dotted.split(".")[0]), dict)
    ]  # fmt: skip
    if not sections:
        return
    dotted, field = rng.choice(sections)
    target = tree
    for part in dotted.split(".")[:-1]:
        target = target.get(part)
        if not isinstance(target, dict):
            return
    low, high = limits(field)
    value = choices(field) or (low, high, low + (high - low) * rng.random(), _log_uniform(rng, low, high))
    kind = str(field.annotation)
    if choices(field) or "float" in kind or "int" in kind:
        value = rng.choice(value)
        target[dotted.split(".")[-1]] = round(value) if "int" in kind and "float" not in kind else value


def own_entry(rng, tree):
    """Set a key of a load, an array or a monitor to a value within its bounds.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    section = rng.choice(("loads", "arrays", "monitors", "chargers"))
    if not isinstance(tree.get(section), dict) or not tree[section]:
        return
    fields = [(dotted.split(".")[2], field) for dotted, _, field in KEYS
              if dotted.startswith(f"{section}.<name>.") and dotted.count(".") == 2]  # fmt: skip
    name, field = rng.choice(fields)
    target = rng.choice(list(tree[section].values()))
    if isinstance(target, dict):
        target[name] = plausible(rng, field)


def good_whatif(rng, tree):
    """Add a what-if that changes a number of the study.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    numbers = _numbers(
        {key: part for key, part in tree.items() if key not in ("whatifs", "sweeps", "sizing")}
    )
    if numbers and isinstance(tree.setdefault("whatifs", {}), dict):
        container, key, path = rng.choice(numbers)
        value = container[key] * rng.choice((0.3, 0.9, 1.2, 4.0))
        change = {".".join(map(str, path)): round(value) if type(container[key]) is int else value}
        tree["whatifs"][rng.choice((*VALID_NAMES, "extra"))] = change


def _numbers(tree):
    return [(c, k, p) for c, k, p in nodes(tree) if type(c[k]) in (int, float)]


def extreme(rng, tree):
    """Put an extreme number.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    numbers = _numbers(tree)
    if numbers:
        container, key, _ = rng.choice(numbers)
        container[key] = rng.choice(EXTREMES)


def wrong_unit(rng, tree):
    """Multiply a number as a slip of its unit would.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    numbers = _numbers(tree)
    if numbers:
        container, key, _ = rng.choice(numbers)
        value = container[key] * rng.choice(FACTORS)
        container[key] = int(value) if type(container[key]) is int and value % 1 == 0 else value


def known_key(rng, tree):
    """Add or overwrite a key of the study with a value that its bounds allow, or nearly.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    dotted, _, field = rng.choice(KEYS)
    target = tree
    parts = dotted.split(".")
    for part in parts[:-1]:
        part = _entry(rng, target) if part == "<name>" else part
        if not isinstance(target.get(part), dict):
            target[part] = {}
        target = target[part]
    name = _entry(rng, target) if parts[-1] == "<name>" else parts[-1]
    target[name] = plausible(rng, field)


def _entry(rng, mapping):
    return (
        rng.choice(list(mapping))
        if mapping and rng.random() < 0.8
        else rng.choice(("a", "extra", *HOSTILE_NAMES))
    )


def plausible(rng, field):
    """A value for a field: a word that it knows, or a number at, inside or just outside its bounds.

    Parameters
    ----------
    rng : random.Random
    field : pydantic.fields.FieldInfo
    """
    words = choices(field)
    if words:
        return rng.choice(words)
    low, high = limits(field)
    kind = str(field.annotation)
    if "float" in kind or "int" in kind:
        number = rng.choice(
            (low, high, low + (high - low) * rng.random(), _log_uniform(rng, low, high), high * 1.001)
        )
        number = round(number) if "int" in kind and "float" not in kind and rng.random() < 0.9 else number
        return [number] * rng.choice((1, 2, 12, 13)) if "list" in kind else number
    if "bool" in kind:
        return rng.random() < 0.5
    return rng.choice(
        ("00:00", "12:00", "05-01", "10-31", "2025-06-01", ["08:00", "20:00"], {}, "text", None)
    )


def limits(field):
    """Lowest and highest number that a field allows; -1e6 and 1e6 where it has no bound.

    Parameters
    ----------
    field : pydantic.fields.FieldInfo
    """
    low, high = -1e6, 1e6
    for item in constraints(field):
        for name in ("ge", "gt"):
            low = low if getattr(item, name, None) is None else getattr(item, name)
        for name in ("le", "lt"):
            high = high if getattr(item, name, None) is None else getattr(item, name)
    return low, high


def _log_uniform(rng, low, high):
    low, high = max(low, high * 1e-6, 1e-6), max(high, 1e-5)
    return low * (high / low) ** rng.random()


def move(rng, tree):
    """Copy one part of the study over another.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    source, from_key, _ = _node(rng, tree)
    target, to_key, _ = _node(rng, tree)
    target[to_key] = deepcopy(source[from_key])


def add_whatif(rng, tree):
    """Add a what-if or a sweep about any key.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, path = _node(rng, tree)
    dotted = ".".join(map(str, path)) if rng.random() < 0.6 else rng.choice(KEYS)[0].replace("<name>", "a")
    value = rng.choice((None, 0, 1, -1, 1e9, "x", container[key], *EXTREMES))
    if rng.random() < 0.7:
        section, value = "whatifs", value
    else:
        section, value = (
            "sweeps",
            rng.choice(([value], [1, 2], {"from": 1, "to": 9, "steps": 3}, {"from": value})),
        )
    if not isinstance(tree.get(section), dict):
        tree[section] = {}
    tree[section].setdefault(rng.choice(("extra", *HOSTILE_NAMES)), {})
    target = rng.choice(list(tree[section].values()))
    if isinstance(target, dict):
        target[dotted] = deepcopy(value)


def extends(rng, tree):
    """Take all but some sections from another file, well or badly.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    for key in [key for key in tree if rng.random() < 0.7]:
        del tree[key]
    tree["extends"] = rng.choice((BASE, BASE, BASE, "mutant.yaml", "../x.yaml", "", ".", None, 1, [BASE]))
    own_key(rng, tree)
    tree |= _change(rng)


def cross(rng, tree):
    """Make several studies of one file, well or badly.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    lists = {}
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        count = rng.choice((0, 1, 2, 2, 30))
        lists[_name(rng)] = {_name(rng): _change(rng) for _ in range(count)}
    tree["cross"] = rng.choice((lists, lists, lists, lists, None, [], "x", {"a": 1}, {"a": {"b": None}}))


def _change(rng):
    """A dotted key with a value, in every other case one that any study takes."""
    if rng.random() < 0.5:
        return {"bank.capacity_ah": rng.choice((100, 200, 300))}
    return {rng.choice(KEYS)[0].replace("<name>", "a"): rng.choice((None, 1, "x", 300, {}, *EXTREMES))}


def _name(rng):
    return rng.choice(("small", "large", "a1", "b2", *VALID_NAMES, *HOSTILE_NAMES))


def flood(rng, tree):
    """Very many keys, elements or levels.

    Parameters
    ----------
    rng : random.Random
    tree : dict
        The study as a mapping; changed in place.
    """
    container, key, _ = _node(rng, tree)
    size = rng.choice((30, 300, 3000))
    value = container[key]
    kinds = [
        lambda: {f"{misspelt(rng, rng.choice(KEYS)[0].rpartition('.')[2])}_{n}": n for n in range(size)},
        lambda: [deepcopy(value) if size < 300 or not isinstance(value, dict | list) else 1 for _ in range(size)],
        lambda: {f"k{n}": deepcopy(value) if size < 300 or not isinstance(value, dict | list) else 1
                 for n in range(size)},
        lambda: _deep(size),
    ]  # fmt: skip
    container[key] = rng.choice(kinds)()


def _deep(levels):
    tree = 1
    for _ in range(min(levels, 200)):
        tree = {"a": tree}
    return tree


TREE = (
    drop, drop, rename, hostile_name, hostile_name, swap_type, text_value, null, extreme, extreme, wrong_unit,
    wrong_unit, known_key, known_key, known_key, known_key, known_key, move, add_whatif, add_whatif, flood,
    extends, cross,
)  # fmt: skip
GENTLE = (
    name_like_a_value, nudge, nudge, nudge, own_key, own_key, own_key, own_entry, own_entry, good_whatif, wrong_unit,
    null, extreme, cross,
)  # fmt: skip


def duplicate_line(rng, text):
    """Say a line twice.

    Parameters
    ----------
    rng : random.Random
    text : str
        The study file.
    """
    lines = text.splitlines(keepends=True)
    at = rng.randrange(len(lines))
    return "".join(lines[: at + 1] + lines[at : at + rng.choice((1, 5))] + lines[at + 1 :])


def drop_line(rng, text):
    """Lose a line.

    Parameters
    ----------
    rng : random.Random
    text : str
        The study file.
    """
    lines = text.splitlines(keepends=True)
    del lines[rng.randrange(len(lines))]
    return "".join(lines)


def indent(rng, text):
    """Indent a line otherwise.

    Parameters
    ----------
    rng : random.Random
    text : str
        The study file.
    """
    lines = text.splitlines(keepends=True)
    at = rng.randrange(len(lines))
    lines[at] = rng.choice((" ", "\t", "      ", "- ")) + lines[at]
    return "".join(lines)


def no_blank(rng, text):
    """Lose the blank after a colon.

    Parameters
    ----------
    rng : random.Random
    text : str
        The study file.
    """
    lines = text.splitlines(keepends=True)
    at = rng.randrange(len(lines))
    lines[at] = lines[at].replace(": ", ":", 1)
    return "".join(lines)


def syntax(rng, text):
    """Put a piece of YAML that means something to a parser.

    Parameters
    ----------
    rng : random.Random
    text : str
        The study file.
    """
    pieces = (
        "&a ", "*a", "!!binary ", "!!python/name:os.system ", "<<: *a\n", "? ", "- ", "---\n", "...\n",
        "%YAML 1.2\n",
        "{", "}", "[", "]", "|\n", ">\n", "# ", "'", '"', '"\\U99999999"', '"\\x00"', '"\\ud800"', ": ", "\u2028",
        "@",
        "`", "\x07", "\ufeff", "\u0085",
    )  # fmt: skip
    at = rng.randrange(len(text) + 1)
    at = text.rfind(": ", 0, at) + 2 if rng.random() < 0.5 else at
    return text[:at] + rng.choice(pieces) + text[at:]


TEXT = (duplicate_line, drop_line, indent, no_blank, syntax, syntax)
KEYS = tuple(every_key())
