"""How whole a journal is: what was read, what a power cut left behind, what is missing."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["FIRST_PREV", "Integrity", "TornLine"]

FIRST_PREV = "0" * 64
"""What stands for the hash of the line before, on the first line."""


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class TornLine(_Frozen):
    """An unfinished end of a journal, as a power cut leaves it.

    Attributes:
        line: the line's number, counted from 1.
        n_bytes: how many bytes of it there are; 0 where whole lines vanished.
        missing: how many lines had once been confirmed and are gone (0 after a power cut: nothing was confirmed).
    """

    line: int = Field(ge=1)
    n_bytes: int = Field(ge=0)
    missing: int = Field(default=0, ge=0)

    def __str__(self) -> str:
        if self.missing:
            lines = "1 line" if self.missing == 1 else f"{self.missing} lines"
            return f"line {self.line}: {lines} that had been confirmed can no longer be read; check the last readings"
        return f"line {self.line}: unfinished, {self.n_bytes} bytes, never confirmed; say the last thing again"


class Integrity(_Frozen):
    """What reading a journal from its first line to its last has shown.

    Attributes:
        lines: whole lines, each holding the hash of the one before.
        last_sha256: SHA-256 of the last whole line, hexadecimal; 64 zeros where there is none.
        seal: whether the file's end is what was last confirmed: "holds", or "none" where the journal has no (usable)
            seal file beside it, so that a change of the very last line would go unseen.
        torn: an unfinished end that is still in the file.
        set_aside: unfinished ends of earlier sessions, kept in `journal.torn`.
        incomplete: `seq` of every utterance whose outcome is there but not all that had to follow it.
    """

    lines: int = 0
    last_sha256: str = FIRST_PREV
    seal: Literal["holds", "none"] = "none"
    torn: TornLine | None = None
    set_aside: tuple[TornLine, ...] = ()
    incomplete: tuple[int, ...] = ()

    def remarks(self) -> tuple[str, ...]:
        """What the technician should know when the journal is opened; empty where all is well."""
        cut_off = (
            f"line {seq}: what was said then was cut off before it was confirmed; say it again"
            for seq in self.incomplete
        )
        return (*((str(self.torn),) if self.torn else ()), *cut_off)
