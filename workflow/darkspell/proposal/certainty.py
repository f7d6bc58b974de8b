"""How sure we are and why, and what is left out."""

import numpy as np

from darkspell.proposal import wording as say
from darkspell.proposal.tree import Listing, Paragraph, Section


def section(results):
    """The section on certainty."""
    heading = (
        f"How sure we are: {say.count_of(results.years, 'synthetic year')}, "
        f"{say.count_of(results.worlds, 'draw')} of what is not known"
    )
    climate = results.climate
    parts = [
        "A synthetic year is 8760 hours of invented weather and use that keep the statistics of the "
        "place. The "
        f"{results.years} years live in {say.count_of(results.worlds, 'world')}; each world is one draw "
        f"of what "
        "nobody knows exactly: how clear the climate really is, and how much the loads really take.",
        f"Where the climate comes from: {say.given(climate.source)}. "
        + " ".join(say.given(note) for note in climate.notes).strip(),
        f"Doubt about that source is drawn with {100 * climate.world_sd:.0f} % (one standard deviation of "
        f"monthly "
        f"clearness), doubt about the loads with {results.study.load_doubt_pct:g} %.",
        narrowing(results),
        "Two kinds of interval stand in this proposal and are never mixed. The 95 % interval of the mean "
        "says "
        "how well an average is known. The 80 % interval of a coming year says what one year may bring: "
        "in one "
        "year of ten less, in one year of ten more.",
    ]
    return Section(heading, [Paragraph(text) for text in parts])


def world_share(values, world):
    """Share of the variance of a mean that comes from the worlds, which more years in them cannot lower.

    Parameters
    ----------
    values : array_like [members]
    world : array_like [members]

    Returns
    -------
    float
        0..1; not a number where it cannot be told.
    """
    values, world = np.asarray(values, float), np.asarray(world)
    names, at = np.unique(world, return_inverse=True)
    counts = np.bincount(at)
    if names.size < 2 or counts.min() < 2:
        return float("nan")
    means = np.bincount(at, values) / counts
    within = np.bincount(at, (values - means[at]) ** 2).sum() / (values.size - names.size)
    total = means.var(ddof=1)
    if total == 0:
        return float("nan")
    return float(np.clip(1.0 - within / counts.mean() / total, 0.0, 1.0))


def narrowing(results):
    """What would make the answer surer."""
    share = world_share(results.members["unserved_kwh"], results.members["world"])
    climate = (
        "twelve monthly values of sunshine measured nearby"
        if results.study.climate.source == "atlas"
        else "a longer record of sunshine from nearby"
    )
    better = f"{climate}, and a week of measured loads"
    if not np.isfinite(share):
        return (
            "What would narrow the intervals we cannot say from so few losses or so few years; "
            f"more years would tell, and so would {better}."
        )
    if share > 0.5:
        return (
            f"What would narrow the intervals: {better}. More synthetic years would help little, since "
            f"{'nearly all' if share > 0.95 else 'about ' + say.percent(round(share, 1))} of the variance "
            f"of the yearly mean (energy not delivered) is "
            f"doubt "
            "about climate and loads."
        )
    return (
        f"What would narrow the intervals: more synthetic years first (about "
        f"{say.percent(round(1 - share, 1))} "
        f"of the variance of the yearly mean, of energy not delivered, is their number); then {better}."
    )


def left_out(results):
    """The section on what is not covered."""
    replayed = results.replay is not None
    items = [
        "Faults: a failed module, controller, cell or connection; wear beyond the age stated.",
        "Fog or shade of one valley, a moving boat or vehicle, unless put into the losses stated; snow that buries "
        "an array, drifts against it or freezes on as ice.",
        "Other sources: no generator, wind, shore power or mains feeds this bank.",
        "Loads that are not in the table, and people who use more because there is more.",
        "A climate that changes over the life of the system.",
    ]
    if not replayed:
        items.append("Years of measured weather on the spot: the weather here is drawn, not recorded.")
    return Section("What this does not cover", [Listing(items)])
