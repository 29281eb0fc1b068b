"""Sentences about work on the unit: taking it apart, rework, putting it together; their words and their meaning.

Pure: it takes a data file's content. What is listened for depends on what was done before, so that "back four screws"
is no rival of any reading while nothing is out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

from benchvoice.errors import GrammarError
from benchvoice.records import Context, Thing, ThingKind, WorkAct, WorkIntent
from benchvoice.spelling import spell_number

__all__ = ["KIND", "WorkWords", "is_said", "read_work_words", "typed_slot", "work_intent"]

Phrase = tuple[str, ...]

KIND = "work"
"""The kind under which these sentences stand among all templates."""

_FILE = "fasteners.yaml"
_MOST = 99
_TYPED = MappingProxyType(
    {
        "thread": re.compile(r"m[0-9](?:\.[0-9])?(?:x[0-9]{1,3})?"),
        "ref": re.compile(r"[a-z]{1,2}[0-9]{1,4}[a-z]?"),
    }
)
"""Slots that can be one typed word with a digit in it: `M3x8`, `R102`. Nothing that is spoken looks like it."""


def _always(_context: Context) -> bool:
    return True


def _taken_out(context: Context) -> bool:
    return context.taken_out


def _reworked(context: Context) -> bool:
    return context.reworked


def _fitted(context: Context) -> bool:
    return bool(context.fitted)


def _part_fitted(context: Context) -> bool:
    return context.part_fitted


@dataclass(frozen=True)
class _Form:
    """What a sentence does, what it is about, the slot that names it, and when it is listened for."""

    act: WorkAct
    kind: ThingKind | None = None
    slot: str = ""
    said: Callable[[Context], bool] = _always


_FORMS: Mapping[str, _Form] = MappingProxyType(
    {
        "fasteners out": _Form("out", "fastener"),
        "cable out": _Form("out", "cable", "cable"),
        "cover out": _Form("out", "cover", "cover"),
        "part out": _Form("out", "part", "ref"),
        "careful": _Form("careful"),
        "fasteners back": _Form("back", "fastener", said=_taken_out),
        "cable back": _Form("back", "cable", "cable", said=_taken_out),
        "cover back": _Form("back", "cover", "cover", said=_taken_out),
        "part back": _Form("back", "part", "ref", said=_taken_out),
        "back next": _Form("back next", said=_taken_out),
        "still out": _Form("still out", said=_taken_out),
        "left out": _Form("left out", slot="why out", said=_taken_out),
        "unit closed": _Form("unit closed", said=_taken_out),
        "fitted": _Form("fitted", "part", "ref"),
        "value": _Form("value", said=_fitted),
        "part number": _Form("part number", said=_part_fitted),
        "method": _Form("method", slot="method", said=_reworked),
        "damage": _Form("damage", slot="damage", said=_reworked),
        "mended": _Form("mended", slot="mend", said=_reworked),
        "cleaned": _Form("cleaned", slot="cleaner", said=_reworked),
        "inspected": _Form("inspected", slot="finding", said=_reworked),
        "another": _Form("substituted", "substitute", "substitute"),
        "another part": _Form("substituted", "part", "ref"),
    }
)


@dataclass(frozen=True)
class WorkWords:
    """The words of one language for work on the unit.

    Attributes:
        templates, text_templates: name of the form → its sentences; those of `text_templates` are not listened for.
        slots: slot → phrase → what is kept of it ("m three" → "M3").
        heard: slot → the phrases listened for, which are among those of `slots`.
    """

    templates: Mapping[str, tuple[str, ...]]
    text_templates: Mapping[str, tuple[str, ...]]
    slots: Mapping[str, Mapping[Phrase, str]]
    heard: Mapping[str, tuple[Phrase, ...]]

    @cached_property
    def parts_begin(self) -> tuple[Phrase, ...]:
        """What is said before a part's reference designator, where that ends the sentence."""
        texts = (text for table in (self.templates, self.text_templates) for each in table.values() for text in each)
        # the longest first: "removed the" before "removed"
        begun = {tuple(text.split()[:-1]) for text in texts if text.endswith(" <ref>")}
        return tuple(sorted(begun, key=lambda words: (-len(words), words)))

    @cached_property
    def counts_begin(self) -> tuple[Phrase, ...]:
        """What is said before how many there are."""
        found = (re.findall(r"([a-z']+) \([^()]*<count>", text) for text in self._heard_texts)
        return tuple(sorted({(word,) for words in found for word in words}))

    @cached_property
    def trials_begin(self) -> tuple[Phrase, ...]:
        """What is said before the thing that another was tried in place of."""
        begun = (text.partition(" <substitute>") for text in self._heard_texts)
        return tuple(sorted({tuple(words.split()) for words, slot, _ in begun if slot}))

    @property
    def _heard_texts(self) -> tuple[str, ...]:
        return tuple(text for texts in self.templates.values() for text in texts)


def is_said(name: str, context: Context) -> bool:
    """Whether the sentences of that form are listened for in a context."""
    return _FORMS[name].said(context)


def typed_slot(slot: str, word: str) -> bool:
    """Whether one typed word can fill a slot: `m3x8` a thread, `r102` a reference designator."""
    return slot in _TYPED and _TYPED[slot].fullmatch(word) is not None


