"""How plain the sources are, in numbers: ``python -m dev.language [FOLDER ...] [--list]``.

Counts the rooms of a package and the imports between them, its modules and lines, words in docstrings that a
reader stumbles over, and functions whose docstring describes their parameters. It only reads the sources, so that
an older copy can be compared. With ``--list`` it prints the places, by file and line.
"""

import argparse
import ast
import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
# Words and phrases to avoid: literary, or used in a sense of our own where the field has a term.
AVOIDED = (
    "beside", "stands?", "lies", "told", "nought", "middling", "whatever", "holds? for", "worlds?", "doubts?",
    "false comfort", "luck",
)  # fmt: skip
_AVOIDED = re.compile(rf"\b({'|'.join(AVOIDED)})\b", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z][A-Za-z'-]*")
_SECTION = re.compile(r"^\s*(Other )?Parameters\n\s*---", re.MULTILINE)


def sources(package):
    """Parsed modules of a package, and of the folder ``dev`` next to it.

    Parameters
    ----------
    package : pathlib.Path

    Returns
    -------
    dict
        ``{(room, path): (text, tree)}``; a room is a folder of the package, or a module directly in it.
    """
    found = {}
    for folder in (package, package.parent / "dev"):
        for path in sorted(folder.rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            inside = path.relative_to(folder).parts
            room = "dev" if folder.name == "dev" else inside[0].removesuffix(".py")
            found[room, path] = text, ast.parse(text)
    return found


def arrows(modules, package):
    """Pairs of different rooms of which the first imports from the second.

    Parameters
    ----------
    modules : dict
        As `sources` gives them.
    package : str
        Name under which the package is imported.

    Returns
    -------
    set of (str, str)
    """
    rooms, pairs = {room for room, _ in modules}, set()
    for (room, _), (_, tree) in modules.items():
        for node in ast.walk(tree):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [f"{node.module}.{alias.name}" for alias in node.names]
            for top, other, *_ in (name.split(".") for name in names if "." in name):
                other = "dev" if top == "dev" else other
                if top in (package, "dev") and other in rooms - {room, "__init__"}:
                    pairs.add((room, other))
    return {pair for pair in pairs if pair[0] != "__init__"}


def stated_order():
    """Rooms from the bottom to the top, as tests/test_rooms.py states them; tuple of str."""
    tree = ast.parse((ROOT / "tests" / "test_rooms.py").read_text(encoding="utf-8"))
    return next(
        ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and node.targets[0].id == "ORDER"
    )


def best_order(rooms, pairs):
    """An order with few upward arrows, for a package that states none: single rooms move while that helps.

    Parameters
    ----------
    rooms : set of str
    pairs : set of (str, str)

    Returns
    -------
    tuple of str
    """
    order = sorted(rooms, key=lambda room: (sum(pair[0] == room for pair in pairs), room))
    fewest = len(upward(order, pairs))
    improved = True
    while improved:
        improved = False
        for room in sorted(rooms):
            rest = [other for other in order if other != room]
            tries = [[*rest[:at], room, *rest[at:]] for at in range(len(order))]
            best = min(tries, key=lambda trial: len(upward(trial, pairs)))
            if len(upward(best, pairs)) < fewest:
                order, fewest, improved = best, len(upward(best, pairs)), True
    return tuple(order)


def upward(order, pairs):
    """Arrows from a lower to a higher room.

    Parameters
    ----------
    order : sequence of str
        Rooms from the bottom to the top.
    pairs : set of (str, str)

    Returns
    -------
    list of (str, str)
    """
    level = {room: at for at, room in enumerate(order)}
    return sorted(pair for pair in pairs if level[pair[0]] < level[pair[1]])


def docstrings(tree):
    """Docstrings of a module.

    Parameters
    ----------
    tree : ast.Module

    Yields
    ------
    str, int
        Docstring and the line on which its text begins.
    """
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            text = ast.get_docstring(node, clean=False)
            if text:
                yield text, node.body[0].lineno


def functions(body):
    """Public functions with arguments, and public methods of public classes.

    Parameters
    ----------
    body : list of ast.stmt

    Yields
    ------
    ast.FunctionDef
    """
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from functions(node.body)
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            names = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            if [name for name in names if name.arg not in ("self", "cls")] or node.args.vararg:
                yield node


def count(package):
    """Numbers of one package, and the places behind two of them.

    Parameters
    ----------
    package : pathlib.Path

    Returns
    -------
    numbers : dict
        By name, in the order in which they are printed.
    avoided, undescribed : list of str
        Places with an avoided word, and functions without parameters in their docstring.
    """
    modules = sources(package)
    pairs, rooms = arrows(modules, package.name), {room for room, _ in modules} - {"__init__"}
    stated = stated_order()
    known = rooms <= set(stated)
    order = stated if known else best_order(rooms, pairs)
    avoided, undescribed, words, total = [], [], 0, 0
    for (_, path), (_, tree) in modules.items():
        for text, line in docstrings(tree):
            words += len(_WORD.findall(text))
            for match in _AVOIDED.finditer(text):
                avoided.append(f"{path}:{line + text[: match.start()].count(chr(10))}: {match[0]}")
        for node in functions(tree.body):
            total += 1
            if not _SECTION.search(ast.get_docstring(node) or ""):
                undescribed.append(f"{path}:{node.lineno}: {node.name}")
    numbers = {
        "rooms": len(rooms),
        "arrows between rooms": len(pairs),
        f"upward arrows ({'stated' if known else 'best'} order)": len(upward(order, pairs)),
        "modules": len(modules),
        "lines": sum(text.count("\n") for text, _ in modules.values()),
        "words in docstrings": words,
        "avoided words per 10,000": round(1e4 * len(avoided) / max(words, 1), 1),
        "public functions with arguments": total,
        "of these with parameters in the docstring, %": round(
            100 * (1 - len(undescribed) / max(total, 1)), 1
        ),
    }
    return numbers, avoided, undescribed


def main(words=None):
    """Print the numbers of each package.

    Parameters
    ----------
    words : list of str, optional
    """
    parser = argparse.ArgumentParser("python -m dev.language", description=__doc__.splitlines()[0])
    parser.add_argument("folders", nargs="*", type=Path, metavar="FOLDER", help="packages (darkspell)")
    parser.add_argument("--list", action="store_true", help="also print the places")
    asked = parser.parse_args(words)
    for folder in asked.folders or [ROOT / "workflow" / "darkspell"]:
        numbers, avoided, undescribed = count(folder.resolve())
        print(folder)
        for name, value in numbers.items():
            print(f"  {name:45s}{value:>10,}")
        if asked.list:
            print(*avoided, *undescribed, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
