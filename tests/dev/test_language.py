"""The counts of the sources' language, on a package whose numbers are known by hand."""

from dev.language import count

LOW = '''"""Sums that lie beside nothing."""

from toy.high.more import g


def f(a):
    """Add.

    Parameters
    ----------
    a : float
    """
    return g(a)


def _hidden(a):
    return a
'''
HIGH = '''"""Where the doubt is told."""


def g(a):
    """Return it."""
    return a


class C:
    """A class."""

    def method(self):
        """Nothing to describe."""
'''


def test_counts(tmp_path):
    """Three avoided words are found, and one function of two describes its argument."""
    for room, name, text in (("low", "sums", LOW), ("high", "more", HIGH)):
        (tmp_path / "toy" / room).mkdir(parents=True)
        (tmp_path / "toy" / room / f"{name}.py").write_text(text, encoding="utf-8")
    numbers, avoided, undescribed = count(tmp_path / "toy")
    assert numbers["rooms"] == numbers["modules"] == 2
    assert numbers["arrows between rooms"] == 1
    assert numbers["upward arrows (best order)"] == 0
    assert [place.rsplit(" ", 1)[1] for place in avoided] == ["doubt", "told", "beside"]
    assert numbers["public functions with arguments"] == 2
    assert numbers["of these with parameters in the docstring, %"] == 50.0
    assert [place.rsplit(" ", 1)[1] for place in undescribed] == ["g"]