def work_intent(name: str, said: Mapping[str, str]) -> WorkIntent:
    """What a sentence means.

    Args:
        name: its form.
        said: slot → what is kept of the words that fill it; "remark" all of them with what stands between.
    """
    form = _FORMS[name]
    if form.act == "careful":
        return _careful(said)
    thing = None
    if form.kind == "fastener":
        size = said.get("thread", "") + (f" by {said['millimetres']}" if "millimetres" in said else "")
        thing = Thing(
            "fastener",
            said.get("fasteners") or said.get("fastener", ""),
            int(said.get("count", "1")),
            size,
            said.get("length", ""),
            said.get("position", ""),
        )
    elif form.kind is not None:
        thing = Thing(form.kind, said[form.slot], place=said.get("position", ""))
    text = "" if thing is not None else said.get(form.slot, said.get("text", ""))
    if form.act == "substituted":
        text = said["outcome"]
    if form.act == "damage" and "position" in said:
        text = f"{text}, {said['position']}"
    return WorkIntent(form.act, thing, text)


def _careful(said: Mapping[str, str]) -> WorkIntent:
    return WorkIntent("careful", Thing("cover", said["cover"]) if "cover" in said else None, said["remark"])


# --- reading the file ---------------------------------------------------------------------------------------------
def read_work_words(data: Mapping[str, Any]) -> WorkWords:
    """The words that a data file holds.

    Raises:
        GrammarError: an entry is missing or not what it should be; names file and field.
    """
    fasteners, more = _table(data, "fasteners"), _table(data, "more fasteners")
    count_up_to = data.get("count up to")
    if not isinstance(count_up_to, int) or not 2 <= count_up_to <= _MOST:
        raise GrammarError(f"is no number from 2 to {_MOST}", file=_FILE, field="count up to")
    counts = {number: spell_number(str(number)) for number in range(2, _MOST + 1)}
    heard: dict[str, Mapping[str, str]] = dict(_lists(data))
    heard |= {
        "fastener": {one: one for one in fasteners},
        "fasteners": {many: one for one, many in fasteners.items()},
        "count": {words: str(number) for number, words in counts.items() if number <= count_up_to},
        "thread": _table(data, "threads"),
        "millimetres": _table(data, "millimetres"),
        "where": {"under": "under", "behind": "behind"},
        "substitute": _table(data, "substitutes"),
        "outcome": _table(data, "outcomes"),
    }
    extra: dict[str, Mapping[str, str]] = {
        "fastener": {one: one for one in more},
        "fasteners": {many: one for one, many in more.items()},
        "count": {words: str(number) for number, words in counts.items()},
        "cable": _list(data, "more cables"),
        "cover": _list(data, "more covers"),
        "outcome": _table(data, "more outcomes"),
    }
    slots = {slot: _by_phrase({**words, **extra.get(slot, {})}) for slot, words in heard.items()}
    return WorkWords(
        _sentences(data, "sentences"),
        _sentences(data, "text only"),
        MappingProxyType(slots),
        MappingProxyType({slot: tuple(_by_phrase(words)) for slot, words in heard.items()}),
    )


_LISTS = MappingProxyType(
    {
        "length": "lengths",
        "position": "positions",
        "cable": "cables",
        "cover": "covers",
        "fragile": "fragile",
        "why out": "reasons",
        "method": "methods",
        "damage": "damages",
        "mend": "mends",
        "cleaner": "cleaners",
        "finding": "findings",
    }
)


def _lists(data: Mapping[str, Any]) -> dict[str, Mapping[str, str]]:
    return {slot: _list(data, key) for slot, key in _LISTS.items()}


def _by_phrase(words: Mapping[str, str]) -> Mapping[Phrase, str]:
    return MappingProxyType({tuple(said.split()): kept for said, kept in words.items()})


def _table(data: Mapping[str, Any], key: str) -> dict[str, str]:
    value = data.get(key)
    if not isinstance(value, dict):
        raise GrammarError("is missing or not a table", file=_FILE, field=key)
    return {str(said): str(kept) for said, kept in value.items()}


def _list(data: Mapping[str, Any], key: str) -> dict[str, str]:
    value = data.get(key)
    if not isinstance(value, list):
        raise GrammarError("is missing or not a list", file=_FILE, field=key)
    return {str(said): str(said) for said in value}


def _sentences(data: Mapping[str, Any], key: str) -> Mapping[str, tuple[str, ...]]:
    value = data.get(key)
    if not isinstance(value, dict):
        raise GrammarError("is missing or not a table", file=_FILE, field=key)
    for name, texts in value.items():
        if name not in _FORMS or not isinstance(texts, list):
            cure = f"A sentence needs code too; the known ones are: {', '.join(_FORMS)}"
            raise GrammarError("is not a list of sentences that benchvoice knows", file=_FILE, field=f"{key}.{name}",
                               cure=cure)  # fmt: skip
    return MappingProxyType({str(name): tuple(_each(texts)) for name, texts in value.items()})


def _each(texts: Iterable[Any]) -> Iterable[str]:
    return (str(text) for text in texts)
