"""The command line: what each command takes, and how errors become messages and exit codes.

Exit status: 0 done, also where whoever read standard output wanted no more of it (the job is finished all the same);
2 bad input with a message on standard error; 128 and the signal's number where a signal ended it, with the journal
whole: 130 for Ctrl-C, 143 for SIGTERM, 129 for SIGHUP, 141 (SIGPIPE) where nobody reads on what `listen` or `type`
prints.
"""

from __future__ import annotations

import argparse
import importlib
import math
import os
import sys
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import TextIO, cast

from benchvoice import __version__
from benchvoice.commands.interrupts import Interrupted, taken
from benchvoice.commands.misspelt import refuse
from benchvoice.commands.outlet import Outlet
from benchvoice.errors import BenchvoiceError

__all__ = ["main"]

_BAD_INPUT = 2


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    # numpy is not loaded yet: its own threads wait busily for each other, while sound is waiting to be heard
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    out, err = Outlet(sys.stdout), Outlet(sys.stderr)
    with redirect_stdout(cast(TextIO, out)), redirect_stderr(cast(TextIO, err)):
        try:
            status = _run(argv)
        finally:
            out.flush()  # now: a refusal at the interpreter's end would be told as a fault of its own
        if out.failed is not None and not out.reader_gone:
            print(f"benchvoice: standard output: {out.failed.strerror or out.failed}", file=sys.stderr)
            status = status or _BAD_INPUT
        err.flush()
    return status


