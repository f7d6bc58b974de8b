"""Where the Snakefile, its rules and their scripts are: in the installed package, or in the checkout around it."""

from pathlib import Path

from darkspell.core.jit_cache import PACKAGE


def workflow_root(package=PACKAGE):
    """Folder that holds the Snakefile.

    Parameters
    ----------
    package : pathlib.Path
        Folder of the package.

    Returns
    -------
    pathlib.Path
        ``pipeline/files`` of a package installed from a wheel; else the checkout that holds the package.
    """
    inside = Path(package) / "pipeline" / "files"
    return inside if (inside / "Snakefile").is_file() else Path(package).parents[1]
