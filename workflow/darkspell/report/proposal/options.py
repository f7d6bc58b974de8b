"""Two or more studies side by side in one proposal: option A, option B, option C."""

from math import floor
from string import ascii_uppercase

from darkspell.core.errors import StudyError
from darkspell.core.messages import _
from darkspell.design.cause_words import CAUSES
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.images import figure, usable_logo
from darkspell.report.document.localization import localised, money
from darkspell.report.document.tree import Document, Listing, Paragraph, Section, Subheading, Table, Verbatim
from darkspell.report.proposal.build import author_of, facts_of, letterhead_of, place_of
from darkspell.report.proposal.chapters import appendix, cautions, opening, system, uncertainty
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.target import JUDGED, own_figure, phrase, target_words, verdict
from darkspell.report.proposal.chapters.whatifs import key_words
from darkspell.study.differences import differences
from darkspell.study.files import proposal_files

DETAILED = 6  # options that get a section each; more would make a book
KEYS, MOST_PARTS = 6, 3  # keys that differ in one table, and tables of them


def options(many):
    """The document of several studies; client, preparer, date, logo and paper are those of the first.

    Parameters
    ----------
    many : list of darkspell.report.results.Results
        Two to 26.

    Returns
    -------
    darkspell.report.document.tree.Document
    """
    if not 2 <= len(many) <= len(ascii_uppercase):
        raise StudyError(
            _("{many} studies: an offer of options takes 2 to 26; name that many study files").format(
                many=len(many)
            )
        )
    first = many[0].study
    named = dict(zip(ascii_uppercase, many, strict=False))
    made = Document(
        title=_("{title}: {many} options").format(
            title=say.given(first.document.title), many=say.in_words(len(many))
        ),
        facts=_facts(many),
        opening=[
            *_answers(named),
            Paragraph(_apart(named)),
        ],
        sections=[
            Section(_("The options side by side"), _tables(named)),
            *(_section(letter, one) for letter, one in named.items() if len(many) <= DETAILED),
            _common(many, uncertainty.left_out),
            _common(many, cautions.section),
        ],
        appendix=[
            part for letter, one in named.items() if len(many) <= DETAILED for part in _appendix(letter, one)
        ],
        logo=usable_logo(proposal_files(first).get("logo")),
        paper=first.document.paper,
        numbers=first.document.locale,
        author=author_of(first.document),
        letterhead=letterhead_of(first.document),
    )
    return localised(made, first.document.locale)


def _facts(many):
    """Facts of the first study, without its place where the places differ."""
    shared = len({one.study.site.name for one in many}) == 1
    return [fact for fact in facts_of(many[0].study) if shared or fact[1] != place_of(many[0].study.site)]


def _design(results):
    return design(results.study.array_wp, results.study.bank.capacity_ah)


def _answers(named):
    """What to expect of each option; of many, of those that are dark in the fewest years, the cheapest first."""
    if len(named) <= DETAILED:
        chosen = named
    else:
        ranked = sorted(
            named,
            key=lambda letter: (opening.nights_of(named[letter]).share, first_cost(named[letter].study)),
        )
        chosen = {letter: named[letter] for letter in ranked[:DETAILED]}
        yield Paragraph(
            _("Dark in the fewest years are these {DETAILED}; the tables have all.").format(
                DETAILED=say.in_words(DETAILED)
            )
        )
    yield Listing(
        [
            _("Option {letter}, {design}: {answer}").format(
                letter=letter, design=_design(one), answer=_answer(one)
            )
            for letter, one in chosen.items()
        ]
    )


def _answer(results):
    text = opening.expectation(opening.nights_of(results))
    return text[0].lower() + text[1:]


def _apart(named):
    """Whether the intervals tell the best option from the others; without one, nothing is claimed."""
    shares = {letter: opening.nights_of(one) for letter, one in named.items()}
    best = min(shares, key=lambda letter: shares[letter].share)
    worse = [letter for letter, one in shares.items() if letter != best and one.low > shares[best].high]
    unsure = [letter for letter in shares if letter != best and letter not in worse]
    parts = []
    if worse:
        parts.append(
            _(
                "Option {best} has dark nights in fewer years than {items}, beyond the sampling error of the "
                "simulation."
            ).format(best=best, items=_others(worse, shares))
        )
    if unsure:
        parts.append(
            _(
                "Between option {best} and {items} the sampling intervals overlap: these years alone do not say "
                "which is the better, so let the price or the other figures decide."
            ).format(best=best, items=_others(unsure, shares))
        )
    return " ".join(parts)


