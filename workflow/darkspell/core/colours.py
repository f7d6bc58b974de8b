"""Colours that can be read: contrast after WCAG 2.1."""


def luminance(colour):
    """Relative luminance of a colour (WCAG 2.1, definition of "relative luminance").

    Parameters
    ----------
    colour : str
        ``#rrggbb``.

    Returns
    -------
    float
        0 (black) to 1 (white) [-].
    """
    parts = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(colour, ground):
    """Contrast ratio of two colours (WCAG 2.1, definition of "contrast ratio").

    Parameters
    ----------
    colour, ground : str
        ``#rrggbb``.

    Returns
    -------
    float
        1 to 21 [-].
    """
    high, low = sorted((luminance(colour), luminance(ground)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lightened(colour, ground, wanted):
    """A colour mixed with white until it can be read on a dark ground.

    Parameters
    ----------
    colour, ground : str
        ``#rrggbb``.
    wanted : float
        Contrast to reach [-].

    Returns
    -------
    str
        ``#rrggbb``; white where nothing less will do.
    """
    parts = [int(colour[at : at + 2], 16) for at in (1, 3, 5)]
    for step in range(101):
        mixed = "#" + "".join(f"{round(part + (255 - part) * step / 100):02x}" for part in parts)
        if contrast(mixed, ground) >= wanted:
            return mixed
    return "#ffffff"
