"""Levels at which loads are shed, checked against each other: comforts first, critical loads last."""

from darkspell.study.base import Faults


def check_tiers(critical, rows, deferrable, bank):
    """Refuse levels that would shed loads in another order than their tiers say.

    Parameters
    ----------
    critical : darkspell.study.loads.Critical
    rows : dict
        Loads and measured loads by name.
    deferrable : darkspell.study.loads.Deferrable
    bank : darkspell.study.bank.Bank

    Raises
    ------
    Faults
        Nothing is checked where no load is critical.
    """
    tiers = {row.tier for row in rows.values()}
    if "critical" not in tiers:
        return
    shed, resume = critical.shed_essential_below_soc_pct, critical.resume_essential_above_soc_pct
    faults, left = [], 100.0 - bank.depth_limit_pct
    if shed <= left:
        text = f"{shed:g} % is not above what is left at the depth limit of the bank ({left:g} %): essential loads "
        text += "would not be shed before critical ones; raise it"
        faults.append(("shed_essential_below_soc_pct", text))
    if "deferrable" in tiers:
        for key, ours, theirs, other in (
            ("shed_essential_below_soc_pct", shed, deferrable.shed_below_soc_pct, "shed_below_soc_pct"),
            (
                "resume_essential_above_soc_pct",
                resume,
                deferrable.resume_above_soc_pct,
                "resume_above_soc_pct",
            ),
        ):
            if ours > theirs:
                text = f"{ours:g} % is above deferrable.{other} ({theirs:g} %): essential loads would be off while "
                faults.append((key, text + "deferrable ones are on; lower it"))
    if faults:
        raise Faults(*faults)
