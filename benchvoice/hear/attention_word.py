"""Whether an attention word can be told from what else may be said, by its sounds.

A short one, or one that sounds like a word of the bench, is imagined where it was not said, or missed where it was.
"""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.hear.lexicon import Lexicon, Phones, dictionary, letters_to_sound

__all__ = ["CURE_UNFIT", "FEWEST_SOUNDS", "SAFE_SOUNDS", "caution", "pronunciations", "why_unfit"]

FEWEST_SOUNDS = 4
"""A shorter word cannot serve. Called by four voices of the tuning set, clean and at 20 dB, a word of three sounds
("echo") was missed in 9 of 36 readings, one of four ("amber") in 1, longer ones in 0 to 2."""
SAFE_SOUNDS = 6
"""From here on other words before a reading are hardly taken for it: of 72 readings behind such, "echo" and "gadget"
(three, five) came near enough in 2 each, "amber" (four) nearly; "falcon", "workbench", "computer" (six to eight)
nowhere near."""
CURE_UNFIT = "Choose a longer word that is like no other, such as computer or workbench"


def pronunciations(word: str) -> tuple[Phones, ...]:
    """How a word is said: as our lexicon and the dictionary have it, else as its spelling suggests; may be empty."""
    known = tuple(dict.fromkeys((*Lexicon.shipped().variants(word), *dictionary().variants(word))))
    if known:
        return known
    guess = letters_to_sound(word)
    return () if guess is None else (guess,)


def why_unfit(word: str, others: Iterable[str]) -> str:
    """Why the word cannot serve, to be read behind it; empty where it can, or where nobody knows how it is said.

    Args:
        word: the attention word, lower case.
        others: the words that are said at the bench, and those with which other talk begins.
    """
    ways = pronunciations(word)
    if not ways:
        return ""
    shortest = min(ways, key=len)
    if len(shortest) < FEWEST_SOUNDS:
        sounds = " ".join(shortest)
        return f"has only {len(shortest)} sounds ({sounds}): it would be missed, or heard where it was not said"
    for other in others:
        if any(_nearly_same(one, two) for one in ways for two in pronunciations(other)):
            return f"sounds like '{other}', which is said anyhow"
    return ""


def caution(word: str) -> str:
    """What the user of a word that can serve should know before starting, as a sentence; empty where nothing."""
    fewest = min(map(len, pronunciations(word)), default=SAFE_SOUNDS)
    if fewest >= SAFE_SOUNDS:
        return ""
    return (
        f"the attention word '{word}' has only {fewest} sounds: other words may be taken for it. "
        f"One of {SAFE_SOUNDS} or more is safer, such as computer or workbench"
    )


def _nearly_same(one: Phones, two: Phones) -> bool:
    """Whether one sound is replaced, left out or added at most."""
    if len(one) > len(two):
        one, two = two, one
    if len(two) - len(one) > 1:
        return False
    same = next((at for at, (a, b) in enumerate(zip(one, two, strict=False)) if a != b), len(one))
    return one[same:] == two[same + 1 :] or one[same + 1 :] == two[same + 1 :]
