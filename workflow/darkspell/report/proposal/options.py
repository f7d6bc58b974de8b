"""Two or more studies side by side in one proposal: option A, option B, option C."""

from string import ascii_uppercase

from darkspell.core.errors import StudyError
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.images import figure, usable_logo
from darkspell.report.document.localization import localised, money
from darkspell.report.document.tree import Document, Listing, Paragraph, Section, Subheading, Table, Verbatim
from darkspell.report.proposal.build import author_of, facts_of, letterhead_of, place_of
from darkspell.report.proposal.chapters import appendix, cautions, opening, system, uncertainty
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.target import JUDGED, own_figure, phrase, target_words, verdict
from darkspell.study.files import proposal_files


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
            f"{len(many)} studies: an offer of options takes 2 to 26; name that many study files"
        )
    first = many[0].study
    named = dict(zip(ascii_uppercase, many, strict=False))
    made = Document(
        title=f"{say.given(first.document.title)}: {say.in_words(len(many))} options",
        facts=facts_of(first),
        opening=[
            Listing([f"Option {letter}, {_design(one)}: {_answer(one)}" for letter, one in named.items()]),
            Paragraph(_apart(named)),
        ],
        sections=[
            Section("The options side by side", [_table(named)]),
            *(_section(letter, one) for letter, one in named.items()),
            _common(many, uncertainty.left_out),
            _common(many, cautions.section),
        ],
        appendix=[part for letter, one in named.items() for part in _appendix(letter, one)],
        logo=usable_logo(proposal_files(first).get("logo")),
        paper=first.document.paper,
        numbers=first.document.numbers,
        author=author_of(first.document),
        letterhead=letterhead_of(first.document),
    )
    return localised(made, first.document.numbers)


def _design(results):
    return design(results.study.array_wp, results.study.bank.capacity_ah)


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
            f"Option {best} has dark nights in fewer years than {_listed(worse)}, beyond what chance explains."
        )
    if unsure:
        parts.append(
            f"Between option {best} and {_listed(unsure)} the intervals overlap: these years alone do not say which "
            "is the better, so let the price or the other figures decide."
        )
    return " ".join(parts)


def _listed(letters):
    return say.listed(f"option {letter}" for letter in letters)


def _table(named):
    studies = {letter: one.study for letter, one in named.items()}
    nights = {letter: opening.nights_of(one) for letter, one in named.items()}
    rows = {
        "Study": [say.given(one.document.title) for one in studies.values()],
        "Place": [place_of(one.site) for one in studies.values()],
        "Array": [f"{one.array_wp:g} Wp" for one in studies.values()],
        "Bank": [_bank(one) for one in studies.values()],
        "Years with dark nights": [_share(one) for one in nights.values()],
        "A coming year, nights (eight years of ten)": [
            f"{n.year_low} to {n.year_high}" for n in nights.values()
        ],
        "Days from full without any charge": [_entry(one, "autonomy_dark_days") for one in named.values()],
        "Depth that one year in ten passes, %": [_depth(one) for one in named.values()],
        "Target": [target_words(one.target) for one in studies.values()],
        "Result for the target (95 % interval)": [_figure(one) for one in named.values()],
        "Meets the target": [JUDGED.get(verdict(one), "not known") for one in named.values()],
        "Price by the study's price list": [
            money(first_cost(s), s.document.currency) for s in studies.values()
        ],
        "Cost a year over life (8 banks of 10)": [_yearly(one) for one in named.values()],
        "Synthetic years": [f"{one.years}" for one in named.values()],
    }
    return Table(
        caption="What each option is and what it brings",
        header=["", *(f"Option {letter}" for letter in named)],
        rows=[[label, *cells] for label, cells in rows.items()],
        align="l" * (1 + len(named)),
        note="In brackets the 95 % interval of the mean. Each option was worked out as a study of its own; its "
        "own proposal holds the rest.",
    )


def _yearly(results):
    costs, currency = results.table("costs"), results.study.document.currency
    if not len(costs):
        return "not known"
    value, low, high = (
        money(costs.iloc[0][f"yearly_cost{part}"], currency) for part in ("", "_low", "_high")
    )
    return f"{value} ({low} to {high})"


def _bank(study):
    kind = system.chemistry(study.bank.chemistry)
    return f"{study.bank.capacity_ah:g} Ah at {study.system.nominal_voltage_v} V, {kind}"


def _share(nights):
    return f"{say.percent(nights.share)} ({say.percent(nights.low)} to {say.percent(nights.high)})"


def _entry(results, key):
    entry = results.summary.get(key)
    if not entry or entry["value"] is None:
        return "not known"
    if entry["place_low"] is None:
        return f"{entry['value']:.2g}"
    bounds = entry["place_low"], entry["place_high"]
    return f"{say.rounded(entry['value'], *bounds)} ({say.between(*bounds)})"


def _depth(results):
    entry = results.summary.get("annual_max_depth_true")
    if not entry or entry["value"] is None:
        return "not known"
    value, low, high = (f"{entry[key] or 0:.0f}" for key in ("value", "place_low", "place_high"))
    return value if low == high or entry["place_low"] is None else f"{value} ({low} to {high})"


def _figure(results):
    figure = own_figure(results)
    if figure is None:
        return "not known"
    return f"{say.rounded(*figure)} ({say.between(*figure[1:])}) {phrase(results.study.target.statistic)}"


def _section(letter, results):
    part = system.section(results)
    blocks = [*opening.opening(results)[1:], Subheading(part.heading), *part.blocks]
    return Section(
        f"Option {letter}: {say.given(results.study.document.title)}",
        [*blocks, *figure(results, "state_of_charge")],
    )


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
    yield Section(f"Option {letter}: headline figures with both intervals", [headlines])
    yield Section(f"Option {letter}: the study file, letter for letter", [Verbatim(results.study_text)])
