"""A recogniser in a process of its own, so that it hears while everything else goes on.

PocketSphinx holds Python's global lock while it decodes: 0.2 s of a three-second sentence, in which the sound devices
would get no answer from this process. Apart from that two recognisers hear at the same time only in two processes.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Literal, cast

from benchvoice.errors import BenchvoiceError, ModelError
from benchvoice.hear.recogniser import Recogniser, Unheard
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork

__all__ = ["Apart"]

_KEPT_NETWORKS = 24
_OPENED_S = 60.0  # a model of a gigabyte is read in less
_ENDED_S = 5.0  # whatever is being heard is heard in less


class _UnmetError(Exception):
    """The process has not met a network, or has forgotten it."""


class Apart:
    """Offers what the recogniser that `make` opens in the other process offers. Serves one thread at a time.

    The process ends with `close`, or with this one, however that ends. Should it end by itself, it is started again.

    Args:
        make: opens the recogniser; must be picklable, a class or a `functools.partial` of one.

    Raises:
        BenchvoiceError: what `make` raised.
        ModelError: the process could not be started.
    """

    def __init__(self, make: Callable[[], Recogniser]) -> None:
        self._make = make
        self._process, self._pipe = self._start()
        self.name: str = self._ask("name")

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """As the recogniser's own."""
        return cast(tuple[Unheard, ...], self._ask("unheard", tuple(words)))

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """As the recogniser's own.

        Raises:
            VocabularyError: as the recogniser's own.
            ModelError: the process ended, and again when it was started anew.
        """
        return cast(Transcript, self._bound("hear", utterance, network))

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """As the recogniser's own, where it has one."""
        return cast(Transcript, self._bound("hear_briefly", utterance, network))

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        """As the recogniser's own, where it has one."""
        return cast("Alternative | None", self._bound("best", utterance, network))

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """As the recogniser's own, where it has one."""
        return cast("tuple[float | None, ...]", self._ask("weigh", utterance, tuple(texts)))

    def get_ready(self, utterance: Utterance) -> None:
        """As the recogniser's own, where it has one."""
        self._ask("get_ready", utterance)

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """As the recogniser's own, where it has one."""
        return cast("tuple[float | None, ...]", self._ask("review", utterance, tuple(texts)))

    def free(self, utterance: Utterance) -> Alternative:
        """As the recogniser's own, where it has one."""
        return cast(Alternative, self._ask("free", utterance))

    def probability(self, utterance: Utterance, text: str) -> float:
        """As the recogniser's own, where it has one."""
        return cast(float, self._ask("probability", utterance, text))

    def length(self, text: str) -> float:
        """As the recogniser's own, where it has one."""
        return cast(float, self._ask("length", text))

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        """As the recogniser's own, where it has one."""
        return cast("tuple[float, ...]", self._ask("prefer", utterance, text, tuple(others)))

    def close(self) -> None:
        """End the process. Closing twice is harmless."""
        self._pipe.close()
        self._process.join(_ENDED_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()

    def _bound(self, what: str, utterance: Utterance, network: WordNetwork) -> Any:
        try:
            return self._ask(what, utterance, network.key)
        except _UnmetError:
            return self._ask(what, utterance, network)

    def _ask(self, what: str, *arguments: object) -> Any:
        try:
            return self._exchange(what, arguments)
        except (EOFError, ConnectionError) as cause:
            if self._pipe.closed:
                raise
            self._process.join()
            status = self._process.exitcode
            self._process, self._pipe = self._start()
            try:
                return self._exchange(what, arguments)
            except (EOFError, ConnectionError):
                raise ModelError(
                    f"a recogniser ended by itself (exit status {status}), and again when it was started anew",
                    cure="Choose another one with --engine",
                ) from cause

    def _exchange(self, what: str, arguments: tuple[object, ...]) -> Any:
        self._pipe.send((what, arguments))
        return self._answer()

    def _answer(self) -> Any:
        how, value = cast("tuple[Literal['done', 'unmet', 'failed'], Any]", self._pipe.recv())
        if how == "unmet":
            raise _UnmetError
        if how == "failed":
            raise value
        return value

    def _start(self) -> tuple[BaseProcess, Connection]:
        # numpy's own threads wait busily for each other, while other engines hear; read where numpy is loaded
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        context = multiprocessing.get_context("spawn")  # threads and devices of this process must not be copied
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, self._make), name="benchvoice hears", daemon=True)
        process.start()
        theirs.close()
        self._pipe = ours
        try:
            if not ours.poll(_OPENED_S):
                raise ModelError(
                    f"a recogniser did not open within {_OPENED_S:.0f} s", cure="Try again, or choose another"
                )
            self._answer()
        except EOFError:
            process.join()
            raise ModelError(
                f"a recogniser could not be opened (exit status {process.exitcode})",
                cure="Choose another one with --engine",
            ) from None
        except BaseException:  # it does not end for a signal, and this process waits for it at its own end
            process.kill()
            raise
        return process, ours


def _serve(pipe: Connection, make: Callable[[], Recogniser]) -> None:
    """The other process: opens the recogniser and answers until nobody asks any more."""
    for ending in (signal.SIGINT, signal.SIGTERM, getattr(signal, "SIGHUP", signal.SIGTERM)):
        signal.signal(ending, signal.SIG_IGN)  # meant for the process that asks, which then closes the pipe
    try:
        recogniser = make()
    except BenchvoiceError as error:
        pipe.send(("failed", error))
        return
    pipe.send(("done", None))
    networks: OrderedDict[str, WordNetwork] = OrderedDict()
    while True:
        try:
            what, arguments = pipe.recv()
        except (EOFError, ConnectionError):
            return
        try:
            pipe.send(("done", _done(recogniser, what, arguments, networks)))
        except _UnmetError:
            pipe.send(("unmet", None))
        except BenchvoiceError as error:
            pipe.send(("failed", error))


def _done(recogniser: Any, what: str, arguments: tuple[Any, ...], networks: OrderedDict[str, WordNetwork]) -> Any:
    if what == "name":
        return recogniser.name
    if what not in ("hear", "hear_briefly", "best"):
        return getattr(recogniser, what)(*arguments)
    utterance, network = arguments
    if isinstance(network, WordNetwork):
        networks[network.key] = network
        while len(networks) > _KEPT_NETWORKS:
            networks.popitem(last=False)
    else:
        if network not in networks:
            raise _UnmetError
        networks.move_to_end(network)
        network = networks[network]
    return getattr(recogniser, what)(utterance, network)