def _others(letters, shares):
    """Options by letter, or all others of a long list by their number."""
    if len(letters) == len(shares) - 1 > DETAILED:
        return _("the other {count} options").format(count=len(letters))
    return _listed(letters)


def _listed(letters):
    return say.listed(_("option {letter}").format(letter=letter) for letter in letters)


def _tables(named):
    """What each option is, how reliable, and what it costs: a row an option, so that 26 of them fit a page."""
    return [*_different(named), _reliability(named), _prices(named)]


def _different(named):
    """Name, file and the keys in which the studies differ; at most `KEYS` keys a table."""
    values = differences({letter: one.study for letter, one in named.items()})
    keys = list(values["A"])
    parts = [keys[at : at + KEYS] for at in range(0, len(keys), KEYS)] or [[]]
    more = len(keys) - KEYS * MOST_PARTS
    for number, part in enumerate(parts[:MOST_PARTS]):
        columns = {} if number else {"Study": [say.given(_name(one.study)) for one in named.values()]}
        columns |= {_head(key): [say.given(_shown(values[letter][key])) for letter in named] for key in part}
        yield _rows(
            named,
            _("Further differences") if number else _("What each option is, and what differs"),
            columns,
            _("{more} more keys differ.").format(more=more) if more > 0 and number == MOST_PARTS - 1 else "",
        )


def _rows(named, caption, columns, note):
    """A table with a row for each option, from its columns by their heads."""
    rows = [
        [_("Option {letter}").format(letter=letter), *cells]
        for letter, *cells in zip(named, *columns.values(), strict=True)
    ]
    return Table(caption=caption, header=["", *columns], rows=rows, align="l" * (1 + len(columns)), note=note)


def _name(study):
    """A study's file, with its own name where the file makes several."""
    file = study.files[0].name if study.files else str(study.name)
    return file if file.rpartition(".")[0] in ("", study.name) else f"{study.name} ({file})"


def _head(key):
    words, unit = key_words(key)
    return f"{words}, {unit}" if unit else words


def _shown(value):
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _reliability(named):
    many, shares = list(named.values()), [opening.nights_of(one) for one in named.values()]
    phrases = {phrase(one.study.target.statistic) for one in many}
    targets = dict.fromkeys(target_words(one.study.target) for one in many)
    alike = len(phrases) == 1
    head = _("Result, {next}").format(next=next(iter(phrases))) if alike else _("Result for the target")
    columns = {
        _("Years with dark nights"): [_share(one) for one in many],
        _("Nights in a coming year"): [_nights(one) for one in shares],
        head: [_figure(one, not alike) for one in many],
        "On target": [JUDGED.get(verdict(one), "not known") for one in many],
        "Chance of target": [_chance(one) for one in many],
        "Main cause of loss": [_cause(one) for one in many],
    }
    target = (
        _("Target: {next}.").format(next=next(iter(targets)))
        if len(targets) == 1
        else _("The targets differ.")
    )
    note = _(
        "In brackets the 95 % interval for this site. Nights in a coming year: in eight years of ten. {target}"
    ).format(target=target)
    return _rows(named, _("How reliable each option is"), columns, note)


def _prices(named):
    """Sizes and price; place and kind of bank are in the note, or among what differs."""
    many = list(named.values())
    kinds = dict.fromkeys(one.study.bank.chemistry for one in many)
    notes = [f"{kind}: {system.chemistry(kind)}." for kind in kinds]
    if len(kinds) == 1:
        notes = [_("Kind of bank: {chemistry}.").format(chemistry=system.chemistry(*kinds))]
    columns = {
        "Array": [f"{one.study.array_wp:g} Wp" for one in many],
        "Bank": [
            f"{one.study.bank.capacity_ah:g} Ah, {one.study.system.nominal_voltage_v} V" for one in many
        ],
        "Days without any charge": [_entry(one, "autonomy_dark_days") for one in many],
        "Depth that one year in ten passes, %": [_depth(one) for one in many],
        "Price": [money(first_cost(one.study), one.study.document.currency) for one in many],
        "Cost a year over life (8 banks of 10)": [_yearly(one) for one in many],
    }
    note = [
        *notes,
        _("Days without any charge begin with a full bank. Prices are by the study's price list."),
    ]
    return _rows(named, _("Sizes, autonomy and price of each option"), columns, " ".join(note))


