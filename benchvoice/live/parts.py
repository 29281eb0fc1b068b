"""What the live pipeline needs of the devices and of the screen, and what it tells them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from benchvoice.loop import Turn
from benchvoice.records import AudioBlock, Reply
from benchvoice.screen.view import EarState

__all__ = ["SAME_S", "USUAL", "Ear", "LiveSettings", "Named", "Source", "Speaker", "Timing", "Watcher"]


SAME_S = 0.001
"""Times that differ by less are the same, in seconds."""


class Named(Protocol):
    """What is listened to, or typed on."""

    @property
    def name(self) -> str:
        """Its name, for the journal."""
        ...


class Source(Named, Protocol):
    """A microphone. `hear.microphone.Microphone` is one; so is a recording played at its own speed."""

    @property
    def delay_s(self) -> float:
        """Seconds from a sound to its block, as the device states it."""
        ...

    @property
    def why_deaf(self) -> str:
        """Why no sound arrives, in words; empty while it does."""
        ...

    @property
    def dropped_s(self) -> float:
        """Seconds of sound lost so far."""
        ...

    def read(self, timeout_s: float) -> AudioBlock | None:
        """The next block; None where none came within `timeout_s` seconds."""
        ...


class Speaker(Protocol):
    """A voice through a device. `answer.speaker.SpeakerVoice` is one."""

    def say(self, reply: Reply) -> None:
        """Queue a reply and return at once."""

    def stop(self) -> None:
        """Fall silent and forget what is queued."""

    def pause(self) -> None:
        """Fall silent and keep what is queued, until `go_on`, `stop` or the next reply."""

    def go_on(self) -> None:
        """Go on after a pause."""

    @property
    def speaking(self) -> bool:
        """Whether sound is being made or about to be."""
        ...

    @property
    def mute_why(self) -> str:
        """Why nothing can be said, in words; empty while it can."""
        ...


@dataclass(frozen=True)
class Ear:
    """The ears just now.

    Attributes:
        state: what they do.
        why: why they are deaf, or why nothing can be said, in words; empty where all is well.
        level_dbfs: level of the last tenth of a second or so, relative to a full-scale square wave; None while deaf.
        noise_dbfs: the quietest level of the last seconds, in the same measure; None where not known.
    """

    state: EarState
    why: str = ""
    level_dbfs: float | None = None
    noise_dbfs: float | None = None


@dataclass(frozen=True)
class Timing:
    """When what happened on the way to an answer, in seconds of the monotonic clock.

    Attributes:
        voiced_until_s: the last voiced sound reached the microphone.
        wait_s: not when but how long: the quiet that was waited for on purpose.
        hearing_s: the hearing that was used began.
        heard_s: it was done.
        ended_s: the utterance was taken as ended.
        kept_s: the decision was on the disk.
        said_s: the reply was handed to the voice; None where nothing was said.
    """

    voiced_until_s: float
    wait_s: float
    hearing_s: float
    heard_s: float
    ended_s: float
    kept_s: float
    said_s: float | None


class Watcher(Protocol):
    """What shows the session to its user."""

    def turn(self, turn: Turn, timing: Timing) -> None:
        """An utterance was seen through to its answer."""

    def notice(self, reply: Reply) -> None:
        """Something was said that answers no utterance."""

    def ear(self, ear: Ear) -> None:
        """The state of the ears; called at most ten times a second."""


@dataclass(frozen=True)
class LiveSettings:
    """How long is waited for what. All in seconds.

    Attributes:
        early_s: quiet after which what was said so far is heard, on the chance that nothing follows. The speech
            detector goes on for 0.05 to 0.14 s after the sound has ended (40 synthesised readings), so that little is
            needed: in 50 s of a demo session's sentences it fell quiet once, for a frame, within a sentence. With a
            quiet of 0.06 s as many readings were accepted as with the whole, none of them wrongly, and in noise a few
            more were asked (26 of 40 against 30), which are then heard again whole.
        end_wait_s: quiet that ends an utterance.
        end_wait_whole_s: quiet after which a sentence that was heard beyond doubt is answered, where nothing could
            follow, or where the answer can be taken back should something follow.
        end_wait_sure_s: quiet after which a sentence that was heard beyond doubt, but could go on and cannot be taken
            back, is answered: a correction, say, while no question waits. Should its value go on after that, it is
            asked like the rest of any reading (`Context.follows`); a row of digits would not be, and waits the whole
            time.
        echo_tail_s: how long our own voice is still heard after it has ended.
        headset: the technician does not hear our voice through the microphone and may interrupt it.
        tones_unheard: the speech detector does not take our tones for speech, so that we can listen through them.
    """

    early_s: float = 0.02
    end_wait_s: float = 0.7
    end_wait_whole_s: float = 0.38
    end_wait_sure_s: float = 0.41
    echo_tail_s: float = 0.25
    headset: bool = False
    tones_unheard: bool = True


USUAL = LiveSettings()
"""What is waited where nobody says otherwise."""
