"""Location of the built-in data files."""

from pathlib import Path

FILES = ("atlas.nc", "climatology.nc")


def data_file(name):
    """Path of a built-in data file: inside the installed package, or next to it in a checkout.

    Parameters
    ----------
    name : str
        One of `FILES`.

    Returns
    -------
    pathlib.Path
    """
    package = Path(__file__).parents[1]
    inside = package / "data" / name
    return inside if inside.exists() else package.parent / "data" / name
