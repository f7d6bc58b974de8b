"""Two or more studies side by side in one proposal: option A, option B, option C."""

from string import ascii_uppercase

from darkspell.core.errors import StudyError
from darkspell.core.messages import _
from darkspell.design.life_cycle_cost import first_cost
from darkspell.report import wording as say
from darkspell.report.document.document import Document
from darkspell.report.document.images import figure, usable_logo
from darkspell.report.document.language import manner_of, whole, written
from darkspell.report.document.number_texts import localised
from darkspell.report.document.tree import Listing, Paragraph, Section, Subheading, Verbatim
from darkspell.report.figures.number_format import name_in_words
from darkspell.report.proposal.build import author_of, facts_of, letterhead_of, place_of
from darkspell.report.proposal.chapters import appendix, cautions, opening, system, uncertainty
from darkspell.report.proposal.chapters.size import design
from darkspell.report.proposal.chapters.target import verdict_sentence
from darkspell.report.proposal.options_tables import tables
from darkspell.study.files import proposal_files

DETAILED = 6  # options that get a section each; more would make a book


def options(many):
    """The document of several studies; client, preparer, date, logo, paper and language are those of the first.

    Parameters
    ----------
    many : list of darkspell.report.results.Results
        Two to 26.

    Returns
    -------
    darkspell.report.document.document.Document

    Raises
    ------
    darkspell.core.errors.StudyError
        If the studies are fewer than two or more than 26.
    """
    if not 2 <= len(many) <= len(ascii_uppercase):
        raise StudyError(
            f"{len(many)} studies: an offer of options takes 2 to 26; name that many study files"
        )
    about = many[0].study.document
    with written(manner_of(about)):
        return localised(_document(many), about.locale)


def _document(many):
    """The document in the language at hand; a part that its catalogue lacks is in English."""
    first, named = many[0].study, dict(zip(ascii_uppercase, many, strict=False))
    about, detailed = first.document, named if len(many) <= DETAILED else {}
    alike = len({one.study.document.title for one in many}) < len(many)
    beginning = whole(lambda: Section("", [*_answers(named), Paragraph(_apart(named))]))
    return Document(
        title=_("{title}: {many} options").format(title=say.given(about.title), many=say.in_words(len(many))),
        facts=_facts(many),
        opening=beginning.blocks,
        sections=[
            whole(lambda: Section(_("The options side by side"), [*tables(named)])),
            *(whole(lambda pair=pair: _section(*pair, alike)) for pair in detailed.items()),
            whole(lambda: _common(many, uncertainty.left_out)),
            whole(lambda: _common(many, cautions.section)),
        ],
        appendix=[whole(make) for pair in detailed.items() for make in _appendix(*pair)],
        parts=True,
        language=about.language,
        logo=usable_logo(proposal_files(first).get("logo")),
        paper=about.paper,
        numbers=about.locale,
        author=author_of(about),
        letterhead=letterhead_of(about),
    )


def _facts(many):
    """Facts of the first study, without its place where the places differ."""
    shared = len({one.study.site.name for one in many}) == 1
    return [fact for fact in facts_of(many[0].study) if shared or fact[1] != place_of(many[0].study)]


def _answers(named):
    """What to expect of each option; of many, of those that are dark in the fewest years, the cheapest first."""
    chosen = named
    if len(named) > DETAILED:
        ranked = sorted(
            named,
            key=lambda letter: (opening.nights_of(named[letter]).share, first_cost(named[letter].study)),
        )
        chosen = {letter: named[letter] for letter in ranked[:DETAILED]}
        lead = _("The {count} options that are dark in the fewest years; the tables have all.")
        yield Paragraph(lead.format(count=say.in_words(DETAILED)))
    yield Listing([_answer(letter, one) for letter, one in chosen.items()])


def _answer(letter, results):
    return _("Option {letter}, {design}. {answer}").format(
        letter=letter,
        design=design(results.study.array_wp, results.study.bank.capacity_ah),
        answer=opening.expectation(opening.nights_of(results)),
    )


def _apart(named):
    """Whether the intervals tell the best option from the others; without one, nothing is claimed."""
    shares = {letter: opening.nights_of(one) for letter, one in named.items()}
    best = min(shares, key=lambda letter: shares[letter].share)
    worse = [letter for letter, one in shares.items() if letter != best and one.low > shares[best].high]
    unsure = [letter for letter in shares if letter != best and letter not in worse]
    parts = []
    if worse:
        text = _(
            "Option {best} has dark nights in fewer years than {items}, beyond the sampling error of the "
            "simulation."
        )
        parts.append(text.format(best=best, items=_others(worse, shares)))
    if unsure:
        text = _(
            "The sampling interval of option {best} overlaps with those of other options: {items}. These years alone "
            "do not say which is better, so let the price or the other figures decide."
        )
        parts.append(text.format(best=best, items=_others(unsure, shares)))
    return say.joined(parts)


def _others(letters, shares):
    """Options by letter, or all others of a long list by their number."""
    if len(letters) == len(shares) - 1 > DETAILED:
        return _("the other {count} options").format(count=len(letters))
    return _listed(letters)


def _listed(letters):
    return say.listed([_("option {letter}").format(letter=letter) for letter in letters])


def _section(letter, results, alike):
    """What one option is; headed by the study's name where titles are alike."""
    study, part = results.study, system.section(results)
    title = name_in_words(study.name) if alike else study.document.title
    blocks = [
        *_sure(results),
        Paragraph(opening.coming_year(opening.nights_of(results))),
        Paragraph(verdict_sentence(results)),
        *opening.trial_note(results),
        Subheading(part.heading),
        *part.blocks,
    ]
    return Section(
        _("Option {letter}: {title}").format(letter=letter, title=say.given(title)),
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
    """Functions that make the sections of one option's appendix."""
    yield lambda: Section(
        _("Option {letter}: headline figures with both intervals").format(letter=letter),
        [appendix.headlines(results.summary)],
    )
    yield lambda: Section(
        _("Option {letter}: the study file, letter for letter").format(letter=letter),
        [Verbatim(results.study_text)],
    )
