"""A writer's own text, in Markdown, before, after or in place of what a section says."""

from dataclasses import replace

from darkspell.core.errors import StudyError
from darkspell.report import wording as say
from darkspell.report.document.rich_text import Rich, Run
from darkspell.report.document.tree import Listing, Paragraph, Subheading, Table, Verbatim
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
        text_blocks(files, f"texts.{place}_{name}") for place in ("before", "after", "instead_of")
    )
    heading, inner = section.heading, instead or section.blocks
    if instead and isinstance(instead[0], Subheading):
        heading, inner = str(instead[0].text), instead[1:]
    return replace(section, heading=heading, blocks=[*before, *inner, *after])


def text_blocks(files, key):
    """Blocks of a Markdown file that the study names.

    Parameters
    ----------
    files : dict of pathlib.Path
        From `darkspell.study.files.proposal_files`.
    key : str
        Key below ``document``.

    Returns
    -------
    list
        Empty where the study names none.

    Raises
    ------
    StudyError
        If the file is too long or not UTF-8.
    """
    path = files.get(key)
    if path is None:
        return []
    content = path.read_bytes()
    if len(content) > LARGEST:
        raise StudyError(f"document.{key}: {path.name} is longer than {LARGEST // 1000} kB; shorten it")
    try:
        return blocks_of(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise StudyError(f"document.{key}: {path.name} is not written in UTF-8; save it as UTF-8") from None


def blocks_of(text):
    """Markdown as blocks of the tree.

    Headings, paragraphs, quotations, nested lists, tables with their alignment, quoted text; strong, emphasised and
    literal words, and links. Raw HTML and images are plain text; nothing is fetched or run, and a link leads only to
    http, https or mailto.

    Parameters
    ----------
    text : str
        CommonMark with tables.

    Returns
    -------
    list
    """
    from markdown_it import MarkdownIt
    from markdown_it.tree import SyntaxTreeNode

    reader = MarkdownIt("commonmark", {"html": False}).enable("table").disable(["image", "html_block"])
    root = SyntaxTreeNode(reader.parse(text))
    levels = sorted({node.tag for node in root.walk() if node.type == "heading"})
    return list(_blocks_in(root, {tag: min(rank, 2) for rank, tag in enumerate(levels, 1)}))


def _blocks_in(parent, levels, kind="plain"):
    for node in parent.children:
        if node.type == "heading":
            yield Subheading(_words(node), levels[node.tag])
        elif node.type == "paragraph":
            yield Paragraph(_words(node), kind)
        elif node.type in ("bullet_list", "ordered_list"):
            yield _listing(node)
        elif node.type == "table":
            yield _table(node)
        elif node.type in ("fence", "code_block"):
            yield Verbatim(node.content)
        elif node.type == "blockquote":
            yield from _blocks_in(node, levels, "quote")


def _listing(node):
    items = []
    for item in node.children:
        words = [run for part in item.children if part.type == "paragraph" for run in _spaced(part)]
        literal = [part.content.strip() for part in item.children if part.type in ("fence", "code_block")]
        items.append(Rich([*words[1:], *(Run(f" {text}", code=True) for text in literal)]))
        items += [_listing(part) for part in item.children if part.type in ("bullet_list", "ordered_list")]
    return Listing(items, ordered=node.type == "ordered_list")


def _spaced(node):
    return Run(" "), *_words(node).runs


def _table(node):
    rows = [row for part in node.children for row in part.children]
    header, *body = [[_words(cell) for cell in row.children] for row in rows]
    sides = ["r" if "right" in str(cell.attrs.get("style", "")) else "l" for cell in rows[0].children]
    return Table(caption="", header=header, rows=body, align="".join(sides))


def _words(node):
    """Text of a heading, paragraph or cell with its styles, made safe to print."""
    runs = [run for inline in node.children for run in _runs(inline, Run(""))]
    whole = say.given("".join(run.text for run in runs))
    safe = [replace(run, text=say.without_controls(run.text)) for run in runs]
    if whole != whole.strip(f"{say.ISOLATE}{say.END}"):
        safe = [Run(say.ISOLATE), *safe, Run(say.END)]
    return Rich(run for run in safe if run.text)


def _runs(node, style):
    for child in node.children:
        if child.type in ("text", "code_inline"):
            yield replace(style, text=child.content, code=child.type == "code_inline")
        elif child.type in ("softbreak", "hardbreak"):
            yield replace(style, text=" ")
        elif child.type == "link":
            address = str(child.attrs.get("href", ""))
            known = address.startswith(("http://", "https://", "mailto:"))
            yield from _runs(child, replace(style, address=address if known else style.address))
        elif child.type in ("strong", "em"):
            name = {"strong": "strong", "em": "emphasis"}[child.type]
            yield from _runs(child, replace(style, **{name: True}))
        else:
            yield replace(style, text=child.content)
