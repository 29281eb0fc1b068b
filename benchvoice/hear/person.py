"""A panel tuned to one person: what of it may differ from everybody's panel, and how far.

It may take this voice's gap as usual, within bounds that keep away from what other talk shows; hear words as this
person says them; and ask where this voice says two words alike. No margin or lead is here to be lowered: what is
accepted needs at least what it needs from anybody.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from importlib import metadata
from types import MappingProxyType
from typing import Literal, NamedTuple

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.panel import Panel
from benchvoice.hear.votes import MeaningOf, Voter, in_doubt
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["NETWORK_GAP", "PRONOUNCING", "STRANGER_GAP", "Alike", "Bounds", "Pair", "Person", "PersonalPanel",
           "engine_versions", "panel_like"]  # fmt: skip

PRONOUNCING: tuple[Literal["network", "sphinx"], ...] = ("network", "sphinx")
"""The engines that hear by pronunciations."""

_PACKAGES = ("hama", "pocketsphinx", "moonshine-voice")


class Bounds(NamedTuple):
    """Between which values a limit may lie."""

    least: float
    most: float

    def nearest(self, value: float) -> float:
        """The value within the bounds that is nearest to this one."""
        return min(self.most, max(self.least, value))


NETWORK_GAP = Bounds(0.24, 0.32)
"""Of the phoneme network's `gap_most`. Least gap of small talk 0.32 without noise and 0.24 beside noise (280 stretches,
`engines`), 0.37 of 60 others of the tuning voices; so it is above the default only where an arbiter, too, tells talk
from readings: of the 60, those below 0.45 had an arbiter's gap of 5.1 and more, where 3.0 is asked."""

STRANGER_GAP = Bounds(2.5, 3.0)
"""Of the arbiter's `gap_stranger`, the default being the least: what lies above it is ignored, below it asked, never
taken. Least of 150 stretches of small talk 4.8 (`engines`)."""


class Alike(StrEnum):
    """What is done where a voice says two words alike."""

    ASK = "ask"  # every recogniser took one for the other: always asked
    LEAD = "lead"  # one did: its backing counts for nothing there


class Pair(NamedTuple):
    """Two words, or short runs of words, that a voice says alike."""

    one: str
    other: str
    alike: Alike


@dataclass(frozen=True)
class Person:
    """How one person is heard.

    Attributes:
        name: whom.
        network_gap: the phoneme network's `gap_most`, None for the usual one; within NETWORK_GAP.
        stranger_gap: the arbiter's `gap_stranger`, likewise; within STRANGER_GAP.
        pronunciations: by engine (PRONOUNCING), what is heard beside the usual pronunciations.
        pairs: what this voice says alike.

    Raises:
        ValueError: a gap out of its bounds.
    """

    name: str
    network_gap: float | None = None
    stranger_gap: float | None = None
    pronunciations: Mapping[str, Lexicon] = field(default_factory=lambda: MappingProxyType({}))
    pairs: tuple[Pair, ...] = ()

    def __post_init__(self) -> None:
        for gap, bounds in ((self.network_gap, NETWORK_GAP), (self.stranger_gap, STRANGER_GAP)):
            if gap is not None and not bounds.least <= gap <= bounds.most:
                raise ValueError(f"a gap of {gap} is not within {bounds}")

    @property
    def lexicons(self) -> dict[str, Lexicon]:
        """By engine, all that it hears with where it hears this person otherwise."""
        return {engine: Lexicon.shipped().plus(more) for engine, more in self.pronunciations.items() if more.entries}


