"""The one grammar: every sentence that can be said about this board, for recognisers, parser and tests alike.

Built from a language's words and the board's own names. Each point hears only its own quantity's units, and a value
alone only those of the current point: the narrower the grammar, the fewer numbers are misheard.
"""

from __future__ import annotations

import random
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from benchvoice.errors import GrammarError
from benchvoice.records import Context, SpokenIntake, SpokenPart, SpokenPoint, SpokenSteps, WordNetwork
from benchvoice.understand.durations import duration_said
from benchvoice.understand.intake_words import KIND as INTAKE
from benchvoice.understand.intake_words import can_be_said
from benchvoice.understand.language import Language, Phrase
from benchvoice.understand.network import NetworkCompiler
from benchvoice.understand.templates import (
    EMPTY,
    Alt,
    Mark,
    Node,
    Sampled,
    Seq,
    Shared,
    Tag,
    fill,
    phrase,
    read_template,
    sample,
    slots_in,
    words_in,
)
from benchvoice.understand.values_said import misfit_value, overlong_value, unfinished_value, value_said
from benchvoice.understand.work_words import KIND as WORK
from benchvoice.understand.work_words import is_said
from benchvoice.units import quantity_kind

__all__ = ["Grammar", "Template"]

_Ear = tuple[str, int]  # what decides how a value is said at a point: quantity and decimals


LEAST_DECIMALS = 2
"""Digits after the point that are listened for even where the meter shows fewer: who says one more than it can show
must be heard with it, not have his value cut to fit."""

_KEPT_NETWORKS = 32
"""A board of many quantities has hundreds of kinds of contexts, and a network can take megabytes."""


_NO_WORDS = SpokenIntake()


def _ear(point: SpokenPoint) -> _Ear:
    return point.quantity, max(point.decimals, LEAST_DECIMALS) if point.unit else 0


def _fits(template: Template, ear: _Ear) -> bool:
    """Whether a sentence of a reading is said of such points: only what is said in words is "had"."""
    return template.kind != "continuity" or bool(quantity_kind(ear[0]).words)


def _of_safety(name: str, context: Context) -> bool:
    """Whether a sentence about safety is listened for."""
    needed = {"understood": context.unacknowledged, "cautions": context.cautions}
    return needed.get(name, context.power)


class Template:
    """One template with the kind of intent that it makes ("reading", "commands" …) and its name there."""

    def __init__(self, kind: str, name: str, node: Node) -> None:
        self.kind = kind
        self.name = name
        self.node = node
        self.slots = slots_in(node)


def _read(templates: Mapping[tuple[str, str], Sequence[str]], filling: Mapping[str, Node]) -> tuple[Template, ...]:
    return tuple(
        Template(kind, name, fill(read_template(text), filling))
        for (kind, name), texts in templates.items()
        for text in texts
    )


