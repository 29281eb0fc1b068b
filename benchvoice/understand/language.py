"""The words of one language, read from the data files under `grammars/`.

Pure: it takes the files' texts. A new word is a line in a data file; a new language is a new folder.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any, get_args

from benchvoice.errors import GrammarError
from benchvoice.records import CommandName
from benchvoice.tables import read_table
from benchvoice.understand.intake_words import KIND as INTAKE
from benchvoice.understand.intake_words import IntakeWords, read_intake_words
from benchvoice.understand.work_words import KIND, WorkWords, read_work_words
from benchvoice.units import QUANTITIES, UNITS, QuantityKind

__all__ = ["FILES", "Language", "Phrase", "read_language"]

FILES = ("numbers.yaml", "units.yaml", "phrases.yaml", "notes.yaml", "fasteners.yaml", "intake.yaml")
"""The data files that a language folder holds besides its lexicon and its replies."""

_SLIP_SLOTS = ("interruption", "doubt", "other tense")
_TALK_BEGINS = "other talk begins"
_REASONS = "reasons"
_TIMER_WORDS = ("timer names", "more timer names", "time units")
_TIMERS = ("start", "stop", "left")

Phrase = tuple[str, ...]
"""Words in the order in which they are said."""


@dataclass(frozen=True)
class Language:
    """One language's words, ready to be looked up. Words are lower case.

    Attributes:
        digits: word → digit, zero excluded.
        zero: words for zero that can stand anywhere; `weak_zero` only beside other digits.
        teens, tens: word → its two digits.
        times: word → how often the digit after it is repeated ("double").
        over_range: phrases for what the meter shows above its range.
        waveform: phrase → "AC" or "DC", the longest first.
        text_only: phrases that are understood but not listened for.
        units: phrase → unit symbol, for every way to say it.
        heard_units: quantity → the phrases listened for.
        infix_units: quantity → phrases that may stand in place of the point.
        leading_units: words that may begin a number without a whole part ("r four seven").
        prefix_alone: word → prefix symbol.
        templates: (kind, name) → templates; `text_templates` the same for sentences not listened for.
        slips: templates of what is listened for only to be refused; `slip_slots` are the words of their slots.
        talk_begins: single words with which talk begins that is not meant for the bench.
        observations, note_slots: templates of structured notes and the words of their slots.
        time_units: "h", "min" and "s", in this order → how they are said, the plural first, then the singular.
        timer_names: what timers are called; `more_timer_names` maps what is understood besides to one of these.
        reasons: why a step of a checklist may be skipped, as phrases that are listened for.
        work: sentences about work on the unit, which are among the templates too, and the words of their slots.
        intake: the same for what is told of a unit as it comes in.
    """

    digits: Mapping[str, str]
    zero: frozenset[str]
    weak_zero: frozenset[str]
    teens: Mapping[str, str]
    tens: Mapping[str, str]
    hundred: frozenset[str]
    thousand: frozenset[str]
    point: frozenset[str]
    minus: frozenset[str]
    plus: frozenset[str]
    times: Mapping[str, int]
    and_words: frozenset[str]
    half: frozenset[str]
    article: frozenset[str]
    over_range: tuple[Phrase, ...]
    waveform: Mapping[Phrase, str]
    text_only: frozenset[Phrase]
    units: Mapping[Phrase, str]
    heard_units: Mapping[str, tuple[Phrase, ...]]
    infix_units: Mapping[str, frozenset[Phrase]]
    leading_units: frozenset[Phrase]
    in_words: Mapping[str, Mapping[Phrase, str]]
    heard_in_words: Mapping[str, Mapping[Phrase, str]]
    prefix_alone: Mapping[Phrase, str]
    templates: Mapping[tuple[str, str], tuple[str, ...]]
    text_templates: Mapping[tuple[str, str], tuple[str, ...]]
    slips: tuple[str, ...]
    slip_slots: Mapping[str, tuple[Phrase, ...]]
    talk_begins: tuple[str, ...]
    observations: tuple[str, ...]
    note_slots: Mapping[str, tuple[Phrase, ...]]
    reasons: tuple[Phrase, ...]
    time_units: Mapping[str, tuple[str, ...]]
    timer_names: tuple[Phrase, ...]
    more_timer_names: Mapping[Phrase, str]
    work: WorkWords
    intake: IntakeWords

    def heard(self, words: Mapping[str, Any] | frozenset[str]) -> tuple[str, ...]:
        """Those of `words` that are listened for, sorted."""
        return tuple(sorted(word for word in words if (word,) not in self.text_only))

    @cached_property
    def number_words(self) -> frozenset[str]:
        """Every word that can be part of a number: a name that differs in one of them is another name."""
        return frozenset().union(
            self.digits, self.zero, self.weak_zero, self.teens, self.tens, self.hundred, self.thousand, self.point,
            self.minus, self.plus, self.times, self.half,
        )  # fmt: skip

    @cached_property
    def spelled_begins(self) -> tuple[Phrase, ...]:
        """What begins a sentence whose rest is spelled, however it is typed: a serial or a part number."""
        tables = (self.templates, self.text_templates)
        texts = (text for table in tables for every in table.values() for text in every)
        begins = (text.removesuffix(" <characters>") for text in texts if text.endswith(" <characters>"))
        return tuple(tuple(begin.split()) for begin in begins if not set("[]()<>|") & set(begin))

    @cached_property
    def unit_words(self) -> frozenset[str]:
        """Every word that can be part of a unit."""
        return frozenset(word for phrase in self.units for word in phrase)

    def unit_phrases(self, kind: QuantityKind) -> Mapping[Phrase, str]:
        """Phrase → unit symbol, for the units and lone prefixes that `kind` can have."""
        return self._unit_phrases[kind.name]

    @cached_property
    def _unit_phrases(self) -> Mapping[str, Mapping[Phrase, str]]:
        found: dict[str, Mapping[Phrase, str]] = {}
        for kind in QUANTITIES.values():
            phrases = {phrase: symbol for phrase, symbol in self.units.items() if symbol in kind.units}
            for phrase, prefix in self.prefix_alone.items():
                if kind.base and f"{prefix}{kind.base}" in kind.units:
                    phrases.setdefault(phrase, f"{prefix}{kind.base}")
            found[kind.name] = MappingProxyType(phrases)
        return MappingProxyType(found)


def _phrases(items: list[Any]) -> tuple[Phrase, ...]:
    return tuple(tuple(str(item).split()) for item in items)


def _longest_first(table: dict[str, Any]) -> Mapping[Phrase, str]:
    """Phrase → name; where one phrase ends another ("true rms", "rms") the longer one is met first."""
    phrases = [(phrase, name) for name, items in table.items() for phrase in _phrases(items)]
    return MappingProxyType(dict(sorted(phrases, key=lambda entry: -len(entry[0]))))


class _File:
    """One data file's content; a missing or mis-shaped entry is an error that names it."""

    def __init__(self, texts: Mapping[str, str], file: str) -> None:
        self.file = file
        self.data = read_table(texts, file, files=FILES, of="words")

    def table(self, key: str) -> dict[str, Any]:
        value = self.data.get(key)
        if not isinstance(value, dict):
            raise GrammarError("is missing or not a table", file=self.file, field=key)
        return {str(name): item for name, item in value.items()}

    def words(self, key: str) -> frozenset[str]:
        return frozenset(" ".join(phrase) for phrase in self.phrases(key))

    def phrases(self, key: str) -> tuple[Phrase, ...]:
        value = self.data.get(key)
        if not isinstance(value, list):
            raise GrammarError("is missing or not a list", file=self.file, field=key)
        return _phrases(value)

    def digits(self, key: str) -> Mapping[str, str]:
        return MappingProxyType({word: str(value) for word, value in self.table(key).items()})


