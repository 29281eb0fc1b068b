"""What a sentence means: the only strict judge of what was said.

A text gets one intent, several (something was left unsaid, so it must be asked), or none and the reason. Point names
are matched word for word; only when no sentence fits so is a nearly matching name tried, never across a digit or unit.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property

from rapidfuzz import fuzz

from benchvoice.part_values import part_quantity
from benchvoice.records import (
    NOTHING_ASKED,
    POINT_UNSAID,
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
    SpokenValue,
    WorkIntent,
)
from benchvoice.understand.durations import read_duration
from benchvoice.understand.grammar import Grammar, Template
from benchvoice.understand.intake_words import FREE
from benchvoice.understand.intake_words import KIND as INTAKE
from benchvoice.understand.language import Phrase
from benchvoice.understand.numbers import OL, Values, spoken_values
from benchvoice.understand.part_values_said import part_values_said
from benchvoice.understand.templates import Spans, match
from benchvoice.understand.work_words import KIND as WORK
from benchvoice.understand.work_words import typed_slot, work_intent
from benchvoice.units import quantity_kind

__all__ = ["Parser"]

NEAR_LEAST = 80.0
"""How alike a name must be to be taken for a near one, on rapidfuzz's scale of 0 to 100."""
NEAR_LEAD = 8.0
"""How far it must lead the next point's best name, on the same scale."""
_DETAILS = ("part of the list", "choice", "reason", "text")
"""The slots of a command that hold what it says besides a point and a value."""
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
        # the reading before it was made at the last point; a checklist may have gone on to the next one since
        before = replace(context, follows="", current=context.last or context.current)
        whole = self._parse(f"{context.follows} {parse.text}", before)
        joined = tuple(
            CommandIntent("correction", intent.point, intent.value, joined=True)
            for intent in whole.intents
            # a row of bare digits ends where it ends: the next one is another code
            if isinstance(intent, ReadingIntent | CommandIntent) and intent.value is not None and intent.value.unit
            if not intent.near
        )
        return Parse(parse.text, (*joined, *parse.intents)) if joined else parse

    def _parse(self, text: str, context: Context) -> Parse:
        words = self.words_of(text)
        if not words:
            return Parse(text, (), "nothing was said")
        if len(words) > _LONGEST:
            return Parse(text, (), "too long for one sentence")
        intents, why = self._find(words, context, near=False)
        if not intents:
            intents, near_why = self._find(words, context, near=True)
            begun = self._part_begun(words)
            unknown = f"what followed {' '.join(begun)} was not understood" if begun not in ((), words) else ""
            why = near_why or self._work_begun(words) or why or self._stranger(words) or unknown
        if intents:
            return Parse(text, intents)
        tried = why not in ("", NOTHING_ASKED)
        leaves = self._names_another(words, context)
        why = why or "not a sentence of the bench"
        return Parse(text, (), why, tried=tried, leaves_point=leaves, leaves_part=bool(self._part_begun(words)))

    def words_of(self, text: str) -> Phrase:
        """The words. A stop between two of one value stays among them, and nothing understands it: "twenty, four"."""
        tokens = _WORD_OR_STOP.findall(_LOOSE_DASH.sub(" - ", _JOINED.sub(" ", text.lower())))
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
        free: dict[str, Intent] = {}  # any words fit it: it counts only where no other sentence fits
        begun = False
        reasons: list[str] = []
        finder = _Finder(self.grammar, words, context, near=near)
        for template in self.grammar.templates:
            if (near and "point" not in template.slots) or not _is_understood(template, context):
                continue
            kept = free if template.kind == INTAKE and FREE in template.slots else found
            for spans in match(template.node, words, finder.ends):
                if template.kind == "continuity" and not _in_words(finder.point(*spans["point"])):
                    continue  # "input has five volts" is said of nothing here
                intents, why = self._intents(template, spans, words, context, finder)
                for intent in intents:
                    kept.setdefault(intent.meaning, intent)
                begun |= template.kind == INTAKE and not spans
                # any words at all fit "a value alone": its reason says something only where a number was tried
                if why and (template.kind != "value alone" or words[0] in self._number_starts):
                    reasons.append(why)
        any_words = () if begun else tuple(free.values())[:1]
        return _without_lesser_notes(tuple(found.values()) or any_words), reasons[0] if reasons else ""

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

    def _stranger(self, words: Phrase, before: Phrase = ()) -> str:
        """The reason where a value was said at a point that the board does not have, or in words unknown.

        `before` is what was said before the point ("correction").
        """
        for length in range(min(len(words), 12), 0, -1):
            begun, rest = words[:length], words[length:]
            if begun in self.grammar.strangers:
                return f"there is no point called {' '.join(begun)}"
            if begun in self.grammar.names and self._only_a_value(rest):
                return f"say {' '.join((*before, *begun))} reads, and then the value"
            if begun in self.grammar.names and not self._number_starts.isdisjoint(rest):
                return f"what followed {' '.join(begun)} was not understood"
        return ""

    def _only_a_value(self, words: Phrase) -> bool:
        """Whether nothing but numbers, units and signs was said, as in "rail five 5.02 volts"."""
        known = self._number_starts | self.language.unit_words | self.language.hundred | self.language.thousand
        said = [word for word in words if word[0].isalnum()]  # the rest are signs: "rail five = 5.02"
        return bool(said) and all(word in known or word[0].isdigit() for word in said)

    def _work_begun(self, words: Phrase) -> str:
        """The reason where work on the unit was begun in words that are its own, and then not understood."""
        for begins in self.language.work.parts_begin:
            rest = words[len(begins) :]
            if words[: len(begins)] == begins and len(rest) > 1 and len(rest[0]) <= 2 and rest[0].isalpha():
                return f"there is no part called {' '.join(rest)}"
        for begins in self.language.work.counts_begin:
            if (
                words[: len(begins)] == begins
                and words[len(begins) : len(begins) + 1] in self.language.work.slots["count"]
            ):
                return f"what followed {' '.join(begins)} was not understood"
        for begins in self.language.work.trials_begin:
            rest = words[len(begins) :]
            named = next((thing for thing in self.language.work.slots["substitute"] if rest[: len(thing)] == thing), ())
            if words[: len(begins)] == begins and named:
                return f"what came of another {' '.join(named)} was not understood"
        return ""

    def _part_begun(self, words: Phrase) -> Phrase:
        """The words with which work on a part was begun; none where it was not."""
        return next((begins for begins in self.language.work.parts_begin if words[: len(begins)] == begins), ())

    @cached_property
    def _number_starts(self) -> frozenset[str]:
        return self.language.number_words | {word for phrase in self.language.over_range for word in phrase} | {OL}

    def _intents(
        self, template: Template, spans: Spans, words: Phrase, context: Context, finder: _Finder
    ) -> tuple[tuple[Intent, ...], str]:
        """What one fitting template means, or why it does not."""
        if template.kind in (WORK, INTAKE, "timers"):
            return self._work(template, spans, words, context)
        name = finder.point(*spans["point"]) if "point" in spans else None
        if template.kind == "go to" and name is not None:
            return (GoToIntent(name.name, near=finder.near),), ""
        if template.kind in ("note", "note follows"):  # without a word of its own it announces the next utterance
            start = min((start for start, _ in spans.values()), default=0)
            end = max((end for _, end in spans.values()), default=0)
            return (NoteIntent(" ".join(words[start:end]), free="text" in spans),), ""
        if template.kind == "answers":
            return self._answer(template, context)
        if template.kind in ("reading", "continuity", "value alone") and template.name != "correction":
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

    def _timer(self, template: Template, spans: Spans, words: Phrase) -> tuple[tuple[Intent, ...], str]:
        """What is said of a timer; one is set for one certain time, or not at all."""
        said = words[slice(*spans["timer"])] if "timer" in spans else ()
        name = self.language.more_timer_names.get(said, " ".join(said))
        if template.name != "start":
            return (WorkIntent("timer stop" if template.name == "stop" else "timers", text=name),), ""
        found = read_duration(words[slice(*spans["duration"])], self.language)
        if found.why:
            return (), found.why
        return (WorkIntent("timer", text=name, value=SpokenValue(str(found.seconds), "s", unit_said=True)),), ""

    def _work(
        self, template: Template, spans: Spans, words: Phrase, context: Context
    ) -> tuple[tuple[Intent, ...], str]:
        """What is said of work on the unit, at the intake, or of timers; a value has all its meanings, to be asked."""
        if template.kind == "timers":
            return self._timer(template, spans, words)
        if template.kind == INTAKE:
            return self._intake(template, spans, words)
        said = {slot: self._kept(slot, words[slice(*span)]) for slot, span in spans.items()}
        if spans:
            said["remark"] = " ".join(words[min(start for start, _ in spans.values()) :])
        if "characters" in spans:
            text, why = self.language.intake.spelled(words[slice(*spans["characters"])])
            return () if why else (WorkIntent("part number", text=text),), why
        if "part value" not in spans:
            return (work_intent(template.name, said),), ""
        quantity = part_quantity(said["ref"]) if "ref" in said else context.fitted
        if not quantity and "ref" not in said and not context.part_fitted:
            return (), "say first which part was fitted"
        values = part_values_said(words[slice(*spans["part value"])], quantity, self.language)
        found = work_intent(template.name, said)
        return tuple(replace(found, value=value) for value in values.meanings), values.why

    def _intake(self, template: Template, spans: Spans, words: Phrase) -> tuple[tuple[Intent, ...], str]:
        """What is told of the unit as it comes in."""
        taken_in, board = self.language.intake, self.grammar.intake
        said = {slot: " ".join(words[slice(*span)]) for slot, span in spans.items()}
        if "indicator" in said:
            said["indicator"] = taken_in.indicators_of(board)[words[slice(*spans["indicator"])]]
        intent, why = taken_in.meaning(template.name, said)
        return () if intent is None else (intent,), why

    def _kept(self, slot: str, words: Phrase) -> str:
        """What is kept of the words that fill a slot of such a sentence."""
        if slot == "ref":
            part = self.grammar.parts.get(words) or self.grammar.part_written(words[0])
            return words[0].upper() if part is None else part.ref
        known = self.language.work.slots.get(slot, {}).get(words)
        if known is None and slot == "thread":
            diameter, _, length = words[0].partition("x")
            return diameter.upper() + (f" by {length}" if length else "")
        return " ".join(words) if known is None else known

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
        why = POINT_UNSAID if context.current is None else ""
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
            detail = next((words[slice(*spans[slot])] for slot in _DETAILS if slot in spans), ())
            told = self.grammar.parts_of_list[detail] if "part of the list" in spans else " ".join(detail)
            return (CommandIntent(name, None if point is None else point.name, near=near, detail=told),), ""
        owner = point
        if owner is None and context.last is not None:
            owner = self.grammar.by_name[context.last]
        if owner is None:
            return (), "there is no reading to correct"
        start, end = spans["value"]
        values = self._values(words[start:end], owner)
        said = None if point is None else point.name
        if not values.meanings and point is None:  # "correction rail five 5.02 volts": a name is no bad number
            return (), self._stranger(words[start:end], words[:start]) or values.why
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

    def __init__(self, grammar: Grammar, words: Phrase, context: Context, *, near: bool) -> None:
        self.grammar = grammar
        self.words = words
        self._step_words: dict[str, Iterable[Phrase]] = {
            "part of the list": grammar.parts_of_list,
            "choice": [tuple(choice.split()) for choice in context.choices],
            "reason": grammar.language.reasons,
            "timer": (*grammar.language.timer_names, *grammar.language.more_timer_names),
        }
        intake = grammar.language.intake
        self._step_words |= {slot: intake.words_of(slot, grammar.intake) for slot in intake.slots}
        self._step_words["indicator"] = intake.indicators_of(grammar.intake)
        self.near = near
        self._near_found: dict[tuple[int, int], SpokenPoint | None] = {}

    def ends(self, slot: str, start: int) -> Iterator[int]:
        last = len(self.words)
        if slot == "point":
            longest = min(last, start + 12)
            yield from (end for end in range(start + 1, longest + 1) if self.point(start, end) is not None)
        elif slot == "ref" or slot in self.grammar.language.work.slots:
            yield from self._work_ends(slot, start)
        elif slot in self.grammar.language.note_slots or slot in self._step_words:
            for words in self.grammar.language.note_slots.get(slot) or self._step_words.get(slot, ()):
                if self.words[start : start + len(words)] == words:
                    yield start + len(words)
        elif start < last or slot == "value":  # values and free text reach to the end; a value may have been swallowed
            yield last

    def _work_ends(self, slot: str, start: int) -> Iterator[int]:
        known: Iterable[Phrase] = self.grammar.parts if slot == "ref" else self.grammar.language.work.slots[slot]
        if slot == "substitute":  # what the board lists by that name is that part
            known = [words for words in known if words not in self.grammar.parts]
        yield from (start + len(words) for words in known if self.words[start : start + len(words)] == words)
        if start < len(self.words) and typed_slot(slot, self.words[start]):
            yield start + 1

    def point(self, start: int, end: int) -> SpokenPoint | None:
        words = self.words[start:end]
        if not self.near:
            return self.grammar.names.get(words)
        key = (start, end)
        if key not in self._near_found:
            self._near_found[key] = _nearest(self.grammar, words)
        return self._near_found[key]


def _in_words(point: SpokenPoint | None) -> bool:
    return point is not None and bool(quantity_kind(point.quantity).words)


def _is_understood(template: Template, context: Context) -> bool:
    """Whether a sentence means anything just now: while a number is spelled, digits alone belong to it."""
    if template.kind == INTAKE and template.name == "more characters":
        return context.spelling
    return not (template.kind == "value alone" and context.spelling)


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
