"""darkspell: Monte Carlo studies of small off-grid electrical systems.

Public functions, loaded when first used; see `darkspell.api`:

- `read_study`: a YAML file or a mapping, validated
- `simulate`: the study's design over all its synthetic years; tables and hourly series
- `size`: every design of the grid of array and bank sizes
- `what_if`: changed studies on the same draws, with intervals of the differences
- `replay`: the study on its measured years

The module `darkspell.plot` draws what they return, each plot on given axes or on new ones.

Rooms in the order in which data flow: core, statistics, chemistry, study, climate, weather, pv, loads, chargers,
bank, monitor, simulation, design, hand_check, report, log_analysis, validation, pipeline, cli.
"""

from importlib import import_module

from darkspell.core.jit_cache import use_keyed_cache

__version__ = "0.2.0"
__all__ = ["read_study", "replay", "simulate", "size", "what_if"]  # noqa: F822, given by __getattr__

use_keyed_cache()


def __getattr__(name):
    """A public function or the plots, at their first use: importing the package stays fast."""
    if name == "plot":
        return import_module("darkspell.plot")
    if name not in __all__:
        raise AttributeError(f"module 'darkspell' has no attribute {name!r}")
    from darkspell import api  # its libraries take a second

    return getattr(api, name)
