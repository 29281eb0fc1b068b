"""What a sentence means: the only strict judge of what was said.

A text gets one intent, several (something was left unsaid, so it must be asked), or none and the reason. Point names
are matched word for word; only when no sentence fits so is a nearly matching name tried, never across a digit or unit.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property

from rapidfuzz import fuzz

from benchvoice.records import (
    AnswerIntent,
    CommandIntent,
    CommandName,
    Context,
    GoToIntent,
    Intent,
    NoteIntent,
    Parse,
    ReadingIntent,
    SpokenPoint,
)
from benchvoice.understand.grammar import Grammar, Template
from benchvoice.understand.language import Phrase
from benchvoice.understand.numbers import Values, spoken_values
from benchvoice.understand.templates import Spans, match
from benchvoice.units import quantity_kind

__all__ = ["Parser"]

NEAR_LEAST = 80.0
"""How alike a name must be to be taken for a near one, on rapidfuzz's scale of 0 to 100."""
NEAR_LEAD = 8.0
"""How far it must lead the next point's best name, on the same scale."""
NOTHING_ASKED = "nothing was asked"
"""Why yes, no and the like mean nothing while no question is open; not worth an answer."""
_LONGEST = 60  # words; nobody says more in one breath, and it bounds the work on any line of a transcript
_DASHES = "\\-\u2010-\u2015\u2212"
_JOINED = re.compile(rf"(?<=[a-z])[{_DASHES}](?=[a-z])")  # twenty-four
_LOOSE_DASH = re.compile(rf"[{_DASHES}]")  # may be a sign or a pause: kept as a word that nothing understands
_WORD_OR_STOP = re.compile(r"[^\s,.;:!?]+|[,.;:!?]+")


