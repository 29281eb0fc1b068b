"""Sentences of the intake: complaint, what came with a unit, its state and serial number, what its lamps do.

Pure: it takes a data file's content. They are listened for while a unit is taken in and no longer, so that they are no
rivals of readings.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

from benchvoice.errors import GrammarError
from benchvoice.patterns import COLOURS, FLASHES, MOST_COUNT, MOST_GROUPS, STATES, Group, Pattern
from benchvoice.records import Context, SpokenIntake, WorkAct, WorkIntent
from benchvoice.spelling import spell_number
from benchvoice.understand.templates import EMPTY, Alt, Node, Seq, Tag, optional, phrase

__all__ = ["FREE", "KIND", "IntakeWords", "can_be_said", "read_intake_words"]

Phrase = tuple[str, ...]

KIND = "intake"
"""The kind under which these sentences stand among all templates."""

FREE = "text"
"""The slot that any words fill; a sentence without it says the same better."""

_FILE = "intake.yaml"
_ACTS: Mapping[str, WorkAct] = MappingProxyType(
    {
        "complaint": "complaint",
        "complaint follows": "complaint follows",
        "came with": "came with",
        "arrived": "arrived",
        "serial": "serial",
        "more characters": "more characters",
        "indicator": "indicator",
        "intake": "intake",
    }
)
_LISTS = MappingProxyType({"complaint": "complaints", "accessory": "accessories", "state": "states"})
_MOST_CHARACTERS = 40


def can_be_said(name: str, context: Context) -> bool:
    """Whether the sentences of that form are listened for in a context."""
    if name == "more characters":
        return context.spelling
    if name == "intake":
        return not context.intake
    return context.intake or (name == "serial" and context.spelling)


@dataclass(frozen=True)
class IntakeWords:
    """The words of one language for the intake.

    Attributes:
        templates, text_templates: name of the form → its sentences; those of `text_templates` are not listened for.
        slots: "complaint", "accessory", "state" → the phrases listened for.
        indicators: lamps and beepers of boards that name none.
        elements, states: phrase → what a pattern is made of; `more_states` are not listened for.
        colours: words for colours.
        count_up_to, groups_up_to: how much of a pattern is listened for.
        characters: phrase → character of a serial or part number; `spoken` is the same the other way round.
        unheard: the characters that are not listened for.
        most_characters: how many a serial number can have.
    """

    templates: Mapping[str, tuple[str, ...]]
    text_templates: Mapping[str, tuple[str, ...]]
    slots: Mapping[str, tuple[Phrase, ...]]
    indicators: tuple[Phrase, ...]
    elements: Mapping[str, str]
    states: Mapping[str, str]
    more_states: Mapping[str, str]
    colours: tuple[str, ...]
    count_up_to: int
    groups_up_to: int
    characters: Mapping[Phrase, str]
    spoken: Mapping[str, Phrase]
    unheard: frozenset[str]
    most_characters: int

    # --- what is listened for -------------------------------------------------------------------------------------
    def filling(self, board: SpokenIntake) -> dict[str, Node]:
        """What the slots of the sentences are filled with on a board that has these words of its own."""
        found = {slot: _choice(slot, {words: " ".join(words) for words in self.words_of(slot, board)})
                 for slot in self.slots}  # fmt: skip
        found["indicator"] = _choice("indicator", self.indicators_of(board))
        found["characters"] = self._characters_said
        found["pattern"] = self._pattern_said
        return found

    def words_of(self, slot: str, board: SpokenIntake) -> tuple[Phrase, ...]:
        """The phrases that fill a slot on that board: its own, then the language's."""
        own = {"complaint": board.complaints, "accessory": board.accessories}.get(slot, ())
        return tuple(dict.fromkeys((*(tuple(said.split()) for said in own), *self.slots[slot])))

    def indicators_of(self, board: SpokenIntake) -> Mapping[Phrase, str]:
        """Phrase → lamp or beeper, those of the board, or of the language where it has none."""
        named = {tuple(said.split()): name for said, name in board.indicators}
        return named or {words: " ".join(words) for words in self.indicators}

    @cached_property
    def _characters_said(self) -> Node:
        heard = {sign: words for sign, words in self.spoken.items() if sign not in self.unheard}
        each = Alt(tuple(phrase(words, Tag("character", sign)) for sign, words in heard.items()))
        return _one_to(self.most_characters, each)

    @cached_property
    def _pattern_said(self) -> Node:
        """Groups of flashes with pauses between, or a state; then a colour, if one was said.

        Next to one another two groups are of different kinds: "two short two short" is said as "four short".
        """
        state = Alt(tuple(phrase(tuple(said.split()), Tag("flash", kind)) for said, kind in self.states.items()))
        colour = Alt(tuple(phrase((said,), Tag("colour", said)) for said in self.colours))
        return Seq((Alt((self._groups_said(self.groups_up_to, ""), state)), optional(colour)))

    def _groups_said(self, most: int, before: str) -> Node:
        """Up to so many groups of flashes, the first of another kind than `before`."""
        counts = (spell_number(str(number)) for number in range(1, self.count_up_to + 1))
        count = Alt(tuple(phrase((said,), Tag("count", str(at))) for at, said in enumerate(counts, 1)))
        forms: list[Node] = []
        for said, kind in self.elements.items():
            if kind in ("pause", before):
                continue
            rest: Node = EMPTY
            if most > 1:
                pauses = (
                    phrase((said,), Tag("flash", "pause")) for said, kind in self.elements.items() if kind == "pause"
                )
                after_pause = Seq((Alt(tuple(pauses)), self._groups_said(most - 1, "")))
                rest = optional(Alt((self._groups_said(most - 1, kind), after_pause)))
            forms.append(Seq((count, phrase((said,), Tag("flash", kind)), rest)))
        return Alt(tuple(forms))

    # --- what it means --------------------------------------------------------------------------------------------
    def meaning(self, name: str, said: Mapping[str, str]) -> tuple[WorkIntent | None, str]:
        """What a sentence means, or None and why it means nothing.

        Args:
            name: its form.
            said: slot → the words that fill it; of an indicator its name.
        """
        act = _ACTS[name]
        if "characters" in said:
            text, why = self.spelled(tuple(said["characters"].split()))
            return (None, why) if why else (WorkIntent(act, text=text), "")
        if "pattern" in said:
            pattern = self.pattern(tuple(said["pattern"].split()))
            if pattern is None:
                return None, f"no pattern of {said['indicator']} was understood"
            return WorkIntent(act, text=str(pattern), name=said["indicator"]), ""
        if act == "complaint" and not said:
            return None, "what the complaint is was not said"
        return WorkIntent(act, text=" ".join(said.values())), ""

    def letters(self, typed: str) -> str | None:
        """The words for a typed serial number or a part of one, `AB-12`; None for what is a word already.

        Small letters alone, behind one capital or not, may be words: they are left, and so is what holds a sign that
        has no word.
        """
        has_digit = any(sign.isdigit() for sign in typed)
        if not has_digit and (typed.islower() or (typed.istitle() and len(typed) > 1)):
            return None
        words = [self.spoken_as(sign) for sign in typed.upper()]
        return None if any(word is None for word in words) else " ".join(filter(None, words))

    def spoken_as(self, sign: str) -> str | None:
        """How a character of a serial number is said; None for one that has no word."""
        return " ".join(self.spoken[sign]) if sign in self.spoken else None

    def spelled(self, words: Phrase) -> tuple[str, str]:
        """The characters that words spell, and "" or why they spell none. Letters alone count too, as typed."""
        found: list[str] = []
        at = 0
        while at < len(words):
            length = next((n for n in (2, 1) if words[at : at + n] in self.characters), 1)
            sign = self.characters.get(words[at : at + length]) or _letter(words[at])
            if not sign:
                return "", f"{words[at]} is no letter and no digit"
            found.append(sign)
            at += length
        if len(found) > self.most_characters:
            return "", f"such a number has at most {self.most_characters} characters"
        return "".join(found), "" if found else "no letter and no digit was said"

    def pattern(self, words: Phrase) -> Pattern | None:
        """The pattern that words say; None where they say none."""
        colour = ""
        if words and words[-1] in self.colours:
            words, colour = words[:-1], words[-1]
        groups: list[Group] = []
        count = 0
        for word in words:
            kind = self.elements.get(word) or self.states.get(word) or self.more_states.get(word, "")
            if kind and not (count and kind not in ("short", "long")):
                groups.append((count or 1, kind))
                count = 0
            elif not count and word in self._counts:
                count = self._counts[word]
            else:
                return None
        return None if count else Pattern.of(groups, colour)

    @cached_property
    def _counts(self) -> Mapping[str, int]:
        return {spell_number(str(number)): number for number in range(1, MOST_COUNT + 1)}