class Grammar:
    """Words and sentences for one board.

    Args:
        language: the language's words.
        points: the board's points with their spoken names.
        parts: the board's parts that can be named.
        steps: the parts and answers of the checklist that is gone through; without one nothing is heard that needs it.
        intake: the board's own words for the intake.

    Raises:
        GrammarError: no points, or a template that cannot be read.
    """

    def __init__(
        self,
        language: Language,
        points: Iterable[SpokenPoint],
        parts: Iterable[SpokenPart] = (),
        steps: SpokenSteps | None = None,
        intake: SpokenIntake = _NO_WORDS,
    ) -> None:
        self.language = language
        self.intake = intake
        self.points = tuple(points)
        if not self.points:
            raise GrammarError("there are no points to measure", cure="Give the board at least one point")
        self.by_name = {point.name: point for point in self.points}
        self.names: dict[Phrase, SpokenPoint] = {
            tuple(name.split()): point for point in self.points for name in point.say
        }
        self.parts = self._named(tuple(parts))
        self.steps = steps
        listed = steps.parts if steps else ()
        self.parts_of_list: dict[Phrase, str] = {tuple(say.split()): name for say, name in listed}
        observation = {"observation": Alt(tuple(read_template(text) for text in language.observations))}
        self.heard_templates = _read(language.templates, observation)
        self.templates = self.heard_templates + _read(language.text_templates, observation)
        self._readings = [template for template in self.heard_templates if {"point", "value"} <= template.slots]
        words = {name: Alt(tuple(map(phrase, choices))) for name, choices in language.slip_slots.items()}
        slips = [fill(read_template(text), words) for text in language.slips]
        self.slips_alone = [slip for slip in slips if "point" not in slots_in(slip)]
        self.slips_at_point = [slip for slip in slips if "point" in slots_in(slip)]
        self._compiler = NetworkCompiler()
        self._networks: OrderedDict[tuple[object, ...], WordNetwork] = OrderedDict()
        self._sentences: dict[tuple[object, ...], Node] = {}
        self._values: dict[_Ear, Node] = {}
        self._misfits: dict[_Ear, Node] = {}
        self._work: dict[tuple[Node, str], Node] = {}

    def _named(self, parts: tuple[SpokenPart, ...]) -> dict[Phrase, SpokenPart]:
        """Name → part. What a part is counts where no other part is the same and all its words are said here anyhow:
        a recogniser then has no new word to know."""
        language = self.language
        known = language.number_words | language.unit_words | {word for name in self.names for word in name}
        known |= {word for phrases in language.note_slots.values() for words in phrases for word in words}
        found: dict[Phrase, list[SpokenPart]] = {}
        for part in parts:
            for at, name in enumerate(part.say):
                words = tuple(name.split())
                if at == 0 or known.issuperset(words):
                    found.setdefault(words, []).append(part)
        return {words: named[0] for words, named in found.items() if len(named) == 1}

    def part_written(self, ref: str) -> SpokenPart | None:
        """The part of that reference designator, in upper or lower case; None where the board does not list it."""
        return next((part for part in self.parts.values() if part.ref.casefold() == ref.casefold()), None)

    # --- for recognisers ------------------------------------------------------------------------------------------
    def network(self, context: Context) -> WordNetwork:
        """What may be said in this context; made once for each kind of context, and the latest are kept."""
        return self._network(self._key(context), lambda: Alt((self._all_sentences(context), self.to_refuse(context))))

    def _network(self, key: tuple[object, ...], said: Callable[[], Node]) -> WordNetwork:
        if key not in self._networks:
            self._networks[key] = self._compiler.compile(said())
        self._networks.move_to_end(key)
        if len(self._networks) > _KEPT_NETWORKS:
            self._networks.popitem(last=False)
        return self._networks[key]

    def vocabulary(self) -> tuple[str, ...]:
        """Every word that is listened for in any context, sorted."""
        words: set[str] = set()
        known: dict[Shared, frozenset[str] | None] = {}
        for context in self._all_kinds_of_contexts():
            said = (self._all_sentences(context), self.to_refuse(context), *self._slip_forms(context))
            words |= words_in(Alt(said), known) or frozenset()
        return tuple(sorted(words))

    def _all_kinds_of_contexts(self) -> Iterator[Context]:
        """Contexts in which, taken together, all that is ever listened for is."""
        choices = self.steps.choices if self.steps is not None else ()
        for current in (None, *{self._ears(point.name): point.name for point in self.points}.values()):
            yield Context(current=current, last=current, question_open=True, follows="five", choices=choices)
        for quantity in sorted({part.quantity for part in self.parts.values()} | {""}):
            yield Context(taken_out=True, reworked=True, fitted=quantity, part_fitted=True)
        yield Context(power=True, cautions=True, unacknowledged=True, timing=True)
        yield Context(intake=True)
        yield Context(spelling=True, question_open=True)
        yield Context(listening=False)

    # --- for tests and corpora ------------------------------------------------------------------------------------
    def sample(self, rng: random.Random, context: Context) -> Sampled:
        """A sentence that may be said in this context, with the tags of its meaning."""
        return sample(self.sentences(context), rng)

    def sentences(self, context: Context) -> Node:
        """The whole template of this context, slots filled."""
        key = self._key(context)
        if key not in self._sentences:
            self._sentences[key] = self._all_sentences(context)
        return self._sentences[key]

    def _key(self, context: Context) -> tuple[object, ...]:
        ears = self._ears(context.current), self._ears(context.last)
        work = context.taken_out, context.reworked, context.fitted, context.part_fitted
        safety = context.power, context.cautions, context.unacknowledged, context.timing
        taken_in = context.intake, context.spelling
        said = context.question_open, context.listening, bool(context.follows), context.choices
        return *ears, *said, *work, *safety, *taken_in

    def _all_sentences(self, context: Context) -> Node:
        forms: list[Node] = []
        for template in self.heard_templates:
            if not context.listening and (template.kind, template.name) != ("commands", "start listening"):
                continue
            if template.kind == "answers" and not context.question_open:
                continue
            if template.kind == "steps" and not self._can_be_meant(template, context):
                continue
            if template.kind == "safety" and not _of_safety(template.name, context):
                continue
            if template.kind == "timers" and template.name != "start" and not context.timing:
                continue
            if template.kind == WORK and not is_said(template.name, context):
                continue
            if template.kind == INTAKE and not can_be_said(template.name, context):
                continue
            if template.kind == "value alone" and context.spelling:
                continue  # digits are then those of what is spelled
            forms.extend(self._filled(template, context))
        return Alt(tuple(forms))

    def _can_be_meant(self, template: Template, context: Context) -> bool:
        """Whether a command of a checklist has what it needs."""
        if self.steps is None:
            return False
        needed = {"part of the list": bool(self.parts_of_list), "choice": bool(context.choices)}
        return all(needed.get(slot, True) for slot in template.slots) and (
            template.name != "reason" or context.question_open
        )

    def to_refuse(self, context: Context) -> Node:
        """Slips that are listened for like sentences, so that the parser can refuse them with the reason.

        A recogniser that could not hear them would make a reading of them: a value without an end, with a unit of
        another quantity, or at a point that the board does not have ("rail six" beside "rail five").
        """
        if not context.listening:
            return Alt(())
        forms: list[Node] = []
        for ear in sorted(self._ears(context.current)):
            forms += [self._unfinished(ear), self._misfit(ear)]
        if context.follows:  # a unit after a pause is the rest of the reading before it
            kinds = {quantity for quantity, _ in self._ears(context.last)}
            forms.extend(phrase(words) for kind in kinds for words in self.language.heard_units.get(kind, ()))
        for ear, names in self._names_by_ear.items():
            slips = Alt((EMPTY, self._unfinished(ear), self._misfit(ear)))
            forms += self._read_as(ear, names, slips)
            strangers = Alt(tuple(phrase(words) for words, point in self.strangers.items() if _ear(point) == ear))
            forms += self._read_as(ear, strangers, self._value(ear))
        return Alt(tuple(forms))

    def slip_network(self, context: Context) -> WordNetwork:
        """Readings with a word in them that is none of theirs ("five point two wait"), or with more decimals than fit.

        Not part of `network`: among its sentences they would be rivals of every reading, in noise above all.
        """
        key = ("slips", self._ears(context.current))
        return self._network(key, lambda: Alt(tuple(self._slip_forms(context))))

    def _slip_forms(self, context: Context) -> list[Node]:
        forms: list[Node] = []
        for ear in sorted(self._ears(context.current)):
            forms.extend(fill(slip, self._slip_values(ear)) for slip in self.slips_alone)
            forms.append(self._overlong(ear))
        for ear, names in self._names_by_ear.items():
            filling = {"point": names, **self._slip_values(ear)}
            forms.extend(fill(slip, filling) for slip in self.slips_at_point)
            forms += self._read_as(ear, names, self._overlong(ear))
        return forms

    def _read_as(self, ear: _Ear, names: Node, value: Node) -> list[Node]:
        """The sentences of a reading of that value at those points."""
        fitting = (template for template in self._readings if _fits(template, ear))
        return [fill(template.node, {"point": names, "value": value}) for template in fitting]

    def _slip_values(self, ear: _Ear) -> dict[str, Node]:
        return {"value": self._value(ear), "broken off": self._unfinished(ear)}

    @cached_property
    def strangers(self) -> dict[Phrase, SpokenPoint]:
        """Names that differ from a point's in one digit and are nobody's, with the point that they are near to."""
        digits = (*self.language.heard(self.language.digits), *self.language.heard(self.language.zero))
        found: dict[Phrase, SpokenPoint] = {}
        for words, point in self.names.items():
            for at, word in enumerate(words):
                for other in digits if word in digits else ():
                    name = (*words[:at], other, *words[at + 1 :])
                    if name not in self.names:
                        found.setdefault(name, point)
        return found

    def _unfinished(self, ear: _Ear) -> Node:
        return unfinished_value(quantity_kind(ear[0]), ear[1], self.language)

    def _overlong(self, ear: _Ear) -> Node:
        return overlong_value(quantity_kind(ear[0]), ear[1], self.language)

    def _misfit(self, ear: _Ear) -> Node:
        if ear not in self._misfits:
            others = tuple(quantity_kind(name) for name in sorted({point.quantity for point in self.points} - {ear[0]}))
            self._misfits[ear] = Shared(misfit_value(quantity_kind(ear[0]), ear[1], others, self.language))
        return self._misfits[ear]

    def _filled(self, template: Template, context: Context) -> list[Node]:
        intent = Mark(Tag("intent", f"{template.kind}/{template.name}" if template.name else template.kind))
        if template.slots == frozenset():
            return [Seq((intent, template.node))]
        if template.kind == WORK:
            return self._of_work(template, intent, context)
        if template.kind == INTAKE:
            return [Seq((intent, fill(template.node, self._intake_words)))]
        if "value" not in template.slots:
            filling = {"point": self._all_names, **self._note_words, **self._timer_words, **self._step_words(context)}
            return [Seq((intent, fill(template.node, filling)))]
        if "point" in template.slots:
            filled = [fill(template.node, {"point": names, "value": self._value(ear)})
                      for ear, names in self._names_by_ear.items() if _fits(template, ear)]  # fmt: skip
            return [Seq((intent, node)) for node in filled]
        owner = context.last if template.kind == "commands" else context.current
        ears = self._ears(owner)
        if template.kind != "commands":
            ears |= self._alone | (self._ears(context.last) if context.follows else frozenset())
        return [Seq((intent, fill(template.node, {"value": self._value(ear)}))) for ear in sorted(ears)]

    def _of_work(self, template: Template, intent: Mark, context: Context) -> list[Node]:
        """A sentence of work on the unit. What the board has no words for, a part say, makes no sentence."""
        filling = dict(self._work_words)
        if context.fitted:
            filling["part value"] = self._value((context.fitted, LEAST_DECIMALS))
        if not template.slots <= {name for name, node in filling.items() if node != Alt(())}:
            return []
        key = (template.node, context.fitted if "part value" in template.slots else "")
        if key not in self._work:
            self._work[key] = Shared(fill(template.node, filling))
        return [Seq((intent, self._work[key]))]

    @cached_property
    def _work_words(self) -> dict[str, Node]:
        words = self.language.work
        found: dict[str, Node] = {
            slot: Alt(tuple(phrase(said, Tag(slot, words.slots[slot][said])) for said in phrases))
            for slot, phrases in words.heard.items()
        }
        # what the board lists by that name is that part
        found["substitute"] = Alt(
            tuple(
                phrase(said, Tag("substitute", words.slots["substitute"][said]))
                for said in words.heard["substitute"]
                if said not in self.parts
            )
        )
        found["characters"] = self._intake_words["characters"]
        found["ref"] = Alt(tuple(phrase(said, Tag("ref", part.ref)) for said, part in self.parts.items()))
        return found

    @cached_property
    def _intake_words(self) -> dict[str, Node]:
        return {slot: Shared(node) for slot, node in self.language.intake.filling(self.intake).items()}

    def _value(self, ear: _Ear) -> Node:
        if ear not in self._values:
            self._values[ear] = Shared(value_said(quantity_kind(ear[0]), ear[1], self.language))
        return self._values[ear]

    def _ears(self, point: str | None) -> frozenset[_Ear]:
        if point is None:
            return frozenset()
        return frozenset({_ear(self.by_name[point])})

    @cached_property
    def _alone(self) -> frozenset[_Ear]:
        return frozenset(_ear(point) for point in self.points if point.alone)

    @cached_property
    def _all_names(self) -> Node:
        return Alt(tuple(phrase(words, Tag("point", point.name)) for words, point in self.names.items()))

    @cached_property
    def _names_by_ear(self) -> dict[_Ear, Node]:
        found: dict[_Ear, list[Node]] = {}
        for words, point in self.names.items():
            found.setdefault(_ear(point), []).append(phrase(words, Tag("point", point.name)))
        return {ear: Alt(tuple(names)) for ear, names in found.items()}

    def _step_words(self, context: Context) -> dict[str, Node]:
        said = {
            "part of the list": tuple(self.parts_of_list),
            "choice": tuple(tuple(choice.split()) for choice in context.choices),
            "reason": self.language.reasons,
        }
        return {
            slot: Alt(
                tuple(phrase(words, Tag("detail", self.parts_of_list.get(words, " ".join(words)))) for words in choices)
            )
            for slot, choices in said.items()
        }

    @cached_property
    def _timer_words(self) -> dict[str, Node]:
        names = tuple(phrase(words, Tag("timer", " ".join(words))) for words in self.language.timer_names)
        return {"timer": Alt(names), "duration": Shared(duration_said(self.language))}

    @cached_property
    def _note_words(self) -> dict[str, Node]:
        slots = self.language.note_slots
        return {name: Alt(tuple(phrase(words) for words in choices)) for name, choices in slots.items()}
