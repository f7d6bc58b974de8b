"""What the display on the wall shows, month by month, and how far to trust it: the client's page."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Listing, Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.chapters.cautions import COLD_SENSITIVE
from darkspell.report.proposal.chapters.monitor_readings import month_band


def section(results):
    """The section on the display.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    study = results.study
    name = study.monitor
    table = _months(results)
    return Section(
        _("What the display will show"),
        [
            Paragraph(
                _(
                    "The display “{name}” shows the state of charge: 100 % is full, 0 % is empty. State of "
                    "charge and depth of discharge are the two ends of one scale: 40 % of charge is 60 % of "
                    "depth. {warning}"
                ).format(name=say.given(name_in_words(name)), warning=_warning(study))
            ),
            Listing(list(explanations(study))),
            *([table] if table else []),
        ],
    )


def _warning(study):
    """At which reading the display warns, and where the loads are cut off."""
    bank, warn = study.bank, study.monitors[study.monitor].warn_below_soc_pct
    return _("It warns below {warn:g} %; the loads are cut off at {depth_limit_pct:g} %.").format(
        warn=warn, depth_limit_pct=100 - bank.depth_limit_pct
    )


def explanations(study):
    """What each kind of monitor can and cannot know; sentences for the monitors and the bank of the study.

    Parameters
    ----------
    study : darkspell.study.Study
    """
    kinds = {monitor.kind for monitor in study.monitors.values()}
    if "shunt" in kinds:
        yield (
            _(
                "A shunt counts current in and out. The count drifts a little each day until a full charge "
                "resets it to "
                "100 %. Without a full charge, trust it less each day."
            )
        )
    if study.bank.chemistry in COLD_SENSITIVE:
        yield (
            _(
                "A voltage gauge is nearly useless on this bank: between nearly full and nearly empty "
                "its voltage hardly changes."
            )
            if study.bank.chemistry == "lfp"
            else _("A voltage gauge is only a rough guide on this bank while current flows.")
        )
        yield _("The electronics inside a battery speak for that battery alone, not for the bank.")
    else:
        yield (
            _(
                "A voltage gauge is fair on this bank after hours of rest, but misleading under charge or load."
            )
        )


def _months(results):
    """Readings by month on the display's scale; None where they are not known."""
    reading, deepest = (results.month(name) for name in ("dawn_soc_reported_pct", "max_depth_reported_pct"))
    if not len(reading) or not len(deepest):
        return None
    rows = [
        [
            month_name(month),
            month_band(reading, month),
            month_band(deepest, month, lambda depth: 100.0 - depth),
        ]
        for month in results.calendar.month_order + 1
    ]
    return Table(
        caption=_("What the display should read, by month"),
        header=[_("Month"), _("At dawn, %"), _("Lowest of the month, %")],
        rows=rows,
        align="lrr",
        note=_(
            "Median, and the range of eight coming years in ten. One reading out of range proves nothing: the "
            "sheet of "
            "the expected year tests for changes."
        ),
    )
