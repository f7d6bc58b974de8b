"""How long single banks of one kind last: their spread about the life of the kind."""

import numpy as np

from darkspell.core.constants import constant


def life_factors(members, seed):
    """Life of each member's own bank over that of its kind: lognormal, stream ``bank/life``.

    Parameters
    ----------
    members : int array [members]
    seed : int

    Returns
    -------
    float64 array [members]
        [-].
    """
    from darkspell.core.keyed_random import normals, stream_key  # compiled: readers of results draw nothing

    key, spread = stream_key(seed, "bank/life"), constant("bank", "common", "life_spread")
    return np.exp([spread * normals(key, int(member), 1)[0] for member in members])
