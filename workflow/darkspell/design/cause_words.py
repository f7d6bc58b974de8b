"""Causes of loss and their remedies in words, for readers of results: a module that compiles nothing."""

from darkspell.core.messages import N_

WORDS = {
    "indoors": N_("the bank indoors"),
    "heater": N_("a heating pad under the bank"),
    "cooler_indoors": N_("the bank in a room of 10 to 30 °C"),
    "sodium_ion": N_("a sodium-ion bank, which charges down to -10 °C"),
    "agm": N_("an AGM bank of twice the capacity, which charges in frost"),
    "thicker_cable": N_("a shorter or thicker cable to the loads, of a fifth of its resistance"),
    "own_inverter_cutoff": N_(
        "an inverter wired straight to the bank, with its own cut-off of 10.5 V for each 12 V"
    ),
    "slower_cutoff": N_("a cut-off that waits two minutes, which lets motors start"),
    "larger_controller": N_("a charge controller of twice the current"),
}
CAUSES = {
    "empty": N_("the bank is empty"),
    "depth_limit": N_("the bank is at its depth limit"),
    "voltage": N_("the largest load pulls the voltage below the cut-off, though the bank holds charge"),
    "reconnection": N_("the loads wait for reconnection"),
    "too_cold": N_("the bank is too cold to charge"),
    "charge_current": N_("bank or controller limits the charge current"),
    "too_hot": N_("the bank is too hot to charge"),
    "shed": N_("the bank is down to the level at which essential loads are shed for critical ones"),
}
NOT_OF_SIZE = ("too_cold", "too_hot", "voltage")  # causes that no larger array cures
