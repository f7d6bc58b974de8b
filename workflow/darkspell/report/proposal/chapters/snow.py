"""What snow on the arrays costs, array by array."""

from darkspell.core.messages import N_, _
from darkspell.report import wording as say
from darkspell.report.document.localization import month_name
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import name_in_words, number

RARE = 0.05  # snowfalls a year
ENDS = {
    "slides": N_("slides off by itself"),
    "held": N_("held until it melts"),
    "swept": N_("swept off every time"),
}


def there(results):
    """Whether snow falls here at all: once in twenty years on some array.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    bool
    """
    table = results.table("snow")
    return len(table) > 0 and table.groupby("array")["snowfalls"].sum().max() >= RARE


def section(results):
    """The section on snow.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    table = results.table("snow")
    year = table.groupby("array", sort=False)[["snowfalls", "covered_days", "clear_kwh", "lost_kwh"]].sum()
    return Section(
        _heading(year),
        [Paragraph(text) for text in _texts(results, table, year)] + [_table(results, table, year)],
    )


def _heading(year):
    worst = year["covered_days"].idxmax()
    days = float(year.loc[worst, "covered_days"])
    if days < 1.0:
        return _("Snow hardly ever covers the arrays")
    return _("Snow covers “{worst}” on about {count} a year").format(
        worst=say.given(name_in_words(worst)), count=say.count_of(round(days), "{count} day", "{count} days")
    )


def _texts(results, table, year):
    month = table.groupby("month")[["clear_kwh", "lost_kwh"]].sum()
    share = month["lost_kwh"] / month["clear_kwh"]
    worst = int(share.idxmax())
    given = results.study.climate.snow_days
    if given is not None:
        whence = _(
            "The study gives the number of days with fresh snow ({given:g} a year); on which dull and cold "
            "days it falls "
            "is simulated."
        ).format(given=given)
    else:
        whence = _(
            "Snow days are simulated; they are more likely on dull days near freezing. How often it "
            "snows at this site is an estimate; a climate table of the region has the number."
        )
    return [
        _(
            "{whence} Snow covers the whole array, slides off as sun, warmth and slope allow, and melts "
            "above freezing; until the last of it is gone the array gives nothing. Dull, cold weeks "
            "are therefore the worst. In {month} snow takes {share} of what the arrays would yield. All figures "
            "of this document include it."
        ).format(whence=whence, month=month_name(worst), share=say.percent(float(share[worst]))),
        _(
            "On slopes above 60° no snow stays, on slopes below 30° nearly all does. Sweeping helps, but "
            "nobody should "
            "climb a snowy roof for it."
        ),
    ]


def _table(results, table, year):
    rows = []
    for name, row in year.iterrows():
        array, parts = results.study.arrays[name], table[table["array"] == name].set_index("month")
        tilts = sorted({degrees for *_index, degrees in array.tilts})
        slope = " to ".join(f"{number(degrees)}°" for degrees in tilts[:: max(len(tilts) - 1, 1)])
        share = (parts["lost_kwh"] / parts["clear_kwh"]).fillna(0.0)
        worst = month_name(share.idxmax())
        rows.append(
            [
                say.given(name_in_words(name)),
                slope,
                _(ENDS[array.snow]),
                number(float(row["snowfalls"])),
                number(float(row["covered_days"])),
                number(float(row["lost_kwh"]), 1),
                f"{worst}, {say.percent(float(share.max()))}" if share.max() > 0.0 else "–",
            ]
        )
    return Table(
        caption=_("Snow on the arrays in an average year"),
        header=[
            _("Array"),
            _("Slope"),
            _("Snow"),
            _("Snowfalls that stay"),
            _("Days covered"),
            _("Lost (kWh)"),
            _("Worst month"),
        ],
        rows=rows,
        align="lllrrrl",
        note=_(
            "Means of {iloc} years run with and without snow. A day counts as covered if it costs "
            "the array half of its light or more."
        ).format(iloc=int(table["n"].iloc[0])),
    )
