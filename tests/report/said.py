"""What a sentence says, apart from its wording: its numbers."""

import re


def numbers(text):
    """Numbers of a text in digits, in their order; list of float.

    Parameters
    ----------
    text : str
        Thousands may be apart by a space that does not break; a minus sign may be the true one.
    """
    joined = re.sub(r"(?<=\d)[\u202f\u00a0](?=\d{3}\b)", "", text).replace("\u2212", "-")
    return [float(found) for found in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", joined)]
