"""Work on the unit in words: what came out, what goes back next, what is still out. The sentences are data.

Pure. Counts are always said back, since a count that was misheard is found only so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from benchvoice.answer.intake import IntakePhrases
from benchvoice.answer.wording import Wording
from benchvoice.errors import GrammarError
from benchvoice.records import Decision, Thing, WorkAct, WorkDone, WorkIntent
from benchvoice.spelling import name_in_words

__all__ = ["ABOUT", "WorkPhrases"]

_MOST = 6

ABOUT: tuple[str, ...] = (
    *("out", "back", "careful", "left out", "unit closed", "back next", "still out", "not closed", "fitted"),
    *("substituted", "value", "part number", "method", "damage", "mended", "cleaned", "inspected"),
)
"""The decisions that are worded here."""

_REWORK: tuple[WorkAct, ...] = ("value", "method", "damage", "mended", "cleaned", "inspected")


class WorkPhrases:
    """The sentences about work on the unit.

    Args:
        data: the part `work` of replies.yaml.
        plurals: fastener → its plural.
        wording: how numbers, units and points are called.
        spelling: how what is spelled is said.
        fill: a template and its slots → the sentences whose slots are all filled.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        plurals: Mapping[str, str],
        wording: Wording,
        spelling: IntakePhrases,
        fill: Callable[..., str],
    ) -> None:
        self._data = data
        self._plurals = plurals
        self._wording = wording
        self._spelling = spelling
        self._fill = fill

    def reply(self, decision: Decision, terse: bool) -> str:
        """What is answered to a decision of `ABOUT`.

        Raises:
            GrammarError: it does not say what was done.
        """
        done = decision.work
        if done is None:
            raise GrammarError(f"a decision about '{decision.about}' needs what was done", file="replies.yaml")
        slots = self._slots(done)
        if decision.about == "part number":
            return self._say("part number", terse, before=self._spelling.spelled(done.before), **slots)
        if decision.about in _REWORK:
            return self._say("rework", terse, what=self.verb(done.intent.act), **slots)
        if decision.about == "substituted":
            return self._say("substituted", terse, **self._of_trial(done.intent))
        name = decision.about
        if name in ("still out", "back next") and not done.things:
            name = "nothing out"
        return self._say(name, terse, **slots)

    def question(self, decision: Decision) -> str:
        """What is asked back; empty where the question is about something else."""
        only = decision.candidates[0].work if len(decision.candidates) == 1 else None
        if only is None or only.act != "part number" or only.thing is None:
            return ""
        told = {"text": self._spelling.spelled(only.text), "count": self._spelling.characters(len(only.text))}
        return self._fill(self._data["part number back"], part=self._spoken(only.thing.name), **told)

    def option(self, intent: WorkIntent) -> str:
        """What a question offers, as it is said at the bench: "out four screws, top edge", "lid off"."""
        return self._said_of(intent.act, intent.thing) or self._called(intent.act, self._about(intent))

    def done(self, done: WorkDone) -> str:
        """What was struck, or would be: "back two screws, top edge"."""
        only = done.things[0] if len(done.things) == 1 else None
        things = self._list(done.things) or self._about(done.intent)
        return self._said_of(done.intent.act, only) or self._called(done.intent.act, things)

    def verb(self, act: WorkAct) -> str:
        """What an act is called."""
        return str(self._data["verbs"][act])

    def thing(self, thing: Thing, *, of: int = 0) -> str:
        """A thing with how many there are, size, length and place: "two of four screws, long, top edge"."""
        if thing.kind == "fastener":
            count = self._wording.count(thing.count)
            counted = self._fill(self._data["of"], count=count, of=self._wording.count(of)) if of else count
            many = max(thing.count, of)
            name = f"{counted} {self._plurals.get(thing.name, thing.name) if many > 1 else thing.name}"
        elif thing.kind == "part":
            name = self._spoken(thing.name)
        else:
            name = thing.name
        parts = (name, self._spoken(thing.size), thing.length, thing.place, self._spoken(thing.what))
        return ", ".join(filter(None, parts))

    # --- inside ---------------------------------------------------------------------------------------------------
    def _called(self, act: WorkAct, about: str) -> str:
        return " ".join(filter(None, (self.verb(act), about)))

    def _said_of(self, act: WorkAct, thing: Thing | None) -> str:
        """Taking out or putting back such a thing as it is said; empty where the act's own word says it."""
        form = None if thing is None else self._data["said of"].get(act, {}).get(thing.kind)
        return "" if form is None or thing is None else self._fill(form, thing=self.thing(thing))

    def _say(self, name: str, terse: bool, **slots: str) -> str:
        short = self._data["terse"].get(name) if terse else None
        return self._fill(short or self._data["sentences"][name], **slots)

    def _slots(self, done: WorkDone) -> dict[str, str]:
        count = self._wording.count
        return {
            "things": self._list(done.things, of=done.of if done.intent.act in ("still out", "back next") else 0),
            "left": self._fill(self._data["of"], count=count(done.still), of=count(done.of)) if done.still else "",
            "next": self._next(done),
            "behind": "" if done.behind is None else self.thing(done.behind),
            "careful": ". ".join(self._fill(self._data["careful"], text=self._spoken(text)) for text in done.careful),
            "pieces": count(done.pieces) if done.pieces else "",
            "stays": self._stays(done.left_out),
            "again": ", ".join(self._wording.point(name) for name in done.again),
            "text": self._about(replace(done.intent, thing=None)),
            "part": self._spoken(done.ref),
            "instead": "" if done.instead is None else self._wording.value(done.instead, with_unit=True),
            "value": "" if done.intent.value is None else self._wording.value(done.intent.value, with_unit=True),
        }

    def _of_trial(self, intent: WorkIntent) -> dict[str, str]:
        thing = "" if intent.thing is None else self.thing(intent.thing)
        told = {
            slot: str(self._data[table][intent.text]) for slot, table in (("outcome", "tried"), ("speaks", "speaks"))
        }
        return {"thing": thing, **told}

    def _next(self, done: WorkDone) -> str:
        if done.next is None:
            return ""
        return self.thing(done.next, of=done.of if done.intent.act in ("still out", "back next") else 0)

    def _about(self, intent: WorkIntent) -> str:
        value = "" if intent.value is None else self._wording.value(intent.value, with_unit=True)
        thing = "" if intent.thing is None or intent.act == "careful" else self.thing(intent.thing)
        return ", ".join(filter(None, (thing, self._letters(intent), value)))

    def _letters(self, intent: WorkIntent) -> str:
        """The text; of a part number every letter by itself."""
        if intent.act == "substituted":
            return str(self._data["tried"][intent.text])
        if intent.act != "part number":
            return self._spoken(intent.text)
        return self._spelling.spelled(intent.text)

    def _list(self, things: Sequence[Thing], *, of: int = 0) -> str:
        """Things in their order, which is that in which they go back; the first may be some of `of`."""
        named = [self.thing(thing, of=of if at == 0 else 0) for at, thing in enumerate(things[:_MOST])]
        if len(things) > _MOST:
            named.append(self._fill(self._data["more"], count=self._wording.count(len(things) - _MOST)))
        return str(self._data["then"]).join(named)

    def _stays(self, left_out: Sequence[tuple[Thing, str]]) -> str:
        return str(self._data["then"]).join(f"{self.thing(thing)}, {self._spoken(why)}" for thing, why in left_out)

    def _spoken(self, text: str) -> str:
        return name_in_words(text) or self._wording.spoken(text)
