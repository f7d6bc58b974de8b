"""Which kind of monitor suits this bank: the same true years read by each, and a verdict from the numbers."""

from darkspell.core.messages import N_, _, ngettext
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.cautions import COLD_SENSITIVE

LOW_CHARGE = "low_charge_error_p95_pct"
KINDS = {
    "shunt": N_("a well-set shunt"),
    "gauge": N_("a voltage gauge"),
    "pack": N_("the batteries' own electronics"),
}
ROWS = (
    ("reading_error_p95_pct", N_("Error, exceeded 5 % of the time [points]")),
    ("low_charge_error_p95_pct", N_("The same while the bank holds less than half [points]")),
    ("off_10_points_h", N_("Off by more than 10 points [hours a year]")),
    ("missed_warning_h", N_("Missed warning [hours a year]")),
    ("false_alarm_h", N_("False alarm [hours a year]")),
)
CLOSE_ENOUGH = 5.0  # points, within which two monitors serve an owner alike; our choice


def section(results):
    """The section on the choice of a monitor.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    kinds = offered(results.study, results.table("monitor_kinds"))
    best, reasons = verdict(kinds)
    texts = [Paragraph(text) for text in reasons]
    return Section(
        _heading(best), [*texts, *figure(results, "monitor_drift"), _table(kinds), _since(results)]
    )


def offered(study, kinds):
    """Kinds of monitor that there are for a bank: only lithium and sodium batteries have electronics of their own.

    Parameters
    ----------
    study : darkspell.study.Study
    kinds : pandas.DataFrame
        As monitor_kinds.csv.

    Returns
    -------
    pandas.DataFrame
    """
    has_pack = study.bank.chemistry in COLD_SENSITIVE or any(
        monitor.kind == "pack" for monitor in study.monitors.values()
    )
    return kinds if has_pack else kinds[kinds["kind"] != "pack"]


def verdict(kinds):
    """Choose the kind of monitor that suits, with the reasons in sentences.

    The kind with the smallest error exceeded 5 % of the time while the bank holds less than half comes first (over
    all hours where it never does); kinds within `CLOSE_ENOUGH` points of it, there and over all hours, serve as
    well. More hours of missed
    warnings, where clear, are said of a kind.

    Parameters
    ----------
    kinds : pandas.DataFrame
        As monitor_kinds.csv.

    Returns
    -------
    best : list of str
        Kinds that serve, the best first.
    reasons : list of str
    """
    low = kinds[kinds["statistic"] == LOW_CHARGE]
    judged = LOW_CHARGE if len(low) == kinds["kind"].nunique() else "reading_error_p95_pct"
    error = kinds[kinds["statistic"] == judged].set_index("kind")["mean"].sort_values()
    comfort = kinds[kinds["statistic"] == "missed_warning_h"].set_index("kind")
    first = error.index[0]
    always = kinds[kinds["statistic"] == "reading_error_p95_pct"].set_index("kind")["mean"]
    best = [
        kind
        for kind in error.index
        if max(error[kind] - error[first], always[kind] - always[first]) <= CLOSE_ENOUGH
    ]
    worse = [kind for kind in error.index if kind not in best]
    n = int(kinds["n"].max())
    lead = (
        _(
            "Each kind has read the same {n} years. Error, exceeded 5 % of the time while the bank holds less than "
            "half, averaged over the years: {errors}."
        )
        if judged == LOW_CHARGE
        else _(
            "Each kind has read the same {n} years. Error, exceeded 5 % of the time, averaged over the years: "
            "{errors}."
        )
    )
    reasons = [lead.format(n=n, errors=_errors(kinds, error.index, judged))]
    if worse:
        names = say.listed(_(KINDS[kind]) for kind in worse)
        text = ngettext(
            "{names} should not be the only monitor here; use it as a second source.",
            "{names} should not be the only monitors here; use them as a second source.",
            len(worse),
        )
        reasons.append(text.format(names=say.sentence(names)))
    if len(best) > 1:
        names = say.listed(_(KINDS[kind]) for kind in best)
        text = (
            _("{names} are within {CLOSE_ENOUGH:g} points of each other: either will serve.")
            if len(best) == 2
            else _("{names} are within {CLOSE_ENOUGH:g} points of each other: any of them will serve.")
        )
        reasons.append(text.format(names=say.sentence(names), CLOSE_ENOUGH=CLOSE_ENOUGH))
    for kind in best:
        row = comfort.loc[kind]
        if row["verdict"] == "real" and row["difference"] > 0:
            reasons.append(
                _(
                    "With {KINDS} warnings are missed for {interval} more hours a year than a well-set shunt "
                    "(95 % interval)."
                ).format(KINDS=_(KINDS[kind]), interval=say.between(row["low"], row["high"]))
            )
    if "pack" in best:
        reasons.append(
            _(
                "Electronics inside a battery speak for that battery alone: with several batteries, look "
                "at each of them."
            )
        )
    reasons.append(
        _(
            "A shunt is only as good as its settings and its wiring: a current that bypasses the "
            "shunt is not counted."
        )
    )
    return best, reasons


def _errors(kinds, names, statistic):
    return say.listed(
        _("{value} points with {KINDS}").format(KINDS=_(KINDS[kind]), value=_value(kinds, kind, statistic))
        for kind in names
    )


def _heading(best):
    return _("For this bank, {KINDS} is the most accurate").format(KINDS=_(KINDS[best[0]])) + (
        _("; {items} will do as well").format(items=say.listed(_(KINDS[kind]) for kind in best[1:]))
        if best[1:]
        else ""
    )


def _value(kinds, kind, statistic):
    row = kinds[(kinds["kind"] == kind) & (kinds["statistic"] == statistic)].iloc[0]
    return say.rounded(row["mean"], row["mean_low"], row["mean_high"], least=0)


def _table(kinds):
    names = [kind for kind in KINDS if kind in set(kinds["kind"])]
    rows = []
    for statistic, label in ROWS:
        if statistic not in set(kinds["statistic"]):
            continue
        cells = []
        for kind in names:
            row = kinds[(kinds["kind"] == kind) & (kinds["statistic"] == statistic)].iloc[0]
            cells.append(
                f"{_value(kinds, kind, statistic)} ({say.between(row['mean_low'], row['mean_high'], least=0)})"
            )
        rows.append([_(label), *cells])
    return Table(
        caption=_("Kinds of monitor on the same years"),
        header=["", *(say.sentence(_(KINDS[kind])) for kind in names)],
        rows=rows,
        align="l" + "r" * len(names),
        note=_(
            "Means over the years, with their 95 % intervals. Missed warning: the reading is above "
            "the warning level while the bank is below it; false alarm: the reverse."
        ),
    )


def _since(results):
    drift = results.table("monitor_error_percentiles")
    drift = drift[drift["by"] == "days_since_full"]
    names = list(dict.fromkeys(drift["monitor"]))
    rows = []
    for group in dict.fromkeys(drift["group"]):
        here = drift[drift["group"] == group].set_index("monitor")
        if not here["share_pct"].iloc[0] > 0:
            continue
        spans = [
            say.between(round(here["p10"][n], 1), round(here["p90"][n], 1), least=0).replace("-", "\u2212")
            for n in names
        ]
        rows.append([str(group).replace("-", "\u2013"), f"{here['share_pct'].iloc[0]:.1f}", *spans])
    return Table(
        caption=_("Reading minus true charge, by days since the bank was full"),
        header=[
            _("Days"),
            _("Share of hours, %"),
            *(_("{n}, points").format(n=say.given(name_in_words(n))) for n in names),
        ],
        rows=rows,
        align="lr" + "r" * len(names),
        note=_("Eight hours of ten are between the two figures. By month: monitor_error_percentiles.csv."),
    )
