"""Which of the known other pronunciations a person needs: those with which a prompt that was misheard is heard right.

One is added only where a recogniser heard the prompt wrong without it and right with it, and where with it no other
prompt is heard worse: none that was right is wrong, and none leads its rivals by less.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from benchvoice.hear.lexicon import Lexicon, Phones
from benchvoice.hear.recogniser import Recogniser
from benchvoice.tuning.measuring import Heard, Sheet, Take, heard_by

__all__ = ["MOST_ADDED", "Addition", "lexicon_of", "needed", "worse"]

MOST_ADDED = 4
"""So many pronunciations are added for one recogniser: each brings all other words a little nearer."""

_LESS = 0.05  # of a lead, natural log: no more than rounding

Addition = tuple[str, Phones]
"""A word, and how this person says it."""


def needed(
    takes: Sequence[Take],
    heard: Sequence[Heard],
    sheet: Sheet,
    known: Lexicon,
    open_with: Callable[[Lexicon], Recogniser],
    *,
    shown: Callable[[], None] = lambda: None,
) -> tuple[Addition, ...]:
    """The pronunciations that one recogniser needs for this person.

    Args:
        takes: the prompts that were said.
        heard: what the recogniser heard of each, without any addition.
        sheet: the prompts.
        known: the pronunciations that there are to choose from.
        open_with: opens that recogniser with more pronunciations.
        shown: called from time to time, to show that it goes on.
    """
    added: list[Addition] = []
    before = list(heard)
    for at, take in enumerate(takes):
        if before[at].right:
            continue
        for addition in _candidates(take.prompt, before[at].text, known):
            if len(added) == MOST_ADDED:
                return tuple(added)
            shown()
            recogniser = open_with(lexicon_of([*added, addition]))
            if not heard_by(recogniser, take, sheet).right:
                continue
            after = [heard_by(recogniser, each, sheet) for each in takes]
            if not any(map(worse, before, after)):
                added.append(addition)
                before = after
                break
    return tuple(added)


def worse(before: Heard, after: Heard) -> bool:
    """Whether a prompt is heard worse than before."""
    if before.right != after.right:
        return before.right
    if not before.right or before.lead is None:
        return False
    return after.lead is None or after.lead < before.lead - _LESS


def lexicon_of(additions: Sequence[Addition]) -> Lexicon:
    """The additions as a lexicon."""
    words: dict[str, list[Phones]] = {}
    for word, phones in additions:
        words.setdefault(word, []).append(phones)
    return Lexicon({word: tuple(dict.fromkeys(ways)) for word, ways in words.items()})


def _candidates(prompt: str, text: str, known: Lexicon) -> Iterator[Addition]:
    """Other ways to say those of the prompt's words that were not heard; none where nothing was."""
    heard = text.split()
    for word in dict.fromkeys(prompt.split()) if heard else ():
        if word not in heard:
            yield from ((word, phones) for phones in known.variants(word))
