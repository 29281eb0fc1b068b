"""The folder of added models.

An added model is one folder, NAME: `NAME/NAME/` holds the files, `NAME/manifest.json` the archive's SHA-256 and each
file's. It appears by a single rename, so a model that is there was whole when it was added. What has become of it since
is seen each time it is looked up: one that is damaged is named, and costs the others nothing.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from filelock import FileLock

from benchvoice.errors import ModelError, StorageError
from benchvoice.hear.vosk_model import is_model, require_model
from benchvoice.models.unpacking import unpack

__all__ = ["InstalledModel", "Models", "add_model", "find_model", "list_models", "verify_model"]

Progress = Callable[[int, int], None]
"""Called with the bytes done so far and the bytes in all (of the archive's contents)."""

_ADDING = ".adding-"
_MANIFEST = "manifest.json"
_CHUNK = 1 << 20


@dataclass(frozen=True)
class InstalledModel:
    """A model that has been added, and can be bound to a grammar.

    Attributes:
        name: the name to call it by.
        path: the folder to give to the engine.
        sha256: of the archive it came from, in hexadecimal.
        size_bytes: of its files, in bytes, when it was added.
    """

    name: str
    path: Path
    sha256: str
    size_bytes: int


class Models(NamedTuple):
    """What a folder of models holds.

    Attributes:
        fit: the models that can be used, by name.
        damaged: what is the matter with each of the others, and how to mend it.
    """

    fit: tuple[InstalledModel, ...] = ()
    damaged: tuple[ModelError, ...] = ()


def list_models(folder: Path) -> Models:
    """The models in `folder`; none where the folder is missing.

    Raises:
        StorageError: the folder cannot be read.
    """
    fit, damaged = [], []
    for name in _names(folder):
        try:
            fit.append(_installed(folder / name))
        except ModelError as error:
            damaged.append(error)
    return Models(tuple(fit), tuple(damaged))


def add_model(
    archive: Path, folder: Path, *, expect_sha256: str | None = None, progress: Progress | None = None
) -> InstalledModel:
    """Unpack a zip or tar archive of a Vosk model into `folder`, which is made if need be.

    Args:
        archive: the downloaded file.
        folder: where models are kept.
        expect_sha256: the checksum the archive should have, in hexadecimal; compared before anything is unpacked.
        progress: told how far it is.

    Raises:
        ModelError: the archive is missing, damaged, unsafe, too large, no model, one that cannot take a grammar, not
            the one expected, or a model of that name from another archive is there already. Nothing is left behind.
        StorageError: the folder cannot be written.
    """
    sha256 = _archive_sha256(archive)
    if expect_sha256 is not None and expect_sha256.strip().lower() != sha256:
        raise ModelError(
            f"the SHA-256 is {sha256}, not {expect_sha256.strip().lower()}", file=archive, cure="Download it again"
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with FileLock(folder / ".lock"):
            for abandoned in folder.glob(f"{_ADDING}*"):
                shutil.rmtree(abandoned)
            return _add(archive, folder, sha256, progress)
    except OSError as error:
        raise StorageError(
            f"the model cannot be written ({error.strerror or error})", file=folder, cure="Check permissions and space"
        ) from None


def _add(archive: Path, folder: Path, sha256: str, progress: Progress | None) -> InstalledModel:
    work = Path(tempfile.mkdtemp(prefix=_ADDING, dir=folder))
    try:
        unpack(archive, work / "unpacked", progress)
        root = _model_root(work / "unpacked", archive)
        name = _model_name(root, work / "unpacked", archive)
        whole = work / "whole"
        whole.mkdir()
        model = root.rename(whole / name)
        require_model(model, archive=archive)
        target = folder / name
        if target.exists():
            present = _installed(target)
            if present.sha256 == sha256:
                return present
            raise ModelError(
                f"another model named {name} is installed already", file=archive, cure=f"Remove the folder {target}"
            )
        manifest = {"name": name, "archive": archive.name, "sha256": sha256, "files": _files(model)}
        (whole / _MANIFEST).write_text(json.dumps(manifest, indent=1), encoding="utf-8")
        whole.rename(target)
        return _installed(target)
    finally:
        shutil.rmtree(work)


def verify_model(name: str, folder: Path) -> InstalledModel:
    """Compare every file of a model with the checksum taken when it was added.

    Raises:
        ModelError: no such model, or files that are missing, changed or were added since; the first few are named.
    """
    place = _by_name(name, folder)
    expected = _manifest(place).files
    found = _files(place / name)
    wrong = [f"{path} is missing" for path in expected if path not in found]
    wrong += [f"{path} has changed" for path in expected if path in found and found[path] != expected[path]]
    wrong += [f"{path} was not part of it" for path in found if path not in expected]
    if wrong:
        more = f" and {len(wrong) - 3} more" if len(wrong) > 3 else ""
        raise ModelError(f"model {name} is not as it was added: {', '.join(wrong[:3])}{more}", cure=_mend(place))
    return _installed(place)


def find_model(name_or_path: str | Path, folder: Path) -> Path:
    """The model folder meant: a folder itself, an archive (added to `folder` first), or the name of an added model.

    Raises:
        ModelError: none of these, or the archive cannot be added.
        StorageError: the folder cannot be written.
    """
    path = Path(name_or_path)
    if path.is_dir():
        return path
    if path.is_file():
        return add_model(path, folder).path
    return _installed(_by_name(str(name_or_path), folder)).path


def _model_root(unpacked: Path, archive: Path) -> Path:
    if is_model(unpacked):
        return unpacked
    roots = [path for path in sorted(unpacked.iterdir()) if is_model(path)]
    if len(roots) != 1:
        what = "holds no Vosk model (am/final.mdl)" if not roots else "holds more than one model"
        raise ModelError(f"the archive {what}", file=archive, cure="Give the archive as it was downloaded")
    return roots[0]


def _model_name(root: Path, unpacked: Path, archive: Path) -> str:
    name = root.name if root != unpacked else re.sub(r"\.(zip|tar|tgz|tar\.\w+)$", "", archive.name)
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name):
        raise ModelError(f"'{name}' cannot be a model's name", file=archive, cure="Rename the archive or its folder")
    return name


def _archive_sha256(archive: Path) -> str:
    try:
        if archive.is_dir():
            raise ModelError("this is a folder, not an archive", file=archive, cure="Use it directly with --model")
        return _sha256(archive)
    except FileNotFoundError:
        raise ModelError("there is no such archive", file=archive, cure="Check the name") from None
    except OSError as error:
        raise ModelError(f"it cannot be read ({error.strerror})", file=archive, cure="Check its permissions") from None


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _files(model: Path) -> dict[str, list[object]]:
    """Each file's SHA-256 and size in bytes, by its path within the model."""
    return {
        path.relative_to(model).as_posix(): [_sha256(path), path.stat().st_size]
        for path in sorted(model.rglob("*"))
        if path.is_file()
    }


def _names(folder: Path) -> list[str]:
    try:
        return sorted(path.name for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise StorageError(
            f"the models cannot be read ({error.strerror})", file=folder, cure="Check its permissions"
        ) from None


def _by_name(name: str, folder: Path) -> Path:
    there = _names(folder)
    if name not in there:
        known = f"Installed are: {', '.join(there)}" if there else "None is installed; add one: benchvoice models add"
        raise ModelError(f"there is no model named {name}", cure=known)
    return folder / name


class _Manifest(NamedTuple):
    """What is known of a model since it was added: the archive's SHA-256, and each file's with its size in bytes."""

    sha256: str
    files: dict[str, list[object]]


def _manifest(place: Path) -> _Manifest:
    path = place / _MANIFEST
    try:
        written = json.loads(path.read_text(encoding="utf-8"))
        sha256, files = written["sha256"], written["files"]
        if not isinstance(sha256, str) or not isinstance(files, dict):
            raise TypeError
        for entry in files.values():
            digest, size_bytes = entry
            if not isinstance(digest, str) or not isinstance(size_bytes, int):
                raise TypeError
    except FileNotFoundError:
        what = f"model {place.name} has no {_MANIFEST}: it was not added by benchvoice, or was damaged since"
        raise ModelError(what, file=place, cure=_mend(place)) from None
    except (OSError, ValueError, KeyError, TypeError):
        what = f"the {_MANIFEST} of model {place.name} is damaged"
        raise ModelError(what, file=path, cure=_mend(place)) from None
    return _Manifest(sha256, files)


def _installed(place: Path) -> InstalledModel:
    manifest = _manifest(place)
    model = place / place.name
    if not is_model(model):
        what = f"model {place.name} is damaged: its acoustic model (am/final.mdl) is gone"
        raise ModelError(what, file=place, cure=_mend(place))
    require_model(model)
    size_bytes = sum(int(str(entry[1])) for entry in manifest.files.values())
    return InstalledModel(place.name, model, manifest.sha256, size_bytes)


def _mend(place: Path) -> str:
    return f"Delete the folder {place} and add the model again"
