"""What is said in the corpus: sentences drawn from the grammar in the proportions of bench talk, slips, and other talk.

A label holds what the text means by the parser, which is what `benchvoice score` holds it against.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache, cached_property
from pathlib import Path

from benchvoice.commands.corpus import Meant, meant_by
from benchvoice.commands.score_hearing import Rooms, read_rooms
from benchvoice.decide.plausible import absurdity
from benchvoice.records import CommandIntent, Context, Intent, ReadingIntent, SpokenPoint
from benchvoice.scoring.tallies import SERIAL
from benchvoice.spelling import spell_digits, spell_number
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.templates import Alt, Mark, Node, Seq, Shared, sample
from tests.corpus.measure_hearing import TALK

__all__ = ["BOARDS", "PROPORTIONS", "Sentence", "Speaker"]

BOARDS = Path(__file__).parent / "boards"
STEPS = BOARDS / "oven_steps.yaml"
"""The checklist that sentences of the kind "steps" go through."""

PROPORTIONS = {
    "reading": 60,
    "odd reading": 6,
    "unclear reading": 4,
    "go to": 8,
    "command": 8,
    "correction": 4,
    "note": 5,
    "talk": 5,
}
"""Of a hundred sentences at the bench, how many are of each kind (our estimate, no source).

A reading has one meaning, the size that the board expects, and no more digits than the meter shows. An odd one has
another size or more digits: a fault, or nonsense, which may be asked however well it is heard. An unclear one has
several meanings as a text already ("three three"), so that it must be asked. Points are drawn alike.
Values alone and answers are left out: each line of a corpus is heard by itself, where they belong to nothing.
"""

FORMS = {"point": 50, "by digits": 15, "whole": 12, "any": 23}
"""Of a hundred readings and corrections, how many say their value in which form (our estimate, no source).