def _chance(results):
    entry = results.summary.get("probability_met")
    return f"{min(max(floor(100.0 * entry['value'] + 1e-9), 1), 99)} %" if entry else _("not known")


def _cause(results):
    cause = results.summary.get("main_cause")
    return CAUSES[cause["cause"]] if cause else "none"


def _yearly(results):
    costs, currency = results.table("costs"), results.study.document.currency
    if not len(costs):
        return _("not known")
    value, low, high = (
        money(costs.iloc[0][f"yearly_cost{part}"], currency) for part in ("", "_low", "_high")
    )
    return _("{value} ({low} to {high})").format(value=value, low=low, high=high)


def _share(results):
    """Share of years with dark nights, with the interval for this site where it is known."""
    nights, entry = opening.nights_of(results), results.summary.get("years_with_short_nights") or {}
    low, high = entry.get("place_low"), entry.get("place_high")
    if low is None:
        return say.percent(nights.share)
    return _("{share} ({low} to {high})").format(
        share=say.percent(nights.share), low=say.percent(low), high=say.percent(high)
    )


def _nights(nights):
    """Nights of a coming year in a few letters."""
    if nights.year_high == 0:
        return _("none")
    return _("{year_low} to {year_high}").format(year_low=nights.year_low, year_high=nights.year_high)


def _entry(results, key):
    entry = results.summary.get(key)
    if not entry or entry["value"] is None:
        return _("not known")
    if entry["place_low"] is None:
        return f"{entry['value']:.2g}"
    bounds = entry["place_low"], entry["place_high"]
    return f"{say.rounded(entry['value'], *bounds)} ({say.between(*bounds)})"


def _depth(results):
    entry = results.summary.get("annual_max_depth_true")
    if not entry or entry["value"] is None:
        return _("not known")
    value, low, high = (f"{entry[key] or 0:.0f}" for key in ("value", "place_low", "place_high"))
    return (
        value
        if low == high or entry["place_low"] is None
        else _("{value} ({low} to {high})").format(value=value, low=low, high=high)
    )


def _figure(results, named):
    """The figure that the target is about, `named` with its unit."""
    figure = own_figure(results)
    if figure is None:
        return _("not known")
    text = f"{say.rounded(*figure)} ({say.between(*figure[1:])})"
    return f"{text} {phrase(results.study.target.statistic)}" if named else text


def _section(letter, results):
    part = system.section(results)
    blocks = [*_sure(results), *opening.opening(results)[2:], Subheading(part.heading), *part.blocks]
    return Section(
        _("Option {letter}: {title}").format(letter=letter, title=say.given(results.study.document.title)),
        [*blocks, *figure(results, "state_of_charge")],
    )


def _sure(results):
    """How well the share of years with dark nights is known at this site; nothing where it is not."""
    entry = results.summary.get("years_with_short_nights") or {}
    if entry.get("place_low") is None:
        return []
    text = _("At this site the long-run share of years with such nights may be {low} to {high} (95 %).")
    return [
        Paragraph(text.format(low=say.percent(entry["place_low"]), high=say.percent(entry["place_high"])))
    ]


def _common(many, make):
    """One section for all options; an item of a list that not all have names those that do."""
    named = dict(zip(ascii_uppercase, map(make, many), strict=False))
    lists = {letter: _lists(section) for letter, section in named.items()}
    blocks = []
    for lead in dict.fromkeys(lead for one in lists.values() for lead in one):
        holders = {letter: one[lead] for letter, one in lists.items() if lead in one}
        items = dict.fromkeys(item for one in holders.values() for item in one)
        blocks += [Paragraph(lead)] if lead else []
        if items:
            blocks.append(Listing([_of(item, holders, len(many)) for item in items]))
    return Section(next(iter(named.values())).heading, blocks)


def _lists(section):
    """Items of a section's lists by the paragraph before each; dict of lists."""
    found, lead = {}, ""
    for block in section.blocks:
        if isinstance(block, Paragraph):
            lead = block.text
            found[lead] = []
        else:
            found[lead] = list(block.items)
    return found


def _of(item, holders, count):
    letters = [letter for letter, items in holders.items() if item in items]
    return item if len(letters) == count else f"{say.sentence(_listed(letters))}: {item}"


def _appendix(letter, results):
    headlines = appendix.headlines(results.summary)
    yield Section(
        _("Option {letter}: headline figures with both intervals").format(letter=letter), [headlines]
    )
    yield Section(
        _("Option {letter}: the study file, letter for letter").format(letter=letter),
        [Verbatim(results.study_text)],
    )
