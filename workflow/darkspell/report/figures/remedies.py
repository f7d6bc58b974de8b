"""What would help, and what it costs."""

from darkspell.core.messages import _
from darkspell.report.document.localization import money
from darkspell.report.figures.layout import Finding, Page, row_name, text_width
from darkspell.report.figures.number_format import (
    MINUS,
    counted,
    known,
    name_in_words,
    number,
    places,
    target_in_words,
    within,
)
from darkspell.report.figures.style import POINT_MM, SMALL, WORDS
from darkspell.report.figures.whatifs import draw, numbers_mm
from darkspell.statistics.registry import TARGETS

ROW_MM, NAME_MM, PRICE_MM = 8.0, 55.0, 29.0


def finding(results):
    """What the figure says; `Finding`.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.figures.layout.Finding
    """
    rows = results.table("remedies")
    currency, phrase = results.study.document.currency, _phrase(results)[1]
    paid = rows[(rows["saved_per_100"] > 0) & (rows["verdict"] == "real")]
    if len(paid):
        best = paid.sort_values("saved_per_100", ascending=False).iloc[0]
        saved = known(-best["difference"], -best["high"], -best["low"])
        title = _(
            "Of what money buys, {lower} helps most for its price: {saved} fewer {phrase} for {price}"
        ).format(
            lower=name_in_words(best["remedy"]).lower(),
            saved=saved,
            phrase=phrase,
            price=money(best["cost"], currency),
        )
    else:
        title = _("Nothing on the price list lowers the risk clearly")
    return Finding(
        title=title,
        note=_(
            "Difference from the study, {phrase}; right the price in {currency}, and what 100 of it "
            "save. {scope}"
        ).format(phrase=phrase, currency=currency, scope=results.scope),
        caption=(
            _(
                "Each remedy meets the same years as the study. A dot is the best guess of the "
                "difference, its bar what it may be at this site (95 %); a hollow dot: no clear "
                "difference. Left is less. What costs nothing on the list may still cost work or comfort."
            )
        ),
        alt=_("Dots with bars for {count}.").format(
            count=counted(len(rows), "{count} remedy", "{count} remedies")
        )
        + " "
        + "; ".join(
            f"{name_in_words(r['remedy'])} {within(r['difference'], r['low'], r['high'])}"
            for _index, r in rows.iterrows()
        ),
    )


def page(results):
    """The whole figure and its words; (Page, Finding).

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    page : darkspell.report.figures.layout.Page
    finding : darkspell.report.figures.layout.Finding
    """
    rows, words = results.table("remedies"), finding(results)
    names = [row_name(name_in_words(name), NAME_MM) for name in rows["remedy"]]
    left = 4 + 1.04 * max(text_width(line) for name in names for line in name.split("\n"))
    told = numbers_mm(rows) + 2
    height = max(2, len(rows)) * ROW_MM
    sheet = Page(words, 8 + height + 7)
    ax = draw(sheet.axes(left, 8, 157 - left - told - PRICE_MM, height), rows, _phrase(results)[1])
    ax.set_yticks(range(len(rows)), names)
    for place, (_index, row) in enumerate(rows.iterrows()):
        ax.annotate(
            _price(row),
            (1, place),
            (told / POINT_MM, 0),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            va="center",
            size=SMALL,
            color=WORDS,
            linespacing=1.05,
            annotation_clip=False,
        )
    return sheet, words


def _price(row):
    """Price and what 100 of it save, on two lines; what is free or saves fuel; what has no price."""
    if row["cost"] != row["cost"]:
        return _("not on the list")
    if abs(row["cost"]) < 0.5:
        return _("no price")
    if row["cost"] < 0:
        return _("saves {value}").format(value=number(-row["cost"]))
    saved = row["saved_per_100"]
    text = number(abs(saved), hundred_places(row))
    return _("{cost}\n{more}{text} for each 100").format(
        cost=number(row["cost"]), more=MINUS if saved < 0 else "", text=text
    )


def hundred_places(row):
    """Decimals of what 100 of the currency save, as the interval of the difference supports them.

    Parameters
    ----------
    row : pandas.Series
        Row of the table.
    """
    share = -100.0 / row["cost"]
    return places(*(share * row[name] for name in ("difference", "high", "low")))


def _phrase(results):
    name = results.study.target.statistic
    one = target_in_words(TARGETS[name].yearly)
    return one.words, one.phrase
