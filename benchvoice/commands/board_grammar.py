"""Grammar and parser of one board, with an attention word where there is one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import Board, Meter
from benchvoice.errors import GrammarError
from benchvoice.hear.attention_word import CURE_UNFIT, caution, why_unfit
from benchvoice.records import POINT_UNSAID, Context, Parse, SpokenSteps, WordNetwork
from benchvoice.spelling import name_in_words
from benchvoice.understand.as_typed import as_typed
from benchvoice.understand.attention import called, parse_called, read_attention, uncalled
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import Language
from benchvoice.understand.parse import Parser
from benchvoice.understand.typed import WrittenNames, normalise

__all__ = ["BoardGrammar", "spoken_steps"]

_KEPT_NETWORKS = 32


def spoken_steps(checklist: Checklist | None) -> SpokenSteps | None:
    """What the grammar needs to know of a checklist."""
    if checklist is None:
        return None
    parts = tuple((name_in_words(name) or "", name) for name in checklist.named)
    choices = dict.fromkeys(name_in_words(choice) or "" for step in checklist.steps for choice in step.choices)
    return SpokenSteps(parts, tuple(choices))


class BoardGrammar:
    """Grammar and parser of one board, as the bench needs them.

    Args:
        board, meter: what is measured and with what.
        language: its words.
        attention: the word with which every sentence must begin; None where none need.
        checklist: the list that is gone through.

    Raises:
        GrammarError: the attention word cannot serve.
    """

    def __init__(
        self,
        board: Board,
        meter: Meter | None,
        language: Language,
        attention: str | None = None,
        checklist: Checklist | None = None,
    ) -> None:
        steps = spoken_steps(checklist)
        self.grammar = Grammar(language, board.spoken_points(meter), board.spoken_parts(), steps, board.intake.spoken)
        self.parser = Parser(self.grammar)
        self._names = WrittenNames(self.grammar.points)
        self._attention = None if attention is None else self._checked(attention)
        self._called: dict[str, WordNetwork] = {}

    def vocabulary(self) -> tuple[str, ...]:
        """Every word that is listened for, sorted."""
        words = self.grammar.vocabulary()
        if self._attention is None:
            return words
        return tuple(sorted({*words, self._attention, *self.grammar.language.talk_begins}))

    @property
    def caution(self) -> str:
        """What the user should know of the attention word before starting, as a sentence; empty where nothing."""
        return "" if self._attention is None else caution(self._attention)

    def _checked(self, attention: str) -> str:
        said = {*self.grammar.vocabulary(), *self.grammar.language.talk_begins}
        word = read_attention(attention, said)
        why = why_unfit(word, said)
        if why:
            raise GrammarError(f"the attention word '{word}' {why}", cure=CURE_UNFIT)
        return word

    def network(self, context: Context) -> WordNetwork:
        """What may be said in this context."""
        return self._begun(self.grammar.network(context), context)

    def slip_network(self, context: Context) -> WordNetwork:
        """What nobody means to say in this context, but may."""
        return self._begun(self.grammar.slip_network(context), context)

    def uncalled_network(self, context: Context) -> WordNetwork | None:
        """What is said in this context to somebody else, without the attention word; None where none is needed."""
        if self._attention is None or context.follows:
            return None
        network = self.grammar.network(context)
        return self._kept(f"{network.key} uncalled", lambda: uncalled(network, self.grammar.language.talk_begins))

    def _begun(self, network: WordNetwork, context: Context) -> WordNetwork:
        word, optional = self._attention, bool(context.follows)
        if word is None:
            return network
        return self._kept(f"{network.key} {optional}", lambda: called(network, word, optional=optional))

    def _kept(self, key: str, make: Callable[[], WordNetwork]) -> WordNetwork:
        if key not in self._called:
            if len(self._called) >= _KEPT_NETWORKS:
                self._called.clear()
            self._called[key] = make()
        return self._called[key]

    def parse(self, text: str, context: Context) -> Parse:
        """What `text` means in this context."""
        if self._attention is None:
            return self.parser.parse(text, context)
        return parse_called(text, self._attention, context, self.parser.parse)

    def parse_typed(self, text: str, context: Context) -> Parse:
        """What a typed line means in this context; its `text` are the words that would have been said."""
        words = self._normalised(text)
        parse = as_typed(self.parse(words, context), text, lambda end: self.parser.words_of(self._normalised(end)))
        return replace(parse, text=words)

    def unplaced(self, written: str, context: Context) -> Parse | None:
        """What a free writer wrote of sound that is no sentence of this context, where it is a value at no point.

        Its first two words are a number's or a unit's: any noise may be written as one, and "eight of them" is talk.
        """
        if context.current is not None or context.spelling or not context.listening:
            return None
        text, language = self._normalised(written), self.grammar.language
        begins = self.parser.words_of(text)[:2]
        if len(begins) < 2 or not language.number_words | language.unit_words >= set(begins):
            return None
        parse = self.parse(text, context)
        return parse if parse.tried and parse.why == POINT_UNSAID else None

    def _normalised(self, text: str) -> str:
        return normalise(text, self.grammar.language, self._names)
