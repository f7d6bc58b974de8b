"""Causes of loss and their remedies in words, for readers of results: a module that compiles nothing."""

WORDS = {
    "indoors": "the bank indoors",
    "heater": "a heating pad under the bank",
    "sodium_ion": "a sodium-ion bank, which charges down to -10 °C",
    "agm": "an AGM bank of twice the capacity, which charges in frost",
    "thicker_cable": "a shorter or thicker cable to the loads, of a fifth of its resistance",
    "own_inverter_cutoff": "an inverter wired straight to the bank, with its own cut-off of 10.5 V for each 12 V",
    "slower_cutoff": "a cut-off that waits two minutes, which lets motors start",
    "larger_controller": "a charge controller of twice the current",
}
CAUSES = {
    "empty": "the bank is empty",
    "depth_limit": "the bank is at its depth limit",
    "voltage": "the largest load pulls the voltage below the cut-off, though the bank holds charge",
    "reconnection": "the loads wait for reconnection",
    "too_cold": "the bank is too cold to charge",
    "charge_current": "bank or controller limits the charge current",
}
NOT_OF_SIZE = ("too_cold", "voltage")  # causes that no larger array cures
