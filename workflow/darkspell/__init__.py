"""darkspell: Monte Carlo studies of small off-grid electrical systems.

One room a step, in the order in which a watt-hour travels: study, climate, sky, array, loads, bank,
monitor, statistics, then choices (sizing, what-ifs), figures and the proposal.
"""

from darkspell.core.jit_cache import use_keyed_cache

__version__ = "0.1.0"

use_keyed_cache()