class Parser:
    """Parses sentences about one board.

    Args:
        grammar: the board's grammar; all its sentences are understood, those not listened for too.
    """

    def __init__(self, grammar: Grammar) -> None:
        self.grammar = grammar
        self.language = grammar.language

    def parse(self, text: str, context: Context) -> Parse:
        """What `text` can mean in this context.

        Args:
            text: words as heard or typed; case, commas and hyphens do not matter. Typed numbers must have been
                turned into words before (`transcript.normalise`).
            context: decides what a value alone belongs to, and whether yes or no answer anything.
        """
        parse = self._parse(text, context)
        return self._gone_on(parse, context) if context.follows else parse

    def _gone_on(self, parse: Parse, context: Context) -> Parse:
        """With what it means as the rest of the reading before it: "four seventy", a pause, "kilohms"."""
        if not all(
            isinstance(intent, ReadingIntent) and (intent.point is None or intent.alone) for intent in parse.intents
        ):
            return parse  # a sentence of its own
        whole = self._parse(f"{context.follows} {parse.text}", replace(context, follows=""))
        joined = tuple(
            CommandIntent("correction", intent.point, intent.value, joined=True)
            for intent in whole.intents
            # a row of bare digits ends where it ends: the next one is another code
            if isinstance(intent, ReadingIntent | CommandIntent) and intent.value is not None and intent.value.unit
            if not intent.near
        )
        return Parse(parse.text, (*joined, *parse.intents)) if joined else parse

    def _parse(self, text: str, context: Context) -> Parse:
        plain = _LOOSE_DASH.sub(" - ", _JOINED.sub(" ", text.lower()))
        words = self._words(plain)
        if not words:
            return Parse(text, (), "nothing was said")
        if len(words) > _LONGEST:
            return Parse(text, (), "too long for one sentence")
        intents, why = self._find(words, context, near=False)
        if not intents:
            intents, near_why = self._find(words, context, near=True)
            why = near_why or why or self._stranger(words)
        if intents:
            return Parse(text, intents)
        tried = why not in ("", NOTHING_ASKED)
        leaves = self._names_another(words, context)
        return Parse(text, (), why or "not a sentence of the bench", tried=tried, leaves_point=leaves)

    def _words(self, plain: str) -> Phrase:
        """The words. A stop between two of one value stays among them, and nothing understands it: "twenty, four"."""
        tokens = _WORD_OR_STOP.findall(plain)
        numbers, units = self.language.number_words, self.language.unit_words
        words: list[str] = []
        for before, token, after in zip(["", *tokens], tokens, [*tokens[1:], ""], strict=False):
            value_begun = before in numbers or before in units or before[-1:].isdigit()
            goes_on = (after in numbers and after not in self.language.point) or after[:1].isdigit()
            if token[0] not in ",.;:!?" or (value_begun and goes_on):
                words.append(token)
        return tuple(words)

    def _find(self, words: Phrase, context: Context, *, near: bool) -> tuple[tuple[Intent, ...], str]:
        """The meanings by all templates; without one, the best reason ("" where no template fits)."""
        found: dict[str, Intent] = {}
        reasons: list[str] = []
        finder = _Finder(self.grammar, words, near=near)
        for template in self.grammar.templates:
            if near and "point" not in template.slots:
                continue
            for spans in match(template.node, words, finder.ends):
                intents, why = self._intents(template, spans, words, context, finder)
                for intent in intents:
                    found.setdefault(intent.meaning, intent)
                # any words at all fit "a value alone": its reason says something only where a number was tried
                if why and (template.kind != "value alone" or words[0] in self._number_starts):
                    reasons.append(why)
        return _without_lesser_notes(tuple(found.values())), reasons[0] if reasons else ""

    def _names_another(self, words: Phrase, context: Context) -> bool:
        """Whether a point other than the current one, or one that the board does not have, stands in the words."""
        # the names of the current point may hold another's ("rail five" in "rail five point two"): longest first
        at = 0
        while at < len(words):
            spans = (words[at : at + length] for length in range(min(12, len(words) - at), 0, -1))
            name = next((span for span in spans if span in self.grammar.names or span in self.grammar.strangers), ())
            if name and (name not in self.grammar.names or self.grammar.names[name].name != context.current):
                return True
            at += len(name) or 1
        return False

    def _stranger(self, words: Phrase) -> str:
        """The reason where a value was said at a point that the board does not have, or in words unknown."""
        for length in range(min(len(words), 12), 0, -1):
            begun, rest = words[:length], words[length:]
            if begun in self.grammar.strangers:
                return f"there is no point called {' '.join(begun)}"
            if begun in self.grammar.names and not self._number_starts.isdisjoint(rest):
                return f"what followed {' '.join(begun)} was not understood"
        return ""

    @cached_property
    def _number_starts(self) -> frozenset[str]:
        return self.language.number_words | {word for phrase in self.language.over_range for word in phrase}

    def _intents(
        self, template: Template, spans: Spans, words: Phrase, context: Context, finder: _Finder
    ) -> tuple[tuple[Intent, ...], str]:
        """What one fitting template means, or why it does not."""
        name = finder.point(*spans["point"]) if "point" in spans else None
        if template.kind == "go to" and name is not None:
            return (GoToIntent(name.name, near=finder.near),), ""
        if template.kind == "note":
            start, end = min(span[0] for span in spans.values()), max(span[1] for span in spans.values())
            return (NoteIntent(" ".join(words[start:end]), free="text" in spans),), ""
        if template.kind == "note follows":
            return (NoteIntent(""),), ""
        if template.kind == "answers":
            return self._answer(template, context)
        if template.kind in ("reading", "value alone"):
            return self._readings(words[slice(*spans["value"])], name, context, near=finder.near)
        return self._command(template, spans, words, name, context, near=finder.near)

    def _answer(self, template: Template, context: Context) -> tuple[tuple[Intent, ...], str]:
        if not context.question_open:
            return (), NOTHING_ASKED
        answers: dict[str, Intent] = {
            "yes": AnswerIntent("yes"),
            "no": AnswerIntent("no"),
            "first": AnswerIntent("first"),
            "second": AnswerIntent("second"),
        }
        return (answers[template.name],), ""

    def _readings(
        self, words: Phrase, point: SpokenPoint | None, context: Context, *, near: bool
    ) -> tuple[tuple[Intent, ...], str]:
        if point is not None:
            values = self._values(words, point)
            return tuple(ReadingIntent(point.name, value, near) for value in values.meanings), values.why
        owners: list[tuple[str | None, SpokenPoint]] = []
        if context.current is not None:
            owners.append((None, self.grammar.by_name[context.current]))
        owners += [
            (other.name, other) for other in self.grammar.points if other.alone and other.name != context.current
        ]
        intents: list[Intent] = []
        why = "the point was not said" if context.current is None else ""
        for name, owner in owners:
            values = self._values(words, owner)
            intents.extend(ReadingIntent(name, value, alone=name is not None) for value in values.meanings)
            why = why or values.why
        return tuple(intents), "" if intents else why

    def _command(
        self,
        template: Template,
        spans: Spans,
        words: Phrase,
        point: SpokenPoint | None,
        context: Context,
        *,
        near: bool,
    ) -> tuple[tuple[Intent, ...], str]:
        name: CommandName = template.name  # type: ignore[assignment]  # checked against CommandName in the tests
        if "value" not in spans:
            return (CommandIntent(name, None if point is None else point.name, near=near),), ""
        owner = point
        if owner is None and context.last is not None:
            owner = self.grammar.by_name[context.last]
        if owner is None:
            return (), "there is no reading to correct"
        values = self._values(words[slice(*spans["value"])], owner)
        said = None if point is None else point.name
        return tuple(CommandIntent(name, said, value, near) for value in values.meanings), values.why

    def _values(self, words: Phrase, point: SpokenPoint) -> Values:
        kind, shown = quantity_kind(point.quantity), point.volts_shown
        values = spoken_values(words, kind, self.language, own_unit=point.unit, volts_shown=shown)
        if any(point.expects(value) for value in values.meanings):
            return values
        return spoken_values(
            words, kind, self.language, own_unit=point.unit, volts_shown=shown, point_unsaid=True
        )  # "two thirty" is 230 where about that much is expected; anywhere else it may be 2.30


