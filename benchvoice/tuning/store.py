"""The folder of voice profiles: one JSON file a person, written whole or not at all. Sound is never kept."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from benchvoice.errors import ProfileError, StorageError
from benchvoice.keep.disk import write_whole
from benchvoice.tuning.profile import VoiceProfile, read_profile

__all__ = ["Profiles", "checked_person", "list_profiles", "load_profile", "profile_path", "remove_profile",
           "save_profile"]  # fmt: skip

_MOST_BYTES = 1_000_000
_CURE = "Check the folder's permissions and space"


class Profiles(NamedTuple):
    """What the folder holds: profiles by name, and what is the matter with each of the others."""

    fit: tuple[VoiceProfile, ...] = ()
    damaged: tuple[ProfileError, ...] = ()


def checked_person(name: str) -> str:
    """A person's name that is safe as a file's.

    Raises:
        ProfileError: it could leave the folder, or hide in it.
    """
    if not re.fullmatch(r"\w[\w.-]{0,39}", name) or name.endswith("."):
        cure = "Use up to 40 letters, digits, dots, dashes and underscores, a letter or digit first"
        raise ProfileError(f"'{name}' cannot be the name of a voice profile", cure=cure)
    return name


def profile_path(name: str, folder: Path) -> Path:
    """Where the profile of that name lies, or would."""
    return folder / f"{checked_person(name)}.json"


def list_profiles(folder: Path) -> Profiles:
    """The profiles in `folder`, by name; none where it is missing.

    Raises:
        StorageError: the folder cannot be read.
    """
    fit, damaged = [], []
    for name in _names(folder):
        try:
            fit.append(_read(name, folder))
        except ProfileError as error:
            damaged.append(error)
    return Profiles(tuple(fit), tuple(damaged))


def load_profile(name: str, folder: Path, engines: Mapping[str, str] | None = None) -> VoiceProfile:
    """The profile of that name.

    Args:
        name: the person's.
        folder: of the profiles.
        engines: the versions that are installed; a profile of others is refused. None to take any.

    Raises:
        ProfileError: there is none of that name (those known are listed), it is damaged, or of other engines.
        StorageError: the folder cannot be read.
    """
    path = profile_path(name, folder)
    if not path.is_file():
        known = _names(folder)
        cure = f"Known are: {', '.join(known)}" if known else f"None is stored yet; make it: benchvoice tune {name}"
        raise ProfileError(f"there is no voice profile called '{name}' in {folder}", cure=cure)
    found = _read(name, folder)
    if engines is not None and found.engines != engines:
        packages = sorted({*found.engines, *engines})
        changed = [each for each in packages if found.engines.get(each) != engines.get(each)]
        told = ", ".join(
            f"{each} {found.engines.get(each, 'missing')}, now {engines.get(each, 'missing')}" for each in changed
        )
        what = f"this voice profile was made with other recognisers ({told})"
        cure = f"Tune again: benchvoice tune {name}; or leave --tuned-to out"
        raise ProfileError(what, file=path, field="engines", cure=cure)
    return found


def save_profile(profile: VoiceProfile, folder: Path) -> Path:
    """Keep a profile, in place of an earlier one of that name; the file, which is whole or as it was before.

    Raises:
        StorageError: it cannot be written.
    """
    path = profile_path(profile.name, folder)
    try:
        write_whole(path, profile.model_dump_json(indent=1).encode() + b"\n")
    except StorageError as error:
        raise StorageError(error.what, file=error.file, cure=_CURE) from error
    return path


def remove_profile(name: str, folder: Path) -> Path:
    """Remove the profile of that name, damaged or not; the file that is gone.

    Raises:
        ProfileError: there is none.
        StorageError: it cannot be removed.
    """
    path = profile_path(name, folder)
    if not path.is_file():
        load_profile(name, folder)  # says which there are
    try:
        path.unlink()
    except OSError as error:
        what = f"the voice profile cannot be removed ({error.strerror or error})"
        raise StorageError(what, file=path, cure=_CURE) from None
    return path


def _names(folder: Path) -> list[str]:
    try:
        return sorted(path.stem for path in folder.iterdir() if path.suffix == ".json" and path.name[0] != ".")
    except FileNotFoundError:
        return []
    except OSError as error:
        what = f"the voice profiles cannot be read ({error.strerror})"
        raise StorageError(what, file=folder, cure=_CURE) from None


def _read(name: str, folder: Path) -> VoiceProfile:
    path = folder / f"{name}.json"
    cure = "Mend it, or remove it with benchvoice tune --reset NAME"
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
        if len(data) > _MOST_BYTES:
            raise ProfileError(f"the voice profile is too large (more than {_MOST_BYTES} bytes)", file=path, cure=cure)
        found = read_profile(data.decode("utf-8"), file=str(path))
    except UnicodeDecodeError as cause:
        what = f"the voice profile is damaged: not UTF-8 text (byte {cause.start})"
        raise ProfileError(what, file=path, cure=cure) from None
    except OSError as cause:
        what = f"the voice profile cannot be read ({cause.strerror})"
        raise ProfileError(what, file=path, cure="Check its permissions") from None
    if found.name != name:
        what = f"the voice profile is damaged: it is of '{found.name}'"
        raise ProfileError(what, file=path, field="name", cure="Give the file that name again")
    return found