def _templates(data: dict[str, Any]) -> dict[tuple[str, str], tuple[str, ...]]:
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for kind, value in data.items():
        if kind in ("slips", *_SLIP_SLOTS, _TALK_BEGINS, _REASONS, *_TIMER_WORDS):
            continue
        if isinstance(value, list):
            found[kind, ""] = tuple(str(item) for item in value)
        elif not isinstance(value, dict):
            raise GrammarError("is neither a list nor a table", file="phrases.yaml", field=kind)
        elif kind != "text only":
            for name, items in value.items():
                if kind in ("commands", "steps", "safety") and name not in get_args(CommandName):
                    cure = f"A command needs code too; the known ones are: {', '.join(get_args(CommandName))}"
                    what = "is not a command benchvoice carries out"
                    raise GrammarError(what, file="phrases.yaml", field=f"{kind}.{name}", cure=cure)
                if kind == "timers" and name not in _TIMERS:
                    what = f"is none of {', '.join(_TIMERS)}"
                    raise GrammarError(what, file="phrases.yaml", field=f"{kind}.{name}")
                found[kind, str(name)] = tuple(str(item) for item in items)
    return found


def _time_units(phrases: _File) -> Mapping[str, tuple[str, ...]]:
    """How hours, minutes and seconds are said."""
    said = phrases.table("time units")
    for unit in ("h", "min", "s"):
        if not isinstance(said.get(unit), list) or len(said[unit]) < 2:
            what = "needs its plural and its singular"
            raise GrammarError(what, file=phrases.file, field=f"time units.{unit}")
    return MappingProxyType({unit: tuple(str(word) for word in said[unit]) for unit in ("h", "min", "s")})