def _letter(word: str) -> str:
    return word.upper() if len(word) == 1 and word.isascii() and word.isalnum() else ""


def _choice(slot: str, kept: Mapping[Phrase, str]) -> Node:
    return Alt(tuple(phrase(words, Tag(slot, name)) for words, name in kept.items()))


def _one_to(most: int, each: Node) -> Node:
    node = each
    for _ in range(most - 1):
        node = Seq((each, optional(node)))
    return node


# --- reading the file ---------------------------------------------------------------------------------------------
def read_intake_words(data: Mapping[str, Any]) -> IntakeWords:
    """The words that a data file holds.

    Raises:
        GrammarError: an entry is missing or not what it should be; names file and field.
    """
    typed = _table(data, "alphabet text only")
    signs = {**_table(data, "alphabet"), **typed}
    alphabet = {sign: tuple(_said(sign, phrases)) for sign, phrases in signs.items()}
    return IntakeWords(
        _sentences(data, "sentences"),
        _sentences(data, "text only"),
        MappingProxyType({slot: tuple(_phrases(data, key)) for slot, key in _LISTS.items()}),
        tuple(_phrases(data, "indicators")),
        _kinds(data, "elements", FLASHES),
        _kinds(data, "indicator states", STATES),
        _kinds(data, "more indicator states", STATES),
        tuple(_colours(data)),
        _number(data, "count up to", MOST_COUNT),
        _number(data, "groups up to", MOST_GROUPS),
        MappingProxyType({words: sign for sign, phrases in alphabet.items() for words in phrases}),
        MappingProxyType({sign: phrases[0] for sign, phrases in alphabet.items()}),
        frozenset(typed),
        _number(data, "characters up to", _MOST_CHARACTERS),
    )


