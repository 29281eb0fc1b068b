"""What a panel makes of a spoken prompt: how well it fits, who heard what, how it ends; whether it was said at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from benchvoice.hear.choices import network_of
from benchvoice.hear.panel import Panel
from benchvoice.hear.recogniser import Recogniser
from benchvoice.records import Transcript, Trust, Utterance, WordNetwork
from benchvoice.tuning.profile import Outcome

__all__ = ["BY_PRONUNCIATION", "Heard", "Measured", "Sheet", "Take", "heard_by", "measure", "outcome_of",
           "prompts_in", "why_not_said"]  # fmt: skip

BY_PRONUNCIATION = "network"
"""The recogniser whose gap tells how well a voice fits, and whether a prompt was said."""

_NOT_SAID_GAP = 0.4
_NOT_SAID_BEHIND = 0.1
"""Natural log per frame of the phoneme network. Ten prompts of each of four tuning voices, clean and at 20 dB: gap of
the prompt that was said at most 0.22, of another one at least 0.53; the prompt that was said at most 0.02 behind what
the network heard. Readings heard right, noise of 10 dB included, had gaps of at most 0.39."""


@dataclass(frozen=True)
class Sheet:
    """The prompts, and what may be said while they are spoken.

    Attributes:
        prompts: the sentences, each one of `network` with one meaning.
        network, slips: as a panel takes them.
        meaning_of: what a text means.
    """

    prompts: tuple[str, ...]
    network: WordNetwork
    slips: WordNetwork
    meaning_of: Callable[[str], str | None]


@dataclass(frozen=True, eq=False)
class Take:
    """One prompt as it was spoken.

    Attributes:
        prompt: its words.
        utterance: the sound.
        above_noise_db: how far speech stands above the noise, in dB.
    """

    prompt: str
    utterance: Utterance
    above_noise_db: float


@dataclass(frozen=True)
class Heard:
    """What one recogniser heard of a prompt.

    Attributes:
        text: its first alternative; empty for none.
        right: whether that means what the prompt means.
        lead: how far the prompt's meaning leads every other in its scores, negative where another leads; None where
            it does not offer the prompt, or its scores do not rank meanings.
    """

    text: str
    right: bool
    lead: float | None


@dataclass(frozen=True)
class Measured:
    """One prompt as it was heard.

    Attributes:
        take: the prompt and its sound.
        gap: the phoneme network's gap of the prompt, natural log per frame.
        behind: by how much of that the prompt lies behind what the network heard.
        arbiter_gap: the panel's gap where an arbiter judged, else None.
        heard: by recogniser.
        text: what the panel heard.
        outcome: how it ended.
        lead: the panel's margin.
    """

    take: Take
    gap: float
    behind: float
    arbiter_gap: float | None
    heard: Mapping[str, Heard]
    text: str
    outcome: Outcome
    lead: float | None


def measure(panel: Panel, take: Take, sheet: Sheet) -> Measured:
    """What the panel makes of a prompt.

    Raises:
        StopIteration: the panel has no phoneme network.
    """
    found = panel.hear(take.utterance, sheet.network, sheet.meaning_of, sheet.slips)
    network = next(each for each in panel.recognisers if each.name == BY_PRONUNCIATION)
    bound = network.hear(take.utterance, network_of([take.prompt])).gap
    best = network.hear(take.utterance, sheet.network).gap
    gap = _NOT_SAID_GAP * 10 if bound is None else bound
    return Measured(
        take,
        gap,
        0.0 if best is None else gap - best,
        found.gap if panel.arbiter is not None else None,
        {each.name: heard_by(each, take, sheet) for each in panel.recognisers},
        found.text,
        outcome_of(found, take.prompt, sheet),
        found.margin,
    )


def heard_by(recogniser: Recogniser, take: Take, sheet: Sheet) -> Heard:
    """What one recogniser hears of a prompt."""
    found = recogniser.hear(take.utterance, sheet.network)
    meant = sheet.meaning_of(take.prompt)
    scores: dict[bool, float] = {}
    for alternative in found.alternatives:
        scores.setdefault(sheet.meaning_of(alternative.text) == meant, alternative.score)
    ranks = found.margin is not None and True in scores  # without a margin its scores do not rank meanings
    lead = scores[True] - scores[False] if ranks and False in scores else found.margin if ranks else None
    right = bool(found.text) and sheet.meaning_of(found.text) == meant
    return Heard(found.text, right, lead)


def outcome_of(found: Transcript, prompt: str, sheet: Sheet) -> Outcome:
    """How a prompt ends that was heard like this."""
    if found.trust is Trust.UNRELATED:
        return "ignored"
    if found.trust is not Trust.AGREED:
        return "asked"
    return "right" if sheet.meaning_of(found.text) == sheet.meaning_of(prompt) else "wrong"


def why_not_said(measured: Measured) -> str:
    """Why this take is plainly not the prompt, as a phrase; empty where it is."""
    if measured.gap > _NOT_SAID_GAP:
        return "that was another sentence, or too indistinct"
    if measured.behind > _NOT_SAID_BEHIND:
        return f"that sounded like '{measured.heard[BY_PRONUNCIATION].text}'"
    return ""


def prompts_in(text: str) -> tuple[str, ...]:
    """The prompts of a file's text: one a line, `#` begins a comment."""
    return tuple(line for raw in text.splitlines() if (line := raw.split("#", 1)[0].strip()))
