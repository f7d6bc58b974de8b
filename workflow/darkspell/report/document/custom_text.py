"""A writer's own text, in Markdown, before, after or in place of what a section says."""

from darkspell.core.errors import StudyError
from darkspell.report import wording as say
from darkspell.report.document.tree import Listing, Paragraph, Section, Subheading, Table, Verbatim
from darkspell.study.files import proposal_files

LARGEST = 200_000  # bytes of one text


def extended(section, name, study):
    """The section with the texts that the study names for it.

    Parameters
    ----------
    section : darkspell.report.document.tree.Section
    name : str
        As in `darkspell.report.proposal.sections`.
    study : darkspell.study.Study

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    files = proposal_files(study)
    before, after, instead = (
        _blocks(files, f"{place}_{name}") for place in ("before", "after", "instead_of")
    )
    heading, inner = section.heading, instead or section.blocks
    if instead and isinstance(instead[0], Subheading):
        heading, inner = instead[0].text, instead[1:]
    return Section(heading, [*before, *inner, *after])


def _blocks(files, place):
    path = files.get(f"texts.{place}")
    if path is None:
        return []
    content = path.read_bytes()
    if len(content) > LARGEST:
        raise StudyError(
            f"document.texts.{place}: {path.name} is longer than {LARGEST // 1000} kB; shorten it"
        )
    try:
        return blocks_of(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise StudyError(
            f"document.texts.{place}: {path.name} is not written in UTF-8; save it as UTF-8"
        ) from None


def blocks_of(text):
    """Markdown as blocks of the tree: headings, paragraphs, lists, tables, quoted text.

    Raw HTML, images and addresses are plain text: nothing is fetched, followed or run.

    Parameters
    ----------
    text : str
        Markdown.
    """
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark", {"html": False}).enable("table").disable(["image", "reference"])
    tokens = iter(reader.parse(text))
    return [block for token in tokens for block in _block(token, tokens)]


def _block(token, tokens):
    kind = token.type
    if kind == "heading_open":
        yield Subheading(_words(_until(tokens, "heading_close")))
    elif kind == "paragraph_open":
        yield Paragraph(_words(_until(tokens, "paragraph_close")))
    elif kind in ("bullet_list_open", "ordered_list_open"):
        numbered = kind.startswith("ordered")
        items = _items(_until(tokens, kind.replace("open", "close"), kind))
        yield Listing([f"{n}. {item}" for n, item in enumerate(items, 1)] if numbered else items)
    elif kind == "table_open":
        yield _table(_until(tokens, "table_close"))
    elif kind in ("fence", "code_block"):
        yield Verbatim(token.content)


def _until(tokens, closing, opening=None):
    """Tokens up to the one that closes, nested ones included."""
    found, depth = [], 1
    for token in tokens:
        depth += (token.type == opening) - (token.type == closing)
        if not depth:
            break
        found.append(token)
    return found


def _items(tokens):
    items, depth = [], 0
    for token in tokens:
        depth += token.type.endswith("list_open") - token.type.endswith("list_close")
        if token.type == "list_item_open" and depth == 0:
            items.append("")
        if token.type == "inline":
            items[-1] = f"{items[-1]} {_inline(token)}".strip()
    return items


def _table(tokens):
    rows = []
    for token in tokens:
        if token.type == "tr_open":
            rows.append([])
        if token.type == "inline":
            rows[-1].append(_inline(token))
    header, *body = rows
    return Table(caption="", header=header, rows=body, align="l" * len(header))


def _words(tokens):
    return " ".join(_inline(token) for token in tokens if token.type == "inline")


def _inline(token):
    words, address = [], ""
    for child in token.children or []:
        if child.type == "link_open":
            address = str(child.attrGet("href") or "")
        elif child.type == "link_close":
            words.append(f" ({address})" if address and address not in words else "")
        elif child.type in ("softbreak", "hardbreak"):
            words.append(" ")
        else:
            words.append(child.content)
    return say.given("".join(words))
