"""A job's copy: whole, beside its clips, and never in the place of another job."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchvoice.errors import JobBusyError, JournalError, StorageError
from benchvoice.keep.copies import copy_job
from benchvoice.keep.journal import JOURNAL_NAME, Journal, read_journal
from tests.keep.builders import kiln_job, utterances


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A job with a clip."""
    with Journal.open(tmp_path / "kiln-0007") as journal:
        for group in utterances(kiln_job()):
            journal.append(group)
    (tmp_path / "kiln-0007" / "clips").mkdir()
    (tmp_path / "kiln-0007" / "clips" / "000007.flac").write_bytes(b"fLaC")
    return tmp_path / "kiln-0007" / JOURNAL_NAME


def test_a_copy_is_as_whole_as_what_it_was_made_from(journal: Path, tmp_path: Path) -> None:
    copy = copy_job(journal, tmp_path / "copy")
    assert copy == tmp_path / "copy" / JOURNAL_NAME
    assert read_journal(copy) == read_journal(journal)
    assert read_journal(copy).integrity.seal == "holds"
    assert (tmp_path / "copy" / "clips" / "000007.flac").read_bytes() == b"fLaC"
    names = {path.name for path in (tmp_path / "copy").iterdir()}
    assert names - {"journal.lock"} == {JOURNAL_NAME, "journal.seal", "clips"}


def test_a_journal_is_its_own_copy(journal: Path) -> None:
    before = journal.stat().st_mtime_ns
    assert copy_job(journal, journal.parent) == journal
    assert journal.stat().st_mtime_ns == before


@pytest.mark.parametrize("name", [JOURNAL_NAME, "record.json", "record.html"])
def test_another_job_is_never_overwritten(name: str, journal: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / name).write_text("another job's")
    with pytest.raises(JournalError, match=r"would overwrite the record of the job in .*other\. Name another --job"):
        copy_job(journal, tmp_path / "other")
    assert (tmp_path / "other" / name).read_text() == "another job's"


def test_a_job_that_is_open_elsewhere_is_left_alone(journal: Path, tmp_path: Path) -> None:
    with (
        Journal.open(tmp_path / "other"),
        pytest.raises(JobBusyError, match="another benchvoice has this job open"),
    ):
        copy_job(journal, tmp_path / "other")


def test_a_file_in_the_way_of_the_copy(journal: Path, tmp_path: Path) -> None:
    (tmp_path / "other").write_text("a file")
    with pytest.raises(StorageError, match="a file is in the way of this folder"):
        copy_job(journal, tmp_path / "other")
