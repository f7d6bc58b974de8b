"""darkspell: Monte Carlo studies of small off-grid electrical systems.

Each folder is one room. DEVELOPERS.md lists the rooms in their order, and describes the path of one watt-hour from
the study file to the proposal.
"""

from darkspell.core.jit_cache import use_keyed_cache

__version__ = "0.2.0"

use_keyed_cache()
