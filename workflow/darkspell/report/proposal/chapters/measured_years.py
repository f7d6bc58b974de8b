"""Measured years compared with simulated ones, where the study has a record."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table

ROWS = {
    "short_nights": (N_("Nights with essential loads dark"), N_("a year")),
    "lolh": (N_("Hours without essential power"), N_("a year")),
    "years_with_short_nights": (N_("Years with such nights"), ""),
    "eue_kwh": (N_("Energy not delivered, all loads"), N_("kWh a year")),
    "annual_max_depth_true": (N_("Depth of discharge exceeded in one year in ten"), "%"),
}
VERDICTS = {
    "same": N_("the same within their intervals"),
    "differ": N_("differ beyond chance"),
    "unknown": N_("not known"),
}


def there(results):
    """Whether measured years were run.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    return results.measured_years is not None and len(results.measured_comparison) > 0


def section(results):
    """The section on measured years.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    rows = results.measured_comparison.set_index("statistic")
    run = results.measured_years[results.measured_years["run"] == "yes"]
    left = results.measured_years[results.measured_years["run"] == "no"]
    same = rows.loc["lolh", "verdict"] == "same"
    heading = (
        _("Measured and simulated years agree") if same else _("Measured and simulated years do not agree")
    )
    blocks = [Paragraph(_told(rows.loc["lolh"], len(run))), *figure(results, "measured_years"), _table(rows)]
    blocks.append(Paragraph(_record(run, left), "note"))
    return Section(heading, blocks)


def _told(row, count):
    years = say.count_of(count, "{count} measured year", "{count} measured years")
    start = (
        _(
            "The record of the site has {years} that could be run as measured, with the same system and the same "
            "uncertainty of the loads."
        ).format(years=years)
        + " "
    )
    if row["verdict"] == "same":
        return _(
            "{start}They and the simulated years lose the same within their intervals. This tests the whole: "
            "measured and "
            "simulated weather lead to the same answer."
        ).format(start=start)
    lose = (
        _("They lose more than the simulated years, beyond what chance explains.")
        if row["measured"] > row["simulated"]
        else _("They lose less than the simulated years, beyond what chance explains.")
    )
    trust = _(
        "Trust the worse of the two, and check the record first: a fault in it, or unusual years, would explain the "
        "difference."
    )
    return f"{start}{lose} {trust}"


def _table(rows):
    cells = []
    for key, (name, unit) in ROWS.items():
        row = rows.loc[key]
        scale = 100.0 if key == "years_with_short_nights" else 1.0
        unit = _("% of years") if key == "years_with_short_nights" else _(unit)
        both = [_known(row, kind, scale) for kind in ("measured", "simulated")]
        verdict = row["verdict"]
        cells.append([f"{_(name)}, {unit}".rstrip(", "), *both, _(VERDICTS[verdict])])
    return Table(
        caption=_("Measured and synthetic years of the same system"),
        header=["", _("Measured years"), _("Synthetic years"), _("Verdict")],
        rows=cells,
        align="lrrl",
        note=_("In brackets the sampling error of each, 95 %: it is larger for few years."),
    )


def _known(row, kind, scale):
    value, low, high = (scale * row[f"{kind}{end}"] for end in ("", "_low", "_high"))
    text, ends = say.rounded(value, low, high), say.between(low, high)
    return text if low == high or text == ends else f"{text} ({ends})"


def _record(run, left):
    filled = int(run["days_missing"].sum())
    text = _("Years run: {iloc} to {iloc_2}.").format(iloc=run["year"].iloc[0], iloc_2=run["year"].iloc[-1])
    if filled:
        text += " " + _("{capitalize} replaced from the same month.").format(
            capitalize=say.sentence(
                say.count_of(
                    filled, "{count} missing or impossible day", "{count} missing or impossible days"
                )
            )
        )
    if len(left):
        names = say.listed(
            _("{year} ({days_missing} days)").format(year=row["year"], days_missing=int(row["days_missing"]))
            for _index, row in left.iterrows()
        )
        text += " " + _("Left out, since too many days are missing: {names}.").format(names=names)
    return text + " " + _("The file record_faults.csv lists every fault of the record with its dates.")
