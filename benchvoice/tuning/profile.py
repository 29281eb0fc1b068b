"""A person's voice profile as it is stored: what was measured, and what of it changes how this person is heard."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from benchvoice.errors import ProfileError
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.person import NETWORK_GAP, STRANGER_GAP, Alike, Pair, Person

__all__ = ["Outcome", "StoredPair", "StoredTake", "VoiceProfile", "read_profile", "variants"]

Outcome = Literal["right", "asked", "ignored", "wrong"]
"""How a prompt ends: taken as it was meant, asked, taken for other talk, or taken for something else."""

_Words = Annotated[str, Field(pattern=r"^[a-z']+( [a-z']+)?$")]
_Engine = Literal["network", "sphinx"]


class _Stored(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class StoredPair(_Stored):
    """Two words, or runs of two words, that this voice says alike, and what is done about it."""

    one: _Words
    other: _Words
    alike: Literal["ask", "lead"]


class StoredTake(_Stored):
    """One prompt as it was measured.

    Attributes:
        prompt: its words.
        above_noise_db: how far speech stood above the noise, in dB.
        gap: the phoneme network's gap of the prompt, natural log per frame.
        heard: what each recogniser heard, where that was something else.
        before, after: how it ended without the profile and with it.
    """

    prompt: str
    above_noise_db: float
    gap: float
    heard: dict[str, str]
    before: Outcome
    after: Outcome


class VoiceProfile(_Stored):
    """A profile. Its fields are those of the file.

    Attributes:
        format: of the file.
        name: whose voice.
        made: when, UTC.
        version: of benchvoice.
        engines: packages and versions it was measured with.
        network_gap, stranger_gap: as `Person` has them.
        pronunciations: by engine and word, ARPAbet sounds separated by spaces; each one of `variants`.
        pairs: what this voice says alike.
        takes: the prompts that were measured.
    """

    format: Literal[1] = 1
    name: Annotated[str, Field(min_length=1)]
    made: AwareDatetime
    version: str
    engines: dict[str, str]
    network_gap: Annotated[float, Field(ge=NETWORK_GAP.least, le=NETWORK_GAP.most)] | None = None
    stranger_gap: Annotated[float, Field(ge=STRANGER_GAP.least, le=STRANGER_GAP.most)] | None = None
    pronunciations: dict[_Engine, dict[str, tuple[str, ...]]] = {}
    pairs: tuple[StoredPair, ...] = ()
    takes: tuple[StoredTake, ...] = ()

    @property
    def person(self) -> Person:
        """How this person is heard."""
        return Person(
            self.name,
            self.network_gap,
            self.stranger_gap,
            {
                engine: Lexicon({word: tuple(tuple(said.split()) for said in ways) for word, ways in words.items()})
                for engine, words in self.pronunciations.items()
            },
            tuple(Pair(pair.one, pair.other, Alike(pair.alike)) for pair in self.pairs),
        )

    @property
    def changes_nothing(self) -> bool:
        """Whether this person is heard like everybody."""
        return self.person == Person(self.name)


def variants() -> Lexicon:
    """The pronunciations that a profile may add."""
    return Lexicon.shipped(file="variants.txt")


def read_profile(text: str, *, file: str) -> VoiceProfile:
    """The profile in a file's text.

    Raises:
        ProfileError: it is damaged; names the file and the field.
    """
    cure = "Mend it, or remove it with benchvoice tune --reset NAME"
    try:
        found = VoiceProfile.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        what = f"the voice profile is damaged: {first['msg'][0].lower()}{first['msg'][1:]}"
        raise ProfileError(what, file=file, field=_path(first["loc"]) or None, cure=cure) from None
    allowed = variants()
    for engine, words in found.pronunciations.items():
        for word, ways in words.items():
            for number, said in enumerate(ways):
                if tuple(said.split()) not in allowed.variants(word):
                    what = f"the voice profile is damaged: '{said}' is no known way to say '{word}'"
                    at = f"pronunciations.{engine}.{word}[{number}]"
                    raise ProfileError(what, file=file, field=at, cure=cure)
    return found


def _path(steps: tuple[int | str, ...]) -> str:
    """A field as it is written elsewhere: "pairs[2].one"."""
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps).removeprefix(".")
