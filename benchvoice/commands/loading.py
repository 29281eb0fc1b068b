"""Reading the files that a command is given - board, checklist, meter - and those of the language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import Board, Meter, read_board, read_meter
from benchvoice.errors import BenchvoiceError, BoardError, GrammarError
from benchvoice.files import shipped
from benchvoice.hear.audio import sound_kind
from benchvoice.understand.language import FILES, Language, read_language
from benchvoice.understand.taken_names import taken_for

__all__ = ["language_texts", "load_board", "load_checklist", "load_language", "load_meter", "read_text"]

MOST_BYTES = 1_000_000
"""The largest board, meter or language file that is read; a real one has a few thousand."""


def read_text(path: Path, error: Callable[..., BenchvoiceError]) -> str:
    """A small text file's content.

    Args:
        path: the file.
        error: the error to raise, made with `file` and `cure`.
    """
    try:
        if path.is_dir():
            raise error("is a folder, not a file", file=path, cure="Name the file in it")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
        kind = sound_kind(data)
        if kind is not None:
            cure = "The board comes first, the recordings after it: BOARD AUDIO"
            raise error(f"is a recording ({kind}), not text", file=path, cure=cure)
        if len(data) > MOST_BYTES:
            raise error(f"is too large (more than {MOST_BYTES} bytes)", file=path, cure="Check the file's name")
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        raise error("is missing", file=path, cure="Check the name and the folder") from None
    except UnicodeDecodeError as cause:
        raise error(f"is not UTF-8 text (byte {cause.start})", file=path, cure="Save it as UTF-8 text") from None
    except OSError as cause:
        raise error(f"cannot be read ({cause.strerror})", file=path, cure="Check its permissions") from None


def load_board(path: Path) -> Board:
    """The board profile in that file. Raises BoardError."""
    language = load_language()
    text = read_text(path, BoardError)
    return read_board(text, str(path), taken_for=lambda name: taken_for(name, language))


def load_checklist(path: Path | None, board_file: Path, board: Board) -> tuple[Checklist, Path] | None:
    """The checklist in that file, else in the one that lies beside the board's ("fan.yaml": "fan.checklist.yaml").

    Returns:
        The checklist and its file; None where there is none.

    Raises:
        BoardError: it cannot be read, or gone through.
    """
    beside = board_file.with_name(f"{board_file.stem}.checklist{board_file.suffix}")
    found = path or (beside if beside.is_file() else None)
    if found is None:
        return None
    language = load_language()
    text = read_text(found, BoardError)
    return read_checklist(text, str(found), board, taken_for=lambda name: taken_for(name, language)), found


def load_meter(path: Path | None) -> Meter | None:
    """The meter in that file; None where none was given. Raises BoardError."""
    return None if path is None else read_meter(read_text(path, BoardError), str(path))


def language_texts(name: str, files: tuple[str, ...]) -> Mapping[str, str]:
    """The texts of a shipped language's data files. Raises GrammarError for one that cannot be read."""
    folder = shipped("grammars") / name
    return {file: read_text(folder / file, GrammarError) for file in files}


@cache
def load_language(name: str = "en") -> Language:
    """A shipped language's words."""
    return read_language(language_texts(name, FILES))