def _table(data: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    value = data.get(key)
    if not isinstance(value, dict):
        raise GrammarError("is missing or not a table", file=_FILE, field=key)
    return {str(name): item for name, item in value.items()}


def _said(sign: str, phrases: Any) -> Iterator[Phrase]:
    if len(sign) != 1 or not isinstance(phrases, list) or not phrases:
        raise GrammarError("is not a character with the words for it", file=_FILE, field=f"alphabet.{sign}")
    return (tuple(str(words).split()) for words in phrases)


def _phrases(data: Mapping[str, Any], key: str) -> Iterator[Phrase]:
    value = data.get(key)
    if not isinstance(value, list):
        raise GrammarError("is missing or not a list", file=_FILE, field=key)
    return (tuple(str(item).split()) for item in value)


def _kinds(data: Mapping[str, Any], key: str, known: Iterable[str]) -> Mapping[str, str]:
    table = {said: str(kind) for said, kind in _table(data, key).items()}
    for said, kind in table.items():
        if kind not in known:
            raise GrammarError(f"is none of {', '.join(known)}", file=_FILE, field=f"{key}.{said}")
    return MappingProxyType(table)


def _colours(data: Mapping[str, Any]) -> Iterator[str]:
    for words in _phrases(data, "colours"):
        if " ".join(words) not in COLOURS:
            raise GrammarError(f"'{' '.join(words)}' is none of {', '.join(COLOURS)}", file=_FILE, field="colours")
        yield words[0]


def _number(data: Mapping[str, Any], key: str, most: int) -> int:
    value = data.get(key)
    if not isinstance(value, int) or not 1 <= value <= most:
        raise GrammarError(f"is no number from 1 to {most}", file=_FILE, field=key)
    return value


def _sentences(data: Mapping[str, Any], key: str) -> Mapping[str, tuple[str, ...]]:
    for name, texts in _table(data, key).items():
        if name not in _ACTS or not isinstance(texts, list):
            cure = f"A sentence needs code too; the known ones are: {', '.join(_ACTS)}"
            raise GrammarError("is not a list of sentences that benchvoice knows", file=_FILE, field=f"{key}.{name}",
                               cure=cure)  # fmt: skip
    return MappingProxyType({name: tuple(map(str, texts)) for name, texts in _table(data, key).items()})
