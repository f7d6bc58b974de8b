"""Fonts of this machine for letters that the figures' own font lacks, such as Japanese names in a study."""


def families_for(text):
    """Font families of this machine that draw the letters of a text which the figures' own font lacks.

    Parameters
    ----------
    text : str

    Returns
    -------
    list of str
        The fewest that draw the most; empty where nothing is missing, or no font has it.
    """
    from matplotlib import font_manager

    missing = {ord(letter) for letter in text if letter.isprintable()} - _drawn(
        font_manager.findfont("DejaVu Sans")
    )
    if not missing:
        return []
    fonts = {path: missing & _drawn(path) for path in sorted(font_manager.findSystemFonts())}
    found = []
    while missing and fonts:
        path = max(fonts, key=lambda path: len(fonts[path] & missing))
        if not fonts[path] & missing:
            break
        missing -= fonts.pop(path)
        font_manager.fontManager.addfont(path)
        found.append(font_manager.get_font(path).family_name)
    return found


def _drawn(path):
    """Code points that a font file draws; none of a file that cannot be read."""
    from matplotlib.ft2font import FT2Font

    try:
        return set(FT2Font(path).get_charmap())
    except (RuntimeError, OSError):
        return set()
