"""The attention word: in a talkative room only sentences that begin with a chosen word are meant for the bench.

Recognisers get a network in which every sentence begins with it, so that all other talk is unrelated speech, of which
neither words nor sound are kept. They would force it upon a sentence of the bench that was said without it: so those
sentences, as they are said to somebody else, are heard as rivals beside it. Only what goes on after a pause in a
reading need not begin with it: left out, half a value would stand.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import replace

from benchvoice.errors import GrammarError
from benchvoice.records import CommandIntent, Context, Parse, ReadingIntent, WordArc, WordNetwork

__all__ = ["NOT_CALLED", "SHORTEST_LETTERS", "called", "parse_called", "read_attention", "uncalled", "without"]

SHORTEST_LETTERS = 4
"""A shorter word is heard in every other sentence; common practice, no source."""
NOT_CALLED = "the attention word was not said"
"""Why a text means nothing here (`Parse.why`)."""


def read_attention(word: str, vocabulary: Collection[str]) -> str:
    """The attention word as it is listened for, lower case.

    Args:
        word: as its user gave it.
        vocabulary: the words that are said at the bench anyhow.

    Raises:
        GrammarError: it is not one word of letters a to z, too short, or said at the bench anyhow.
    """
    plain = word.strip().lower()
    if not (plain.isascii() and plain.isalpha()):
        raise GrammarError(f"the attention word '{word}' is not one word of letters a to z", cure="Choose one word")
    if len(plain) < SHORTEST_LETTERS:
        raise GrammarError(
            f"the attention word '{plain}' is too short to be told from other talk",
            cure=f"Choose one of {SHORTEST_LETTERS} letters or more, of two syllables if you can",
        )
    if plain in vocabulary:
        raise GrammarError(
            f"the attention word '{plain}' is said in sentences of the bench anyhow", cure="Choose another word"
        )
    return plain


def called(network: WordNetwork, word: str, *, optional: bool = False) -> WordNetwork:
    """The network's sentences with `word` before each; where that is optional, without it too."""
    return _behind(network, (word,), optional=optional)


def uncalled(network: WordNetwork, begins: Collection[str]) -> WordNetwork:
    """The network's sentences as they are said to somebody else: as they are, or behind one of the words `begins`.

    Without those words a recogniser would hear the attention word wherever something else stands in its place.
    """
    starts = {arc.word for arc in network.leaving(0)}  # no two arcs of a node have the same word
    return _behind(network, [word for word in begins if word not in starts], optional=True)


def _behind(network: WordNetwork, words: Iterable[str], *, optional: bool) -> WordNetwork:
    arcs = [WordArc(0, 1, word) for word in words]
    if optional:
        arcs += [WordArc(0, arc.target + 1, arc.word) for arc in network.leaving(0)]
    arcs += [WordArc(arc.source + 1, arc.target + 1, arc.word) for arc in network.arcs]
    finals = frozenset(node + 1 for node in network.finals)
    return WordNetwork(network.n_nodes + 1, finals, tuple(arcs))


def without(text: str, word: str) -> str | None:
    """What was said after the attention word; None where `text` does not begin with it."""
    first, _, rest = text.strip().partition(" ")
    return rest.strip() if first.lower().strip(",.;:!?") == word else None


def parse_called(text: str, word: str, context: Context, parse: Callable[[str, Context], Parse]) -> Parse:
    """What a text means behind the attention word; nothing where it is not meant for the bench.

    Args:
        text: the words as they were said.
        parse: what the words without the attention word mean in a context.
    """
    said, before = without(text, word), without(context.follows, word)
    if said is None and not context.follows:
        return Parse(text, (), NOT_CALLED)
    follows = context.follows if before is None else before
    found = parse(text if said is None else said, replace(context, follows=follows))
    if said is None and not _goes_on(found):
        return Parse(text, (), NOT_CALLED)
    return replace(found, text=text)


def _goes_on(parse: Parse) -> bool:
    """Whether what was said without the word after a reading may be the rest of it, and is no sentence of its own.

    What means nothing may be a rest that cannot be understood.
    """
    if not parse.intents:
        return True
    return any(
        intent.joined if isinstance(intent, CommandIntent) else intent.point is None or intent.alone
        for intent in parse.intents
        if isinstance(intent, CommandIntent | ReadingIntent)
    )