"Twelve point oh five", "one two point zero five", "twelve"; and any form that the grammar has, each of its branches
alike: those are mostly rare ones ("twelve volts oh five", "double six"), which would otherwise be nearly all there is.
Every sentence is one that the grammar hears.
"""
UNIT_SAID = 0.75
"""How many of the first three say their unit (our estimate, no source)."""

_INTENTS: dict[str, str | tuple[str, ...]] = {
            "reading": "reading", "odd reading": "reading", "unclear reading": "reading", "go to": "go to",
            "command": "commands/", "correction": "commands/correction", "note": "note", "work": "work/",
            "timer": "timers/", "power": "safety/", "intake": "intake/",
            "job": ("work/", "timers/", "safety/", "commands/suspects", "commands/measure next"),
            "steps": "steps/", "continuity": ("continuity", "reading")}  # fmt: skip
_DIGITS = "0123456789"
_SERIAL_LENGTHS = (5, 12)
"""How many characters a serial number has, from and to (our estimate, no source)."""
_BEFORE = (
    (),
    ("out four screws long top edge", "out two nuts m three", "lid off", "unplugged fan cable left", "took off U1"),
    ("took off U2", "fitted U2", "method hot air"),
    ("timer five minutes", "soak test timer two hours"),
    ("unit powered up",),
)
"""What was said before a sentence of the job, so that it can be meant: something is out, a part is in hand, a timer
runs, the unit is powered."""
_STEPS_BEFORE = ((), ("it is dark",), ("jump to heating", "unit powered up"))
"""What was said before a sentence of the checklist: its steps in turn offer answers, wait, and measure."""
_MOST_TRIES = 20_000
_TRIES_OF_A_FORM = 500
_CONTEXTS = {"power": Context(power=True), "intake": Context(intake=True)}
_WITH_FORMS = ("reading", "correction")
_VERBS = ("reads", "is", "at", "measures")
_OVER_RANGE_KEPT = 0.05
"""How many of the drawn sentences with "over range" are kept: each branch of the grammar is drawn alike, and that one
is beside all the numbers."""

_PEOPLE = ("he", "she", "my brother", "the new one", "somebody", "the driver", "the customer", "our neighbour")
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "the weekend", "the end of the month")
_THINGS = ("boxes", "tickets", "chairs", "letters", "eggs", "miles", "people", "pages", "bottles", "weeks")
_PLACES = ("in the kitchen", "at the station", "on the left", "down the road", "in the van", "behind the shop")
_TALK = (
    "{person} asked for {number} {things} by {day}",
    "it was about {number} {things} when we counted {place}",
    "{person} paid {number} pounds {number} for it",
    "the train at {clock} was late again so we took the one at {clock}",
    "call me on {string} after {day}",
    "we left {place} at {clock} and got there at {clock}",
    "{person} turned {number} on {day}",
    "page {number} says something else than page {number}",
    "there are {number} {things} {place} and {number} more upstairs",
    "the score was {number} to {number} at half time",
    "{person} lives at number {number} not number {number}",
    "the order number is {string} i think",
    "did you see the {things} {place} this morning",
    "{person} said that {day} would be fine for all {number} of us",
    "put the {things} {place} and close the door please",
    "the temperature goes up to {number} on {day}",
    "i need another {number} minutes before lunch",
    "that one cost {number} point {string} something i forgot",
    "{person} drove {number} miles on {day} for {number} {things}",
    "the radio said {number} per cent but {person} said {number}",
)


@dataclass(frozen=True)
class Sentence:
    """Something to be said: its words, its kind, its label (what it means), and the form that a value is said in.

    `after` is what was said before it in the same session.
    """

    text: str
    kind: str
    label: dict[str, str] = field(default_factory=dict)
    form: str = ""
    after: tuple[str, ...] = ()


class Speaker:
    """Draws sentences about one board.

    Args:
        board: the board file.
        meter: the meter file.
    """

    def __init__(self, board: Path = BOARDS / "oven.yaml", meter: Path | None = BOARDS / "meter.yaml") -> None:
        self.rooms = read_rooms(board, meter)
        self.board, self.meter, self.understood = self.rooms.board, self.rooms.meter, self.rooms.grammar
        self.grammar = self.understood.grammar
        self.nowhere = Context()
        self._nodes: dict[tuple[str, str], Node] = {}
        self._points = {point.name: point for point in self.board.points}

    def bench_talk(self, rng: random.Random, only: str | None = None) -> Sentence:
        """A sentence in the proportions of bench talk, or of one kind."""
        return self.of_kind(only or rng.choices(tuple(PROPORTIONS), tuple(PROPORTIONS.values()))[0], rng)

    def of_kind(self, kind: str, rng: random.Random) -> Sentence:
        """A sentence of one of the kinds in `PROPORTIONS`, or "slip", "misfit", "work" (on the unit), "timer", "power"
        (how the unit stands), "continuity", "intake", "job" (work, timers and power as a job goes on), "steps" (of the
        checklist), or "serial" (a serial number).

        Raises:
            ValueError: this board has none.
        """
        if kind == SERIAL:
            return self._serial_number(rng)
        if kind in ("job", "steps"):
            return self._of_the_job(kind, rng)
        # the point first: each is measured as often as another, however hard it is to draw a value of its size
        point = rng.choice(tuple(self.grammar.by_name))
        for tried in range(_MOST_TRIES):
            if tried % _TRIES_OF_A_FORM == 0:  # a value in thousands has no point that the meter would show
                form = rng.choices(tuple(FORMS), tuple(FORMS.values()))[0] if kind in _WITH_FORMS else "any"
            if kind == "talk":
                text = _talk(rng)
            elif form == "any":
                text = sample(self._node(kind, point), rng).text
            else:
                text = self._near_expected(kind, self.grammar.by_name[point], form, rng)
                if not self._hears(text):
                    continue
            over_range = any(" ".join(words) in text for words in self.grammar.language.over_range)
            if over_range and rng.random() > _OVER_RANGE_KEPT:
                continue
            if (label := self._label(kind, text)) is not None:
                return Sentence(text, kind, label, form if kind in _WITH_FORMS else "")
        raise ValueError(f"no sentence of the kind {kind} was found on this board")

    def _serial_number(self, rng: random.Random) -> Sentence:
        """A serial number of five to twelve letters and digits, each as likely as the other."""
        spoken = self.grammar.language.intake.spoken
        letters = [sign for sign in spoken if sign.isalpha()]
        signs = [rng.choice(letters if rng.random() < 0.5 else _DIGITS) for _ in range(rng.randint(*_SERIAL_LENGTHS))]
        words = " ".join(" ".join(spoken[sign]) for sign in signs)
        return Sentence(f"serial number {words}", SERIAL, {"serial": "".join(signs)})

    def _of_the_job(self, kind: str, rng: random.Random) -> Sentence:
        """A sentence of the whole repair beside its readings, each form alike, where it can be meant."""
        after = rng.choice(_BEFORE if kind == "job" else _STEPS_BEFORE)
        context = self._context_after(kind, after)
        while True:
            text = sample(self._of_job(kind, after), rng).text
            meant = meant_by(self._rooms_of(kind).grammar.parser.parse(text, context).intents)
            if len(meant) == 1:
                return Sentence(text, kind, _fields(meant[0]), after=after)

    @cache  # noqa: B019  one speaker a process
    def _of_job(self, kind: str, after: tuple[str, ...]) -> Node:
        sentences = self._rooms_of(kind).grammar.grammar.sentences(self._context_after(kind, after))
        assert isinstance(sentences, Alt)
        return Alt(tuple(part for part in sentences.parts if _intent(part).startswith(_INTENTS[kind])))

    @cache  # noqa: B019  one speaker a process
    def _context_after(self, kind: str, after: tuple[str, ...]) -> Context:
        return self._rooms_of(kind).context_after(after)

    @cache  # noqa: B019  one speaker a process
    def _rooms_of(self, kind: str) -> Rooms:
        """The board's; for the checklist's sentences those that go through it."""
        return read_rooms(BOARDS / "oven.yaml", BOARDS / "meter.yaml", STEPS) if kind == "steps" else self.rooms

    def without_unit(self, sentence: Sentence) -> str | None:
        """A reading's text up to its unit; None where no unit is said."""
        words = sentence.text.split()
        for many in (2, 1):
            if tuple(words[-many:]) in self._units and len(words) > many:
                return " ".join(words[:-many])
        return None

    def with_unit(self, rng: random.Random) -> Sentence:
        """A reading whose unit is said."""
        while True:
            sentence = self.of_kind("reading", rng)
            if self.without_unit(sentence):
                return sentence

    def value_at(self, sentence: Sentence) -> int:
        """Where a reading's value begins, as a word's number: after the verb that ends the point's name."""
        words = sentence.text.split()
        return 1 + max(words.index(verb) for verb in _VERBS if verb in words)

    def _near_expected(self, kind: str, point: SpokenPoint, form: str, rng: random.Random) -> str:
        """A reading or correction of about what is expected there, its value said in that form."""
        expected = point.expected or Decimal(1)
        decimals = 0 if form == "whole" else rng.randint(1, 3)
        value = expected * rng.randrange(5200, 19500) / 10_000
        whole, _, rest = f"{value:.{decimals}f}".partition(".")
        number = spell_number(f"{whole}.{rest}" if rest else whole)
        if form == "by digits":
            number = f"{spell_digits(whole)} point {spell_digits(rest)}"
        if rng.random() < 0.3:
            number = number.replace("point zero", "point oh")
        minus = "minus " if self._points[point.name].sign < 0 else ""
        unit = " ".join(rng.choice(self._heard_units(point))) if rng.random() < UNIT_SAID else ""
        start = "correction " if kind == "correction" else ""
        return f"{start}{rng.choice(point.say)} {rng.choice(_VERBS)} {minus}{number} {unit}".rstrip()

    def _heard_units(self, point: SpokenPoint) -> list[tuple[str, ...]]:
        """How the point's own unit may be said."""
        heard = self.grammar.language.heard_units[point.quantity]
        symbols = {words: self._symbol(point, words) for words in heard}
        return [words for words, symbol in symbols.items() if symbol == point.unit]

    @cache  # noqa: B019  one speaker a process
    def _symbol(self, point: SpokenPoint, words: tuple[str, ...]) -> str:
        intents = self.understood.parse(f"{point.say[0]} reads one point two {' '.join(words)}", self.nowhere).intents
        return intents[0].value.unit if intents and isinstance(intents[0], ReadingIntent) else ""

    def _hears(self, text: str) -> bool:
        return self.grammar.network(self.nowhere).accepts(text)

    @cached_property
    def _units(self) -> frozenset[tuple[str, ...]]:
        return frozenset(words for every in self.grammar.language.heard_units.values() for words in every)

    def _node(self, kind: str, point: str) -> Node:
        """What a sentence of that kind is drawn from: one point's values where it has one, else the whole board's."""
        key = (kind, point if kind.endswith("reading") or kind == "correction" else "")
        if key not in self._nodes:
            self._nodes[key] = self._new_node(*key)
        return self._nodes[key]

    def _new_node(self, kind: str, point: str) -> Node:
        if kind == "slip":
            return Alt(tuple(self.grammar._slip_forms(self.nowhere)))
        if kind == "misfit":
            refused = self.grammar.to_refuse(self.nowhere)
            assert isinstance(refused, Alt)
            return Alt(tuple(part for part in refused.parts if _can_be_said(part)))
        points = [self.grammar.by_name[point]] if point else list(self.grammar.points)
        if kind == "continuity":
            points = [each for each in points if each.quantity == "continuity"]
        drawn_from = self.grammar if len(points) == len(self.grammar.points) else Grammar(self.grammar.language, points)
        sentences = drawn_from.sentences(_CONTEXTS.get(kind, self.nowhere))
        assert isinstance(sentences, Alt)
        return Alt(tuple(part for part in sentences.parts if _intent(part).startswith(_INTENTS[kind])))

    def _label(self, kind: str, text: str) -> dict[str, str] | None:
        """What the text means, as a label's fields; None where it is not of that kind after all."""
        intents = self.understood.parse(text, self.nowhere).intents
        meant = meant_by(intents)
        if kind in ("talk", "slip", "misfit"):
            return None if intents or not text else {}
        if not meant or (kind in ("command", "continuity") and meant[0].command == "correction"):
            return None
        if kind.endswith("reading"):
            really = "unclear reading" if len(meant) > 1 else "reading" if self.plausible(intents[0]) else "odd reading"
            if kind != really:
                return None
        if kind == "correction" and not self.plausible(intents[0]):
            return None
        return _fields(meant[0])

    def plausible(self, intent: Intent) -> bool:
        """Whether a reading or a correction has the size that is expected at its point, and digits the meter shows."""
        if not isinstance(intent, ReadingIntent | CommandIntent) or intent.value is None or intent.point is None:
            return False
        expected = self.grammar.by_name[intent.point].expects(intent.value)
        return expected and not absurdity(intent.value, self._points[intent.point], self.meter)


