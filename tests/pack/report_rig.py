"""Read a report as a reader would: elements and text of the page, tokens and text of the Markdown."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

from markdown_it import MarkdownIt
from markdown_it.token import Token

__all__ = ["VOID", "Page", "markdown_text", "markdown_tokens", "page_of", "squeezed"]

VOID = {"meta", "br", "img", "link", "hr", "input", "col", "wbr"}
"""Elements without an end tag   [HTML Living Standard, 13.1.2 void elements; those that could occur here]."""


@dataclass
class Page(HTMLParser):
    """Elements with their attributes in order, their nesting checked, and the text outside style sheets."""

    elements: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    text: str = ""
    style: str = ""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes something else"

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "style":
            self.style += data
        else:
            self.text += data if self.open and self.open[-1] in ("bdi", "code", "strong", "span", "a") else f" {data}"

    def all(self, attribute: str) -> list[str]:
        """Every value of an attribute."""
        return [attributes[attribute] for _, attributes in self.elements if attribute in attributes]


def page_of(html: str) -> Page:
    page = Page()
    page.feed(html)
    page.close()
    assert page.open == []
    return page


def squeezed(words: str) -> str:
    """Letters and signs alone: how a renderer sets blanks is its own affair."""
    return re.sub(r"\s+", "", words)


def markdown_tokens(text: str) -> list[Token]:
    """Tokens of an independent reader of Markdown (oracle): CommonMark with tables and raw HTML, as the hosting sites read it."""
    found: list[Token] = []

    def walk(tokens: list[Token]) -> None:
        for token in tokens:
            found.append(token)
            walk(token.children or [])

    walk(MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).parse(text))
    return found


def markdown_text(text: str) -> str:
    tokens = markdown_tokens(text)
    return " ".join(token.content for token in tokens if token.type in ("text", "code_inline", "fence", "text_special", "code_block"))
