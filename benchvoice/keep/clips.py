"""Clips: the sound of an utterance, kept beside the journal so that a doubtful reading can be heard again."""

from __future__ import annotations

import io
from pathlib import Path

from benchvoice.keep.disk import write_whole
from benchvoice.records import RATE_HZ, Samples

__all__ = ["keep_clip"]


def keep_clip(folder: Path, seq: int, samples: Samples) -> str:
    """Keeps one utterance as FLAC, without loss, and on the disk before this returns.

    Args:
        folder: the job's folder.
        seq: the number that the utterance's `heard` event will have.
        samples: mono int16 at 16 kHz.

    Returns:
        The clip's name relative to `folder`, "clips/000012.flac".

    Raises:
        StorageError: no permission, or the disk is full.
    """
    import soundfile

    sound = io.BytesIO()
    soundfile.write(sound, samples, RATE_HZ, subtype="PCM_16", format="FLAC")
    name = f"clips/{seq:06d}.flac"
    write_whole(folder / name, sound.getvalue())
    return name