class PersonalPanel(Panel):
    """A panel that hears one person; its engines were opened with `Person.lexicons`.

    Args:
        panel: the voters, the arbiter and the caution to take; it is not to be used beside this one.
        person: whom it hears.
        as_they_are: leave the gaps as the panel has them.
    """

    def __init__(self, panel: Panel, person: Person, *, as_they_are: bool = False) -> None:
        voters, arbiter = panel.voters, panel.arbiter
        if not as_they_are:
            voters = tuple(_at_ease(voter, person, arbiter) for voter in voters)
            arbiter = arbiter if arbiter is None else _at_ease_too(arbiter, person)
        super().__init__(voters, arbiter, caution=panel.caution)
        self.name = f"{panel.name}, tuned to {person.name}"
        self.person = person

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: MeaningOf,
        slips: WordNetwork | None = None,
        uncalled: WordNetwork | None = None,
        *,
        number_of: MeaningOf | None = None,
    ) -> Transcript:
        """As `Panel.hear`, but what this person says like something else is doubted."""
        found = super().hear(utterance, network, meaning_of, slips, uncalled, number_of=number_of)
        if found.trust is not Trust.AGREED:
            return found
        return _doubted(found, self.person.pairs, network, meaning_of, self._lead_unbacked())

    def without(self, name: str) -> Panel:
        """As `Panel.without`, still tuned to this person."""
        return PersonalPanel(super().without(name), self.person, as_they_are=True)

    def _lead_unbacked(self) -> float:
        """By how much a meaning must lead where nobody else's hearing counts."""
        if self.arbiter is not None:
            return max(self.arbiter.lead_unbacked, self.arbiter.lead_near)
        margins = [voter.alone_margin for voter in self.voters if voter.alone_margin is not None]
        return max(margins, default=math.inf)


def panel_like(ears: Panel, voters: Sequence[Voter], arbiter: Arbiter | None) -> Panel:
    """A panel of these voters that hears the person whom `ears` hears, if any; their gaps stay as they are."""
    made = Panel(voters, arbiter)
    return PersonalPanel(made, ears.person, as_they_are=True) if isinstance(ears, PersonalPanel) else made


def engine_versions() -> dict[str, str]:
    """The packages whose recognisers a person is measured with, and their versions here; without those missing."""
    found = {}
    for package in _PACKAGES:
        try:
            found[package] = metadata.version(package)
        except metadata.PackageNotFoundError:
            continue
    return found


def _at_ease(voter: Voter, person: Person, arbiter: Arbiter | None) -> Voter:
    """The voter with the person's gap; without an arbiter there is nobody beside it to tell talk, so none wider."""
    if voter.recogniser.name != "network" or person.network_gap is None or voter.gap_most is None:
        return voter
    gap = person.network_gap if arbiter is not None else min(voter.gap_most, person.network_gap)
    return replace(voter, gap_most=gap)


def _at_ease_too(arbiter: Arbiter, person: Person) -> Arbiter:
    return arbiter if person.stranger_gap is None else replace(arbiter, gap_stranger=person.stranger_gap)


def _doubted(
    found: Transcript, pairs: Sequence[Pair], network: WordNetwork, meaning_of: MeaningOf, lead: float
) -> Transcript:
    """What was heard, doubtful where the other word of a pair would mean something else; that is offered next."""
    meant = meaning_of(found.text)
    for pair, rival in _rivals(found.text, pairs, network):
        means = meaning_of(rival)
        clear = pair.alike is Alike.LEAD and found.margin is not None and found.margin >= lead
        if means is None or means == meant or clear:
            continue
        first, *others = found.alternatives
        known = next((offer for offer in others if meaning_of(offer.text) == means), Alternative(rival, first.score))
        return in_doubt(found, known, meaning_of, f"this voice says {pair.one} and {pair.other} alike")
    return found


def _rivals(text: str, pairs: Sequence[Pair], network: WordNetwork) -> Iterator[tuple[Pair, str]]:
    """The network's sentences that have the other of a pair in one place of `text`."""
    words = text.split()
    for pair in pairs:
        for one, other in ((pair.one, pair.other), (pair.other, pair.one)):
            said, instead = one.split(), other.split()
            for at in range(len(words) - len(said) + 1):
                if words[at : at + len(said)] == said:
                    rival = " ".join([*words[:at], *instead, *words[at + len(said) :]])
                    if network.accepts(rival):
                        yield pair, rival
