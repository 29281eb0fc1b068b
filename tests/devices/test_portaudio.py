"""The user's terminal stays clean, whatever the libraries have to say, and errors still get through."""

from __future__ import annotations

import threading
import time

import pytest

from benchvoice.devices.portaudio import answered
from benchvoice.errors import DeviceError
from tests.answer.test_synthesis import run
from tests.sound_card import SoundCard


def test_what_libraries_write_is_dropped_and_what_python_writes_is_not() -> None:
    done = run(
        """
        import os, sys
        from benchvoice.devices.portaudio import clean_terminal
        print("before", file=sys.stderr)
        with clean_terminal:
            with clean_terminal:
                os.write(2, b"library\\n")
            print("within", file=sys.stderr)
            os.write(2, b"library\\n")
        os.write(2, b"after\\n")
        print("at the end", file=sys.stderr)
        """
    )
    assert done.returncode == 0
    assert done.stderr == "before\nwithin\nafter\nat the end\n"


def test_a_closed_stderr_is_no_error() -> None:
    done = run(
        """
        import os
        from benchvoice.devices.portaudio import clean_terminal
        os.close(2)
        with clean_terminal:
            print("fine")
        """
    )
    assert done.stdout == "fine\n"


@pytest.mark.apt
def test_a_server_that_dies_leaves_nothing_on_the_terminal(card: SoundCard) -> None:
    """PortAudio writes its complaints from the stream's own thread, when the server goes (seen)."""
    done = run(
        f"""
        import os, signal, time
        from benchvoice.hear.microphone import Microphone
        microphone = Microphone()
        os.kill({card.server_id}, signal.SIGKILL)
        while not microphone.why_deaf:
            time.sleep(0.05)
        time.sleep(0.6)
        microphone.close()
        print("noticed")
        """,
        environment=card.environment,
    )
    assert (done.stdout, done.stderr) == ("noticed\n", "")
    card.kill()
    card.start()


def test_a_call_that_hangs_is_given_up() -> None:
    with pytest.raises(DeviceError, match=r"the sound system does not answer\. Restart the sound server"):
        answered(lambda: time.sleep(5), timeout_s=0.05)


def test_what_a_call_returns_or_raises_comes_through() -> None:
    assert answered(lambda: None) is None
    assert answered(threading.current_thread) is not threading.current_thread()
    with pytest.raises(ZeroDivisionError, match="division by zero"):
        answered(lambda: 1 / 0)