def _in_words(units: _File, *keys: str) -> Mapping[str, Mapping[Phrase, str]]:
    """Of each quantity whose values are words: phrase → value."""
    found: dict[str, dict[Phrase, str]] = {kind.name: {} for kind in QUANTITIES.values() if kind.words}
    for key in keys:
        for name, table in units.table(key).items():
            if name not in found:
                raise GrammarError("has no values that are words", file=units.file, field=f"{key}.{name}")
            found[name] |= {phrase: value for value, items in table.items() for phrase in _phrases(items)}
    for name, phrases in found.items():
        unsaid = [value for value in QUANTITIES[name].words if value not in phrases.values()]
        if unsaid or set(phrases.values()) - set(QUANTITIES[name].words):
            what = f"needs phrases for {', '.join(QUANTITIES[name].words)}, and for nothing else"
            raise GrammarError(what, file=units.file, field=f"in words.{name}")
    return MappingProxyType({name: MappingProxyType(phrases) for name, phrases in found.items()})


def _of_kind(kind: str, templates: Mapping[str, tuple[str, ...]]) -> dict[tuple[str, str], tuple[str, ...]]:
    return {(kind, name): texts for name, texts in templates.items()}


def read_language(texts: Mapping[str, str]) -> Language:
    """The language whose data files have these texts, by file name (see `FILES`).

    Raises:
        GrammarError: a file or entry is missing, or is not what it should be; names file, line and field.
    """
    numbers, units = _File(texts, "numbers.yaml"), _File(texts, "units.yaml")
    phrases, notes = _File(texts, "phrases.yaml"), _File(texts, "notes.yaml")
    work = read_work_words(_File(texts, "fasteners.yaml").data)
    intake = read_intake_words(_File(texts, "intake.yaml").data)
    said = units.table("units")
    for symbol in said:
        if symbol not in UNITS:
            raise GrammarError("is not a unit benchvoice knows", file="units.yaml", field=f"units.{symbol}")
    return Language(
        digits=numbers.digits("digits"),
        zero=numbers.words("zero"),
        weak_zero=numbers.words("weak zero"),
        teens=numbers.digits("teens"),
        tens=numbers.digits("tens"),
        hundred=numbers.words("hundred"),
        thousand=numbers.words("thousand"),
        point=numbers.words("point"),
        minus=numbers.words("minus"),
        plus=numbers.words("plus"),
        times=MappingProxyType({word: int(count) for word, count in numbers.table("times").items()}),
        and_words=numbers.words("and"),
        half=numbers.words("half"),
        article=numbers.words("article"),
        over_range=numbers.phrases("over range"),
        waveform=_longest_first(numbers.table("waveform")),
        text_only=frozenset(numbers.phrases("text only")),
        units=MappingProxyType({phrase: symbol for symbol, items in said.items() for phrase in _phrases(items)}),
        heard_units=MappingProxyType({name: _phrases(items) for name, items in units.table("heard").items()}),
        infix_units=MappingProxyType(
            {name: frozenset(_phrases(items)) for name, items in units.table("in place of the point").items()}
        ),
        leading_units=frozenset(units.phrases("begins a number")),
        in_words=_in_words(units, "in words text only", "in words"),
        heard_in_words=_in_words(units, "in words"),
        prefix_alone=MappingProxyType({(word,): str(value) for word, value in units.table("prefix alone").items()}),
        templates=MappingProxyType(
            _templates(phrases.data) | _of_kind(KIND, work.templates) | _of_kind(INTAKE, intake.templates)
        ),
        text_templates=MappingProxyType(
            _templates(phrases.table("text only"))
            | _of_kind(KIND, work.text_templates)
            | _of_kind(INTAKE, intake.text_templates)
        ),
        slips=tuple(" ".join(words) for words in phrases.phrases("slips")),
        slip_slots=MappingProxyType({name: phrases.phrases(name) for name in _SLIP_SLOTS}),
        talk_begins=tuple(sorted(phrases.words(_TALK_BEGINS))),
        observations=(str(notes.data.get("template", "<part> <condition>")),),
        note_slots=MappingProxyType(
            {
                "part": notes.phrases("parts"),
                "place": notes.phrases("places"),
                "condition": notes.phrases("conditions"),
            }
        ),
        reasons=phrases.phrases(_REASONS),
        time_units=_time_units(phrases),
        timer_names=phrases.phrases("timer names"),
        more_timer_names=MappingProxyType(
            {tuple(said.split()): str(name) for said, name in phrases.table("more timer names").items()}
        ),
        work=work,
        intake=intake,
    )