def _intent(part: Node) -> str:
    """The kind of sentence that a part of the grammar makes."""
    assert isinstance(part, Seq)
    assert isinstance(part.parts[0], Mark)
    return part.parts[0].tag.text


def _can_be_said(node: Node) -> bool:
    """Whether no choice in it is between nothing: a board without near names has no strangers' readings."""
    if isinstance(node, Alt):
        return bool(node.parts) and all(map(_can_be_said, node.parts))
    if isinstance(node, Seq):
        return all(map(_can_be_said, node.parts))
    return not isinstance(node, Shared) or _can_be_said(node.node)


def _fields(meant: Meant) -> dict[str, str]:
    label = {"value": meant.value, "unit": meant.unit, "point": meant.point, "command": meant.command}
    label["serial"] = meant.serial
    return {key: value for key, value in label.items() if value}


def _talk(rng: random.Random) -> str:
    """Something that is not meant for the bench, mostly with numbers in it."""
    if rng.random() < 0.1:
        return rng.choice(TALK)
    template = rng.choice(_TALK)
    while "{" in template:
        slot = template[template.index("{") : template.index("}") + 1]
        template = template.replace(slot, _SLOTS[slot](rng), 1)
    return template


def _number(rng: random.Random) -> str:
    return spell_number(str(rng.choice((rng.randrange(2, 20), rng.randrange(20, 100), rng.randrange(100, 1000)))))


_SLOTS: dict[str, Callable[[random.Random], str]] = {
    "{person}": lambda rng: rng.choice(_PEOPLE),
    "{day}": lambda rng: rng.choice(_DAYS),
    "{things}": lambda rng: rng.choice(_THINGS),
    "{place}": lambda rng: rng.choice(_PLACES),
    "{number}": _number,
    "{string}": lambda rng: spell_digits("".join(str(rng.randrange(10)) for _ in range(rng.randrange(4, 8)))),
    "{clock}": lambda rng: f"{spell_number(str(rng.randrange(1, 13)))} {spell_number(str(rng.randrange(10, 60)))}",
}