def _run(argv: Sequence[str] | None) -> int:
    try:
        with taken():
            arguments, unknown = _parser().parse_known_args(argv)
            if unknown:
                refuse(arguments.of, unknown)
            del arguments.of  # what is left can be given to other processes
            if arguments.at_once and not arguments.json:
                print(arguments.at_once, flush=True)  # what comes next takes seconds
            command = importlib.import_module(f"benchvoice.commands.{arguments.module}")
            status: int = command.run(arguments)
            return status
    except BenchvoiceError as error:
        print(f"benchvoice: {error}", file=sys.stderr)
        return _BAD_INPUT
    except Interrupted as interrupt:
        kept = f"; what was confirmed is in {interrupt.journal}" if interrupt.journal else ""
        older = ""
        if interrupt.journal and interrupt.record_is_older:
            older = f"; make its record with: benchvoice record {interrupt.journal.parent}"
        print(f"benchvoice: {interrupt.what}{kept}{older}", file=sys.stderr)
        return interrupt.status
    except OSError as error:
        print(f"benchvoice: {error.filename or 'the system'}: {error.strerror or error}", file=sys.stderr)
        return _BAD_INPUT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="benchvoice",
        description="Speak a reading, hear the verdict, keep the record. Works offline.",
        epilog="Exit status: 0 done, 2 bad input, 130 interrupted (143 by SIGTERM, 129 by SIGHUP).",
    )
    parser.set_defaults(at_once="")
    parser.add_argument("--version", action="version", version=f"benchvoice {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _add_demo(commands)
    _add_hear(commands)
    _add_listen(commands)
    _add_type(commands)
    _add_replay(commands)
    _add_record(commands)
    _add_check(commands)
    _add_models(commands)
    _add_devices(commands)
    _add_score(commands)
    _add_tune(commands)
    return parser


_Commands = argparse._SubParsersAction  # the type that add_subparsers returns has no public name


def _command(
    commands: _Commands[argparse.ArgumentParser], name: str, module: str, about: str
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=about, description=about[0].upper() + about[1:] + ".")
    parser.set_defaults(module=module, of=parser)
    return parser


def _add_demo(commands: _Commands[argparse.ArgumentParser]) -> None:
    demo = _command(commands, "demo", "demo", "hear a repair from recordings that come with benchvoice")
    demo.add_argument(
        "session", nargs="?", metavar="SESSION", help="which one (default: failed_regulator, a board that is repaired)"
    )
    demo.set_defaults(attention=None)
    demo.add_argument("--list", action="store_true", help="print the sessions' names and end")
    _job_options(demo, unit=False)
    _hearing_options(demo)
    _answer_options(demo)


def _add_hear(commands: _Commands[argparse.ArgumentParser]) -> None:
    hear = _command(commands, "hear", "hear", "hear recordings as if they came from the microphone")
    hear.add_argument("board", type=Path, metavar="BOARD", help="board file (YAML)")
    hear.add_argument(
        "audio",
        nargs="+",
        metavar="AUDIO",
        help="WAV, FLAC or OGG; - is raw sound on standard input, 16 kHz mono int16",
    )
    hear.add_argument("--json", action="store_true", help="print the journal's lines and nothing else")
    _attention_option(hear)
    _checklist_option(hear)
    _meter_option(hear)
    _job_options(hear)
    _hearing_options(hear)
    _person_option(hear)
    _answer_options(hear)


def _add_listen(commands: _Commands[argparse.ArgumentParser]) -> None:
    listen = _command(commands, "listen", "listen", "listen at the bench and answer aloud")
    listen.add_argument("board", type=Path, metavar="BOARD", help="board file (YAML)")
    listen.add_argument("--input", metavar="NAME", help="the microphone: its name, part of it, or its number")
    listen.add_argument("--output", metavar="NAME", help="the loudspeaker or headset, likewise")
    listen.add_argument(
        "--headset", action="store_true", help="the microphone does not hear our voice: it may be interrupted"
    )
    listen.add_argument("--quiet", action="store_true", help="say nothing aloud; answers are shown")
    listen.add_argument("--terse", action="store_true", help="answer with verdict and value only")
    listen.add_argument(
        "--end-wait",
        type=_seconds,
        default=0.7,
        metavar="S",
        help="quiet that ends a sentence, in seconds, 0.3 to 5 (default: 0.7)",
    )
    listen.add_argument("--plain", action="store_true", help="lines instead of a screen, for screen readers and logs")
    listen.add_argument("--json", action="store_true", help="print the journal's lines and nothing else")
    listen.set_defaults(replies=None)  # spoken, never written
    listen.set_defaults(at_once="Getting ready to listen ...")
    _attention_option(listen)
    _checklist_option(listen)
    _meter_option(listen)
    _job_options(listen)
    _hearing_options(listen)
    _person_option(listen)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0.3 <= seconds <= 5:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of seconds from 0.3 to 5")
    return seconds


def _add_type(commands: _Commands[argparse.ArgumentParser]) -> None:
    type_ = _command(commands, "type", "type", "answer what is typed instead of spoken, line by line")
    type_.add_argument("board", type=Path, metavar="BOARD", help="board file (YAML)")
    type_.add_argument("--terse", action="store_true", help="answer with verdict and value only")
    type_.add_argument("--json", action="store_true", help="print the journal's lines and nothing else")
    type_.set_defaults(replies=None)  # shown, never spoken
    _checklist_option(type_)
    _meter_option(type_)
    _job_options(type_)


def _add_replay(commands: _Commands[argparse.ArgumentParser]) -> None:
    replay = _command(
        commands, "replay", "replay", "take a transcript as if it had been spoken, or fold a journal anew"
    )
    replay.add_argument("board", type=Path, metavar="BOARD", help="board file (YAML)")
    replay.add_argument(
        "transcript",
        type=Path,
        metavar="TRANSCRIPT",
        help="WebVTT, text lines with or without [hh:mm:ss], or a journal",
    )
    replay.add_argument("--json", action="store_true", help="print the journal's lines and nothing else")
    _checklist_option(replay)
    _meter_option(replay)
    _job_options(replay)
    _answer_options(replay)


def _add_record(commands: _Commands[argparse.ArgumentParser]) -> None:
    record = _command(commands, "record", "record", "write a job's record from its journal")
    record.add_argument("job", nargs="?", metavar="JOB", help="a job's folder, or its name in --jobs")
    record.add_argument(
        "--format",
        choices=("html", "csv", "json", "customer"),
        action="append",
        help="one kind only; may be repeated (customer: the page for the customer)",
    )
    record.add_argument("--customer", action="store_true", help="print the customer's page as text, and nothing else")
    record.add_argument("--schema", action="store_true", help="print the JSON Schema of the record and end")
    _jobs_option(record)


def _add_check(commands: _Commands[argparse.ArgumentParser]) -> None:
    check = _command(commands, "check", "check", "check a board file, and that every name on it can be heard")
    check.add_argument("board", type=Path, nargs="?", metavar="BOARD", help="board file (YAML)")
    check.add_argument("--schema", action="store_true", help="print the JSON Schema of a board file and end")
    check.add_argument("--meter-schema", action="store_true", help="print the JSON Schema of a meter file and end")
    check.add_argument("--checklist-schema", action="store_true", help="print that of a checklist file and end")
    _checklist_option(check)
    _meter_option(check)
    _hearing_options(check)


def _add_models(commands: _Commands[argparse.ArgumentParser]) -> None:
    models = _command(commands, "models", "models", "list, add and verify speech models for Vosk")
    actions = models.add_subparsers(title="actions", dest="action", metavar="ACTION", required=True)
    _action(actions, "list", "list the models that are installed, and what is the matter with damaged ones")
    add = _action(actions, "add", "add a model from an archive that you downloaded")
    add.add_argument("archive", type=Path, metavar="ARCHIVE", help="ZIP or tar archive of a model, as downloaded")
    add.add_argument("--sha256", metavar="CHECKSUM", help="refuse the archive unless it has this SHA-256")
    verify = _action(actions, "verify", "check that every file of a model is as it was added")
    verify.add_argument("name", metavar="NAME", help="the model's name in the list")


def _action(actions: _Commands[argparse.ArgumentParser], name: str, about: str) -> argparse.ArgumentParser:
    return actions.add_parser(name, help=about, description=about[0].upper() + about[1:] + ".")


def _add_devices(commands: _Commands[argparse.ArgumentParser]) -> None:
    devices = _command(commands, "devices", "devices", "list microphones and loudspeakers, and try them")
    devices.add_argument(
        "--try", dest="try_", action="store_true", help="listen for three seconds, say how it sounds, and speak"
    )
    devices.add_argument("--input", metavar="NAME", help="the microphone: its name, a part of it, or its number")
    devices.add_argument("--output", metavar="NAME", help="the loudspeaker, likewise")
    devices.add_argument("--json", action="store_true", help="print the result as JSON and nothing else")


def _add_score(commands: _Commands[argparse.ArgumentParser]) -> None:
    score = _command(commands, "score", "score", "measure hearing on a labelled corpus")
    score.epilog = (
        'A line of the corpus is an object such as {"audio": "a.wav", "text": "rail five reads five point one", '
        '"point": "rail 5", "value": "5.1", "unit": "V"}. For a command it has "command" in place of value and unit; '
        "for talk that is not meant for the bench, and for a note, neither. Audio is looked for beside the corpus. "
        "speaker, noise, kind (of sentence) and talk (which one it comes from) are free text to group the results by."
    )
    score.add_argument(
        "corpus", type=Path, metavar="CORPUS", help="JSON lines with audio, text and what was meant (see below)"
    )
    score.add_argument(
        "--board", type=Path, required=True, metavar="BOARD", help="board file (YAML) that the corpus was spoken for"
    )
    score.add_argument("--json", action="store_true", help="print the result as JSON and nothing else")
    score.add_argument(
        "--workers", type=_at_least_one, metavar="N", help="processes that hear at once (default: one a processor)"
    )
    score.add_argument(
        "--sweep", type=Path, metavar="SVG", help="move the thresholds too, and draw wrong against asked into this file"
    )
    score.add_argument(
        "--against", type=Path, metavar="FILE", help="say what changed since an earlier run, which --json printed"
    )
    score.add_argument(
        "--checklist", type=Path, metavar="FILE", help="the steps that the corpus goes through (YAML); none without it"
    )
    _meter_option(score)
    _hearing_options(score)
    _person_option(score)


def _add_tune(commands: _Commands[argparse.ArgumentParser]) -> None:
    tune = _command(commands, "tune", "tune", "measure how a person speaks, and keep a voice profile for --tuned-to")
    tune.add_argument(
        "name", nargs="?", metavar="NAME", help="whose voice; an earlier profile of that name is replaced"
    )
    tune.add_argument(
        "--from",
        dest="recordings",
        nargs="+",
        type=Path,
        metavar="AUDIO",
        help="recordings of the prompts in their order, or a folder of them, in place of the microphone",
    )
    tune.add_argument("--input", metavar="NAME", help="the microphone: its name, a part of it, or its number")
    tune.add_argument("--prompts", action="store_true", help="print the prompts and end")
    tune.add_argument("--list", action="store_true", help="list the profiles and end")
    tune.add_argument("--show", metavar="NAME", help="print a profile and end")
    tune.add_argument("--reset", metavar="NAME", help="remove a profile and end")
    tune.add_argument("--json", action="store_true", help="print the profile as JSON and nothing else")
    tune.set_defaults(engine="panel", model=None)


def _at_least_one(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() else 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from 1")
    return number


# --- options that several commands have ---------------------------------------------------------------------------
def _jobs_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--jobs", type=Path, default=Path("jobs"), metavar="DIR", help="folder of all jobs (default: jobs)"
    )


def _job_options(parser: argparse.ArgumentParser, *, unit: bool = True) -> None:
    _jobs_option(parser)
    parser.add_argument("--job", metavar="ID", help="the job's name; an earlier job of that name is taken up again")
    if unit:
        parser.add_argument("--complaint", metavar="TEXT", help="what the customer complains of")
        parser.add_argument("--serial", metavar="TEXT", help="the unit's serial number")
        parser.add_argument("--technician", metavar="TEXT", help="who does the work")
        parser.add_argument(
            "--came-back", action="store_true", help="the unit came back: begin another visit of its job"
        )
        parser.add_argument(
            "--known-good", metavar="JOB", help="the job of a known-good board: readings without limits are compared"
        )


def _meter_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--meter", type=Path, metavar="FILE", help="the meter's accuracy (YAML)")


def _checklist_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--checklist",
        type=Path,
        metavar="FILE",
        help="the steps to go through (YAML); without it, NAME.checklist.yaml beside NAME.yaml is taken",
    )


def _attention_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--attention",
        metavar="WORD",
        help="a word with which every sentence begins; what is said without it is not meant for the bench",
    )


def _person_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--tuned-to", metavar="NAME", help="whose voice it is: a profile that 'benchvoice tune NAME' has stored"
    )


def _hearing_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--engine",
        choices=("panel", "network", "sphinx", "moonshine", "vosk"),
        default="panel",
        help="what hears (default: panel, all that are installed, together)",
    )
    parser.add_argument(
        "--model", metavar="DIR", help="a Vosk model: its folder, its name in 'benchvoice models list', or its archive"
    )


def _answer_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--terse", action="store_true", help="answer with verdict and value only")
    parser.add_argument("--quiet", action="store_true", help="do not print what is heard and answered")
    parser.add_argument(
        "--replies", type=Path, metavar="WAV", help="write the spoken answers to this file; what was there is replaced"
    )


if __name__ == "__main__":
    sys.exit(main())
