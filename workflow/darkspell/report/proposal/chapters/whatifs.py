"""What could be changed: the what-ifs in plain words."""

import json

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import MINUS, bounds, name_in_words, within
from darkspell.report.figures.whatifs import can_be_done, of_knowledge
from darkspell.report.key_words import key_words, whatif_name
from darkspell.report.proposal.chapters.equipment import controller
from darkspell.report.proposal.chapters.system import chemistry
from darkspell.report.proposal.chapters.target import PHRASES, phrase, scaled
from darkspell.report.units import key_value

MOST_ROWS = 10  # of the table; the files have all


def section(results):
    """The section on the what-ifs.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    if not len(results.whatifs):
        text = _("This study names no what-ifs, so we do not know what a change would bring.")
        return Section(_("No changes were tried"), [Paragraph(text)])
    rows = _rows(results)
    text = _(
        "Each change was simulated with the same years as the design studied, so the weather is "
        "the same. A difference is called clear where its 95 % interval at this site leaves out "
        "zero."
    )
    blocks = [Paragraph(text), *figure(results, "whatifs"), _table(results, rows)]
    return Section(_heading(results, rows), [*blocks, *figure(results, "sweeps")])


def change_words(study, key, value):
    """One change in plain words: ``Radio link, watts: 4 W instead of 7 W``.

    Parameters
    ----------
    study : darkspell.study.Study
    key : str
        Dotted key.
    value : object
        The new value.

    Returns
    -------
    str
    """
    path = key.split(".")
    if value is None:
        return _("without “{what}”").format(what=say.given(name_in_words(path[-1])))
    label, unit = key_words(key)
    before = _value_at(study, path)
    after = _shown(value, unit)
    return (
        f"{label}: {after}"
        if before is None
        else _("{label}: {after} instead of {shown}").format(
            label=label, after=after, shown=_shown(before, unit)
        )
    )


def difference_words(difference, low, high):
    """``0.36 fewer (0.2 to 0.8 fewer)``; where the interval holds zero, both signs are named.

    Parameters
    ----------
    difference, low, high : float
        A difference with its interval, any unit.
    """
    shown = within(abs(difference), *_of_size(difference, low, high))
    if low > 0 or high < 0:
        near, far = sorted((abs(low), abs(high)))
        return _("{difference} ({interval})").format(
            difference=_signed(shown, low > 0), interval=say.to(*bounds(near, far))
        )
    if low == high == 0:
        return _("no difference")
    lead = _("no difference") if shown == "0" else _signed(shown, difference > 0)
    less, more = (text.lstrip(MINUS) for text in bounds(low, high))
    less = bounds(-low, -low)[0] if -0.001 < low < 0 else less
    return _("{lead} ({less} fewer to {more} more)").format(lead=lead, less=less, more=more)


def _signed(shown, more):
    """``0.36 fewer``, ``0.36 more``."""
    return (_("{value} more") if more else _("{value} fewer")).format(value=shown)


def _of_size(difference, low, high):
    """Interval of the size of a difference."""
    return (low, high) if difference >= 0 else (-high, -low)


def _rows(results):
    column = PHRASES[results.study.target.statistic][1]
    rows = results.whatifs[results.whatifs["statistic"] == column]
    return rows.sort_values("difference", kind="stable")


def _heading(results, rows):
    real = can_be_done(rows[(rows["verdict"] == "real") & (rows["difference"] < 0)])
    if not len(real):
        return _("None of the changes tried lowers the risk clearly")
    best = real.iloc[0]
    name = say.given(whatif_name(results.study, best["whatif"]))
    return _("Of the changes tried, “{name}” helps most").format(name=name)


def _table(results, rows):
    statistic = results.study.target.statistic
    per_hour = 8760.0 if statistic == "lolp" else 1.0
    cells = []
    for _index, row in rows.head(MOST_ROWS).iterrows():
        changes = json.loads(row["changes"])
        numbers = scaled(statistic, *(row[name] / per_hour for name in ("difference", "low", "high")))
        cells.append(
            [
                say.given(whatif_name(results.study, row["whatif"])),
                _change(results.study, changes),
                difference_words(*numbers),
                _("clear") if row["verdict"] == "real" else _("not clear"),
            ]
        )
    what = phrase(statistic)
    return Table(
        caption=_("What each change does to the {what}").format(what=what),
        header=[_("What if"), _("The change"), _("Difference (95 % at this site)"), _("Verdict")],
        rows=cells,
        align="llll",
        note=_("Best first. The interval is what the long-run difference may be at this site.")
        + _better_known(rows)
        + _left_out(results, rows),
    )


def _change(study, changes):
    """All keys of a what-if in plain words, and whether they change what is known alone."""
    real = {key: value for key, value in changes.items() if value != _value_at(study, key.split("."))}
    if not real:
        return _("none: as studied")
    text = "; ".join(change_words(study, key, value) for key, value in real.items())
    return _("{change} (what is known, not the system)").format(change=text) if of_knowledge(real) else text


def _better_known(rows):
    """What a difference means where only what is known changes; empty where no what-if does."""
    if not any(of_knowledge(json.loads(changes)) for changes in rows["changes"].head(MOST_ROWS)):
        return ""
    return " " + _(
        "Where only what is known changes, the system is the same. Better knowledge narrows the interval; the best "
        "guess is its middle and may rise, which does not make the design worse."
    )


def _left_out(results, rows):
    """Where the rows are that the table has no room for."""
    if len(rows) <= MOST_ROWS:
        return ""
    files = _("whatifs.csv and sweeps.csv") if results.study.sweeps else "whatifs.csv"
    return " " + _("These are the first {MOST_ROWS} of {rows}; all are in {files}.").format(
        MOST_ROWS=MOST_ROWS, rows=len(rows), files=files
    )


def _value_at(study, path):
    place = study.resolved()
    for part in path:
        if not isinstance(place, dict) or part not in place:
            return None
        place = place[part]
    return place


def _shown(value, unit):
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        value, unit = key_value(value, unit)
        return f"{value:g}{unit}" if unit == "°" else f"{value:g} {unit}".strip()
    if isinstance(value, list):
        return ", ".join(_shown(one, "") for one in value)
    if isinstance(value, dict):
        return "; ".join(f"{name.replace('_', ' ')} {_shown(one, '')}" for name, one in value.items())
    if value is None:
        return _("not given")
    return say.given(controller(chemistry(value)))
