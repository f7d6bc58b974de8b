"""How many constants have a source: ``python -m dev.sources`` prints a line a room.

A constant counts as without source if its source says so; as recalled if it says "memory"; as ours if it names our
own choice or assumption. The rest was read.
"""

from collections import Counter

from darkspell.core.constants import ROOMS, sources

KINDS = ("without source", "ours", "recalled", "read")


def kind_of(source):
    """Kind of a constant by what its source says; one of `KINDS`.

    Parameters
    ----------
    source : str
    """
    if "no source" in source:
        return "without source"
    if source.startswith(("our ", "none")):
        return "ours"
    return "recalled" if "memory" in source else "read"


def counts():
    """Constants by room and kind; dict of `collections.Counter`."""
    return {room: Counter(kind_of(row["source"]) for row in sources((room,))) for room in ROOMS}


def main():
    """Print the counts, and how many of those without source have a range."""
    found = counts()
    found["all"] = sum(found.values(), Counter())
    print(f"{'room':14}{'constants':>10}" + "".join(f"{kind:>16}" for kind in KINDS))
    for room, count in found.items():
        print(f"{room:14}{count.total():10d}" + "".join(f"{count[kind]:16d}" for kind in KINDS))
    bare = [row for row in sources() if kind_of(row["source"]) == KINDS[0]]
    ranged = sum("range" in row or isinstance(row["value"], list) for row in bare)
    print(f"of those without source, {ranged} have a range, or are a pair of bounds themselves")


if __name__ == "__main__":
    main()
