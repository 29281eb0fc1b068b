"""The intake in words: what was told of a unit, its serial number letter by letter, what its lamps do.

Pure. The sentences are data.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.errors import GrammarError
from benchvoice.records import INTAKE_ACTS, NOT_LISTED, Decision, WorkDone, WorkIntent

__all__ = ["IntakePhrases", "letters_of"]


def letters_of(data: Mapping[str, Any]) -> Mapping[str, str]:
    """Character of a serial number → how it is said, from the words of the intake.

    Raises:
        GrammarError: the table is missing.
    """
    found: dict[str, str] = {}
    for table in ("alphabet", "alphabet text only"):
        alphabet = data.get(table)
        if not isinstance(alphabet, dict):
            raise GrammarError("is missing or not a table", file="intake.yaml", field=table)
        found |= {str(sign): str(phrases[0]) for sign, phrases in alphabet.items()}
    return found


class IntakePhrases:
    """The sentences about the intake.

    Args:
        data: the part `intake` of replies.yaml.
        letters: character → how it is said.
        wording: how numbers and names are called.
        fill: a template and its slots → the sentences whose slots are all filled.
    """

    def __init__(
        self, data: Mapping[str, Any], letters: Mapping[str, str], wording: Wording, fill: Callable[..., str]
    ) -> None:
        self._data = data
        self._letters = letters
        self._wording = wording
        self._fill = fill

    def reply(self, decision: Decision, terse: bool) -> str:
        """What is answered to a decision about one of the acts of the intake.

        Raises:
            GrammarError: it does not say what was told.
        """
        done = decision.work
        if done is None:
            raise GrammarError(f"a decision about '{decision.about}' needs what was told", file="replies.yaml")
        name = decision.about
        if name == "indicator" and not done.intent.means:
            name = "not listed" if done.unlisted else "no table"
        short = self._data["terse"].get(name) if terse else None
        return self._fill(short or self._data["sentences"][name], **self._slots(done.intent, done.before))

    def question(self, decision: Decision) -> str:
        """What is asked back; empty where the question is about something else, or about one of two."""
        works = [candidate.work for candidate in decision.candidates]
        if not works or any(work is None or work.act not in INTAKE_ACTS for work in works):
            return ""
        work, texts = works[0], self._data["questions"]
        if work is None or (len(works) > 1 and decision.why != NOT_LISTED):
            return ""
        before = decision.work.before if decision.work is not None else ""
        name: str = work.act
        if name == "indicator":
            name = "nearest" if decision.why == NOT_LISTED else "indicator means" if work.means else "indicator"
        told = self.option(works[-1] or work)  # beside the nearest that is listed: what was heard, which "no" keeps
        return self._fill(texts.get(name, texts["confirm"]), what=told, seen=told, **self._slots(work, before))

    def option(self, intent: WorkIntent) -> str:
        """What a question offers, or what was struck: "came with power cable", "front lamp, two short, one long"."""
        return self._fill(self._data["options"][intent.act], **self._slots(intent))

    def done(self, done: WorkDone) -> str:
        """What was struck, or would be."""
        return self.option(done.intent)

    def spelled(self, number: str) -> str:
        """A serial or part number character by character, a pause after each; signs without a name are left out."""
        return ", ".join(filter(None, (self._letters.get(sign) for sign in number.upper())))

    # --- inside ---------------------------------------------------------------------------------------------------
    def _slots(self, intent: WorkIntent, before: str = "") -> dict[str, str]:
        def listed(told: str) -> str:
            return ", ".join(filter(None, (self._wording.spoken(part) for part in told.split(", "))))

        text = self.spelled(intent.text) if intent.act == "serial" else listed(intent.text)
        return {
            "text": text,
            "name": self._wording.spoken(intent.name),
            "means": self._wording.spoken(intent.means),
            "before": self.spelled(before) if intent.act == "serial" else listed(before),
            "count": self.characters(len(intent.text)),
        }

    def characters(self, number: int) -> str:
        """How many characters there are."""
        form = self._data["characters"]["one" if number == 1 else "many"]
        return self._fill(form, count=self._wording.count(number))
