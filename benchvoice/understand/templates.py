"""Sentence templates: read from text, matched against words, sampled for tests, and compiled by `network`.

A template is words, `[optional]`, `(one|other)` and `<slot>`. Leaves may carry a tag, a fragment of meaning, so that a
sampled sentence brings its own meaning along and the parser can be checked against it.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from benchvoice.errors import GrammarError

__all__ = ["EMPTY", "Alt", "Mark", "Node", "Sampled", "Seq", "Shared", "Slot", "Tag", "Word", "fill", "match",
           "optional", "phrase", "read_template", "sample", "slots_in", "words_in"]  # fmt: skip


class Tag(NamedTuple):
    """A fragment of meaning: what kind it is ("digits", "unit", "point" …) and its text."""

    kind: str
    text: str


@dataclass(frozen=True)
class Word:
    """One word, with the meaning it carries."""

    text: str
    tag: Tag | None = None


@dataclass(frozen=True)
class Mark:
    """Meaning without a word: the two zeros that "three hundred" does not say."""

    tag: Tag


@dataclass(frozen=True)
class Seq:
    """Parts one after another; no parts at all is the empty sentence."""

    parts: tuple[Node, ...]


@dataclass(frozen=True)
class Alt:
    """One of the parts."""

    parts: tuple[Node, ...]


@dataclass(frozen=True)
class Slot:
    """A place that is filled later."""

    name: str


@dataclass(frozen=True, eq=False)
class Shared:
    """A template without slots that stands in many places; it is compiled once."""

    node: Node


Node = Word | Mark | Seq | Alt | Slot | Shared

EMPTY = Seq(())
_TOKEN = re.compile(r"\s*(?:(?P<word>[a-z']+)|<(?P<slot>[a-z ]+)>|(?P<sign>[\[\]()|]))")


def optional(node: Node) -> Node:
    """`node` or nothing."""
    return Alt((node, EMPTY))


def phrase(words: tuple[str, ...], tag: Tag | None = None) -> Node:
    """Words in a row that together carry one tag."""
    first, *rest = words
    return Seq((Word(first, tag), *(Word(word) for word in rest))) if rest else Word(first, tag)


def read_template(text: str) -> Node:
    """The template written as `text`.

    Raises:
        GrammarError: a sign without its partner, or a character that belongs to no template.
    """
    tokens: list[tuple[str, str]] = []
    at = 0
    while at < len(text.rstrip()):
        found = _TOKEN.match(text, at)
        if found is None:
            raise GrammarError(f"template '{text}' has something unreadable at '{text[at:]}'")
        at = found.end()
        kind = found.lastgroup or ""
        tokens.append((kind, found[kind]))
    node, rest = _alternatives(tokens, 0, text)
    if rest != len(tokens):
        raise GrammarError(f"template '{text}' has a '{tokens[rest][1]}' too many")
    return node


def _alternatives(tokens: list[tuple[str, str]], at: int, text: str) -> tuple[Node, int]:
    branches: list[Node] = []
    parts: list[Node] = []
    while at < len(tokens) and tokens[at] not in (("sign", "]"), ("sign", ")")):
        kind, value = tokens[at]
        at += 1
        if kind == "word":
            parts.append(Word(value))
        elif kind == "slot":
            parts.append(Slot(value))
        elif value == "|":
            branches.append(Seq(tuple(parts)))
            parts = []
        else:
            closing = "]" if value == "[" else ")"
            inner, at = _alternatives(tokens, at, text)
            if at == len(tokens) or tokens[at][1] != closing:
                raise GrammarError(f"template '{text}' has a '{value}' without its '{closing}'")
            at += 1
            parts.append(optional(inner) if value == "[" else inner)
    branches.append(Seq(tuple(parts)))
    return (branches[0] if len(branches) == 1 else Alt(tuple(branches))), at


def words_in(node: Node, known: dict[Shared, frozenset[str] | None] | None = None) -> frozenset[str] | None:
    """Every word of the sentences that a filled template makes; None where it makes none, as a choice of nothing.

    Args:
        node: the template.
        known: what was found for shared templates, which stand in many places; added to.

    Raises:
        GrammarError: a slot was not filled.
    """
    known = {} if known is None else known
    match node:
        case Word(text=text):
            return frozenset({text})
        case Mark():
            return frozenset()
        case Slot(name=name):
            raise GrammarError(f"slot <{name}> was not filled")
        case Shared():
            if node not in known:
                known[node] = words_in(node.node, known)
            return known[node]
        case Seq(parts=parts):
            found = [words_in(part, known) for part in parts]
            said = [words for words in found if words is not None]
            return frozenset().union(*said) if len(said) == len(found) else None
        case Alt(parts=parts):
            said = [words for words in (words_in(part, known) for part in parts) if words is not None]
            return frozenset().union(*said) if said else None


def slots_in(node: Node) -> frozenset[str]:
    """The names of the slots in `node`."""
    if isinstance(node, Slot):
        return frozenset({node.name})
    if isinstance(node, Seq | Alt):
        return frozenset().union(*(slots_in(part) for part in node.parts))
    return frozenset()


def fill(node: Node, filling: Mapping[str, Node]) -> Node:
    """`node` with its slots replaced; slots that are not in `filling` stay."""
    if isinstance(node, Slot):
        return filling.get(node.name, node)
    if isinstance(node, Seq):
        return Seq(tuple(fill(part, filling) for part in node.parts))
    if isinstance(node, Alt):
        return Alt(tuple(fill(part, filling) for part in node.parts))
    return node


# --- matching -----------------------------------------------------------------------------------------------------
Spans = dict[str, tuple[int, int]]
"""Slot name → the words that fill it, as start and end."""

Ends = Callable[[str, int], Iterator[int]]
"""Where a slot that starts at a word can end."""


def match(node: Node, words: tuple[str, ...], ends: Ends) -> Iterator[Spans]:
    """Every way in which `node` is exactly `words`: the spans of its slots.

    Args:
        ends: for a slot's name and first word, the places where the slot can end.
    """
    for end, spans in _match(node, words, 0, ends):
        if end == len(words):
            yield spans


def _match(node: Node, words: tuple[str, ...], at: int, ends: Ends) -> Iterator[tuple[int, Spans]]:
    if isinstance(node, Word):
        if at < len(words) and words[at] == node.text:
            yield at + 1, {}
    elif isinstance(node, Slot):
        for end in ends(node.name, at):
            yield end, {node.name: (at, end)}
    elif isinstance(node, Alt):
        for part in node.parts:
            yield from _match(part, words, at, ends)
    elif isinstance(node, Seq):
        yield from _match_row(node.parts, words, at, ends)
    elif isinstance(node, Shared):
        yield from _match(node.node, words, at, ends)
    else:
        yield at, {}


def _match_row(parts: tuple[Node, ...], words: tuple[str, ...], at: int, ends: Ends) -> Iterator[tuple[int, Spans]]:
    if not parts:
        yield at, {}
        return
    for middle, spans in _match(parts[0], words, at, ends):
        for end, more in _match_row(parts[1:], words, middle, ends):
            yield end, spans | more


# --- sampling -----------------------------------------------------------------------------------------------------
class Sampled(NamedTuple):
    """A sentence drawn from a template, and the tags of the meaning it was drawn from, in order."""

    text: str
    tags: tuple[Tag, ...]


def sample(node: Node, rng: random.Random) -> Sampled:
    """A sentence drawn from `node`, every alternative equally likely."""
    words: list[str] = []
    tags: list[Tag] = []
    _walk(node, rng, words, tags)
    return Sampled(" ".join(words), tuple(tags))


def _walk(node: Node, rng: random.Random, words: list[str], tags: list[Tag]) -> None:
    if isinstance(node, Word):
        words.append(node.text)
        if node.tag is not None:
            tags.append(node.tag)
    elif isinstance(node, Mark):
        tags.append(node.tag)
    elif isinstance(node, Alt):
        _walk(rng.choice(node.parts), rng, words, tags)
    elif isinstance(node, Seq):
        for part in node.parts:
            _walk(part, rng, words, tags)
    elif isinstance(node, Shared):
        _walk(node.node, rng, words, tags)
    else:
        raise GrammarError(f"slot <{node.name}> was not filled")