class _Finder:
    """Where slots can end in one sentence, and which point a span names."""

    def __init__(self, grammar: Grammar, words: Phrase, *, near: bool) -> None:
        self.grammar = grammar
        self.words = words
        self.near = near
        self._near_found: dict[tuple[int, int], SpokenPoint | None] = {}

    def ends(self, slot: str, start: int) -> Iterator[int]:
        last = len(self.words)
        if slot == "point":
            longest = min(last, start + 12)
            yield from (end for end in range(start + 1, longest + 1) if self.point(start, end) is not None)
        elif slot in self.grammar.language.note_slots:
            for words in self.grammar.language.note_slots[slot]:
                if self.words[start : start + len(words)] == words:
                    yield start + len(words)
        elif start < last or slot == "value":  # values and free text reach to the end; a value may have been swallowed
            yield last

    def point(self, start: int, end: int) -> SpokenPoint | None:
        words = self.words[start:end]
        if not self.near:
            return self.grammar.names.get(words)
        key = (start, end)
        if key not in self._near_found:
            self._near_found[key] = _nearest(self.grammar, words)
        return self._near_found[key]


def _without_lesser_notes(intents: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """Free text fits every note: it counts only where nothing else does, and once."""
    free = [intent for intent in intents if isinstance(intent, NoteIntent) and intent.free]
    known = tuple(intent for intent in intents if intent not in free)
    return known or tuple(free[:1])


def _nearest(grammar: Grammar, words: Phrase) -> SpokenPoint | None:
    """The point whose name is nearly `words`, if one is clearly nearer than all others."""
    fixed = _fixed(grammar, words)
    text = " ".join(words)
    best: dict[str, float] = {}
    for name, point in grammar.names.items():
        if _fixed(grammar, name) == fixed and not _goes_on(words, name):
            best[point.name] = max(best.get(point.name, 0.0), fuzz.ratio(text, " ".join(name)))
    ranked = sorted(best.items(), key=lambda item: -item[1])
    if not ranked or ranked[0][1] < NEAR_LEAST:
        return None
    if len(ranked) > 1 and ranked[0][1] - ranked[1][1] < NEAR_LEAD:
        return None
    return grammar.by_name[ranked[0][0]]


def _goes_on(words: Phrase, name: Phrase) -> bool:
    """Whether one is the other and more: "rail five to ground" is no slip of "rail five" but another point."""
    shorter, longer = sorted((words, name), key=len)
    return len(shorter) < len(longer) and longer[: len(shorter)] == shorter


def _fixed(grammar: Grammar, words: Phrase) -> Phrase:
    """The words that must be the same in a near name: digits and units."""
    return tuple(word for word in words if word in grammar.language.number_words or word in grammar.language.unit_words)
