"""Pure: what follows from the prompts for how a person is heard: gap limits, and words that this voice says alike.

Everything here errs towards asking. A limit moves only within the bounds of `person`; a pair only ever adds questions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher

from benchvoice.hear.alike import TEENS_AND_TENS
from benchvoice.hear.person import NETWORK_GAP, STRANGER_GAP, Alike, Pair
from benchvoice.tuning.measuring import BY_PRONUNCIATION, Measured

__all__ = ["LEAST_TAKES", "differences", "network_gap", "pairs_alike", "stranger_gap"]

LEAST_TAKES = 7
"""So many prompts must have been said and heard for a profile: what two or three show may be chance."""

_ROOM = 0.02
_ROOM_BELOW = 0.1
"""How far the limit stays above the greatest gap of a prompt, where that is wide and where it is narrow. Four tuning
voices' greatest gaps grew by up to 0.07 from clean to 20 dB; a limit is not narrowed below what noise may add."""

_STRANGER_ROOM = 0.5


def network_gap(measured: Sequence[Measured], usual: float) -> float | None:
    """The limit of the phoneme network's gap for this voice; None where the usual one serves.

    Only prompts that the network itself heard right count: another one's gap may be the gap of an error.
    """
    gaps = [each.gap for each in measured if each.heard[BY_PRONUNCIATION].right]
    if len(gaps) < LEAST_TAKES:
        return None
    if max(gaps) + _ROOM > usual:
        limit = NETWORK_GAP.nearest(max(gaps) + _ROOM)
    else:
        limit = min(usual, NETWORK_GAP.nearest(max(gaps) + _ROOM_BELOW))
    return None if round(limit, 2) == usual else round(limit, 2)


def stranger_gap(measured: Sequence[Measured], usual: float) -> float | None:
    """The gap from which the arbiter may take this voice for other talk; None where the usual one serves.

    It is only ever widened: what lies below it is asked, not taken.
    """
    gaps = [each.arbiter_gap for each in measured if each.arbiter_gap is not None and each.outcome != "wrong"]
    if len(gaps) < LEAST_TAKES:
        return None
    limit = STRANGER_GAP.nearest(max(gaps) + _STRANGER_ROOM)
    return round(limit, 1) if round(limit, 1) > usual else None


def pairs_alike(measured: Sequence[Measured]) -> tuple[Pair, ...]:
    """The words that this voice said alike, as the prompts show.

    What the panel took for something else without asking, or every recogniser heard as the same other word, is always
    asked; where it is a teen and a ten, so are all of them, since the prompts cannot hold them all. What a single
    recogniser confused needs the lead that it would need if that one had heard nothing.
    """
    found: dict[frozenset[str], Pair] = {}
    for each in measured:
        wrong = [heard.text for heard in each.heard.values() if not heard.right and heard.text]
        taken = [each.text] if each.outcome == "wrong" else []
        everybody = [text for text in wrong if all(heard.text == text for heard in each.heard.values())]
        for texts, alike in ((taken + everybody, Alike.ASK), (wrong, Alike.LEAD)):
            for text in dict.fromkeys(texts):
                for one, other in differences(each.take.prompt, text):
                    for pair in _with_kin(one, other, alike):
                        known = found.get(frozenset(pair[:2]))
                        if known is None or known.alike is not Alike.ASK:
                            found[frozenset(pair[:2])] = pair
    return tuple(found.values())


def _with_kin(one: str, other: str, alike: Alike) -> Iterator[Pair]:
    if alike is Alike.ASK and any({one, other} == set(twins) for twins in TEENS_AND_TENS.items()):
        yield from (Pair(teen, ten, alike) for teen, ten in TEENS_AND_TENS.items())
    else:
        yield Pair(one, other, alike)


def differences(prompt: str, text: str) -> list[tuple[str, str]]:
    """Where a text has other words than the prompt: the prompt's and the text's, one or two words each.

    What was left out, put in, or is longer is no pair of words, and is left aside.
    """
    said, heard = prompt.split(), text.split()
    found = []
    for how, start, end, other_start, other_end in SequenceMatcher(None, said, heard, autojunk=False).get_opcodes():
        if how == "replace" and end - start <= 2 and other_end - other_start <= 2:
            found.append((" ".join(said[start:end]), " ".join(heard[other_start:other_end])))
    return found
