"""`benchvoice tune`: how one person speaks, measured on prompts and kept as a profile for --tuned-to."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from itertools import product
from typing import Literal, NamedTuple

from benchvoice import __version__
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import progress, warn
from benchvoice.commands.interrupts import held
from benchvoice.commands.loading import load_board, load_language, read_text
from benchvoice.commands.opening import utc_now
from benchvoice.commands.settings import open_ears, voices
from benchvoice.commands.tune_tables import print_list, print_profile
from benchvoice.commands.tune_takes import Live, Recorded, Source, recordings_in, told
from benchvoice.errors import GrammarError, ModelError, ProfileError
from benchvoice.files import shipped
from benchvoice.hear.engines import open_engines
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.panel import Panel
from benchvoice.hear.person import PRONOUNCING, Alike, Person, engine_versions
from benchvoice.hear.recogniser import Recogniser
from benchvoice.records import Context
from benchvoice.tuning.learning import LEAST_TAKES, network_gap, pairs_alike, stranger_gap
from benchvoice.tuning.measuring import (
    BY_PRONUNCIATION,
    Measured,
    Sheet,
    Take,
    measure,
    prompts_in,
    why_not_said,
)
from benchvoice.tuning.profile import StoredPair, StoredTake, VoiceProfile, variants
from benchvoice.tuning.pronouncing import lexicon_of, needed
from benchvoice.tuning.store import (
    checked_person,
    list_profiles,
    load_profile,
    profile_path,
    remove_profile,
    save_profile,
)

__all__ = ["run"]

_WORST_FIRST = ("wrong", "ignored", "asked", "right")


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    if arguments.prompts:
        print("\n".join(_prompts()))
    elif arguments.list:
        print_list(list_profiles(voices()), voices(), engine_versions())
    elif arguments.show is not None:
        path = profile_path(arguments.show, voices())
        print_profile(load_profile(arguments.show, voices()), path, as_json=arguments.json)
    elif arguments.reset is not None:
        print(f"removed {remove_profile(arguments.reset, voices())}")
    else:
        _tune(arguments)
    return 0


def _tune(arguments: argparse.Namespace) -> None:
    name = _new_name(arguments.name)
    with _nothing_stored(name):
        bench = _Bench(arguments)
        with closing(bench):
            before = _measured(bench, arguments)
            profile = _learnt(bench, name, before)
    with held():
        path = save_profile(profile, voices())
    print_profile(profile, path, as_json=arguments.json)


def _new_name(name: str | None) -> str:
    """The name, checked before anything is begun.

    Raises:
        ProfileError: there is none, or what is stored under it is damaged: nothing of that is to be lost unseen.
    """
    if name is None:
        raise ProfileError("no name was given", cure="Say whose voice it is: benchvoice tune NAME")
    if profile_path(checked_person(name), voices()).exists():
        load_profile(name, voices())
    return name


@contextmanager
def _nothing_stored(name: str) -> Iterator[None]:
    try:
        yield
    except KeyboardInterrupt:
        warn(f"nothing was stored: the voice profile '{name}' is as it was before")
        raise


# --- what hears ---------------------------------------------------------------------------------------------------
def _prompts() -> tuple[str, ...]:
    return prompts_in(read_text(shipped("grammars") / "en" / "prompts.txt", GrammarError))


class _Bench:
    """The sheet of prompts and everybody's panel; to be closed.

    Raises:
        ModelError: there is no phoneme network, which tells whether a prompt was said and how well it fits.
    """

    def __init__(self, arguments: argparse.Namespace) -> None:
        self._arguments = arguments
        self._board = shipped("grammars") / "en" / "prompts_board.yaml"
        grammar = BoardGrammar(load_board(self._board), None, load_language())
        context = Context()
        self._words = grammar.vocabulary()
        self.sheet = Sheet(
            _prompts(),
            grammar.network(context),
            grammar.slip_network(context),
            lambda text: grammar.parse(text, context).meaning,
        )
        self.panel = open_ears(arguments, self._words, self._board)
        if all(each.name != BY_PRONUNCIATION for each in self.panel.recognisers):
            self.close()
            raise ModelError(
                "tuning needs the phoneme network", cure="Use benchvoice without --tuned-to on this machine"
            )

    def close(self) -> None:
        self.panel.close()

    def tuned_to(self, person: Person) -> Panel:
        """A panel of its own that hears this person; to be closed."""
        return open_ears(self._arguments, self._words, self._board, person=person)

    @staticmethod
    def open_with(engine: str, more: Lexicon) -> Recogniser:
        """One engine by itself with more pronunciations."""
        lexicon = Lexicon.shipped().plus(more)
        return open_engines(engine, lexicons={engine: lexicon}).recognisers[0]


# --- the prompts --------------------------------------------------------------------------------------------------
def _measured(bench: _Bench, arguments: argparse.Namespace) -> list[Measured]:
    """Every prompt that was said, as everybody's panel hears it.

    Raises:
        ProfileError: too few were.
    """
    prompts = bench.sheet.prompts
    source: Source
    if arguments.recordings:
        source = Recorded(recordings_in(arguments.recordings, len(prompts)))
    else:
        source = Live(arguments.input)
    found: list[Measured] = []
    missed: list[str] = []
    with closing(source):
        for number, prompt in enumerate(prompts):
            measured, why = _one(bench, source, number)
            if measured is not None:
                found.append(measured)
                continue
            told("   Left out.")
            missed.append(f"'{prompt}': {why}")
            if len(prompts) - len(missed) < LEAST_TAKES:
                break
    if len(found) < LEAST_TAKES:
        what = f"only {len(found)} of {len(prompts)} prompts could be measured, and {LEAST_TAKES} are needed: no voice "
        what += f"profile is stored. {'; '.join(missed)}"
        raise ProfileError(what, cure="benchvoice devices --try says how the microphone stands")
    return found


def _one(bench: _Bench, source: Source, number: int) -> tuple[Measured | None, str]:
    """One prompt, asked for until it was said; else why it cannot be used."""
    prompts = bench.sheet.prompts
    prompt, why, taken_for = prompts[number], "", ""
    for _ in range(source.tries):
        told(f"{number + 1} of {len(prompts)}: {prompt}")
        spoken = source.speak(number)
        why = spoken.why_unusable
        if spoken.check is not None and not why:
            take = Take(prompt, spoken.utterances[0], spoken.check.above_noise_db)
            measured = measure(bench.panel, take, bench.sheet)
            why = why_not_said(measured)
            if not why and measured.outcome == "wrong" and source.tries > 1 and not taken_for:
                taken_for = measured.text  # once it may have been a slip of the tongue
                why = f"heard as '{taken_for}'"
            elif not why:
                for advice in spoken.check.advice:
                    told(f"   {advice}")
                told(f"   {measured.outcome}; {take.above_noise_db:.0f} dB above the noise")
                return measured, ""
        told(f"   Not used: {why}.")
    return None, why


# --- what follows -------------------------------------------------------------------------------------------------
class _Try(NamedTuple):
    """A way to hear a person, and how the prompts end with it."""

    person: Person
    after: list[Measured]


def _learnt(bench: _Bench, name: str, before: Sequence[Measured]) -> VoiceProfile:
    """The profile that follows from the prompts, tried on them: with it none of them ends worse, but for questions
    about what this voice says alike."""
    best = _tried(bench, name, before)
    pairs = {frozenset(pair[:2]): pair for pair in pairs_alike(best.after)}
    pairs |= {frozenset(pair[:2]): pair for pair in pairs_alike(before) if pair.alike is Alike.ASK}
    person = Person(name, best.person.network_gap, best.person.stranger_gap, best.person.pronunciations,
                    tuple(pairs.values()))  # fmt: skip
    return _profile(person, before, _heard_as(bench, person, before) if pairs else best.after)


def _tried(bench: _Bench, name: str, before: Sequence[Measured]) -> _Try:
    """With as much of what was learnt as leaves no prompt worse: of all, of one engine alone, of none."""
    added = {engine: _pronounced(bench, engine, before) for engine in PRONOUNCING}
    usual = {voter.recogniser.name: voter.gap_most for voter in bench.panel.voters}
    arbiter = bench.panel.arbiter
    gap = network_gap(before, usual[BY_PRONUNCIATION] or 0.0)
    strange = None if arbiter is None else stranger_gap(before, arbiter.gap_stranger)
    seen: list[Person] = []
    for gaps, chosen in product((True, False), _choices(added)):
        person = Person(name, gap if gaps else None, strange if gaps else None, chosen)
        if person in seen or person == Person(name):
            continue
        seen.append(person)
        after = _heard_as(bench, person, before)
        if not any(map(_worse, before, after)):
            return _Try(person, after)
    return _Try(Person(name), list(before))


def _choices(added: Mapping[Literal["network", "sphinx"], Lexicon]) -> list[dict[str, Lexicon]]:
    some: dict[str, Lexicon] = {engine: lexicon for engine, lexicon in added.items() if lexicon.entries}
    return [some, *({engine: lexicon} for engine, lexicon in some.items() if len(some) > 1), {}]


def _pronounced(bench: _Bench, engine: str, before: Sequence[Measured]) -> Lexicon:
    heard = [each.heard[engine] for each in before if engine in each.heard]
    if len(heard) < len(before):
        return Lexicon({})
    with progress(f"trying pronunciations with {engine}") as show:
        added = needed(
            [each.take for each in before],
            heard,
            bench.sheet,
            variants(),
            lambda more: bench.open_with(engine, more),
            shown=lambda: show(0, 1),
        )
    return lexicon_of(added)


def _heard_as(bench: _Bench, person: Person, before: Sequence[Measured]) -> list[Measured]:
    """The prompts once more, by a panel tuned to this person."""
    with bench.tuned_to(person) as panel:
        return [measure(panel, each.take, bench.sheet) for each in before]


def _worse(before: Measured, after: Measured) -> bool:
    return _WORST_FIRST.index(after.outcome) < _WORST_FIRST.index(before.outcome)


def _profile(person: Person, before: Sequence[Measured], after: Sequence[Measured]) -> VoiceProfile:
    takes = []
    for old, new in zip(before, after, strict=True):
        takes.append(
            StoredTake(
                prompt=old.take.prompt,
                above_noise_db=round(old.take.above_noise_db, 1),
                gap=round(old.gap, 3),
                heard={engine: heard.text for engine, heard in old.heard.items() if not heard.right},
                before=old.outcome,
                after=new.outcome,
            )
        )
    return VoiceProfile(
        name=person.name,
        made=utc_now(),
        version=__version__,
        engines=engine_versions(),
        network_gap=person.network_gap,
        stranger_gap=person.stranger_gap,
        pronunciations={
            engine: {word: tuple(map(" ".join, ways)) for word, ways in person.pronunciations[engine].entries.items()}
            for engine in PRONOUNCING
            if engine in person.pronunciations
        },
        pairs=tuple(StoredPair(one=pair.one, other=pair.other, alike=pair.alike.value) for pair in person.pairs),
        takes=tuple(takes),
    )
