"""Command lines run in process: what they print, or the one line they are refused with."""

from __future__ import annotations

import pytest

from ropewalk.cli.main import main


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Return what a command line that succeeds prints, but for what stood in the capture before it."""
    capsys.readouterr()
    status = main(arguments)
    said = capsys.readouterr()
    assert (status, said.err) == (0, "")
    return said.out


def refused_with(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Return the line that a command line is refused with, but for what stood in the capture before it."""
    capsys.readouterr()
    status = main(arguments)
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    return one_line_of(said.err)


def one_line_of(error: str) -> str:
    """Return what stands on standard error, which has to be one line, without its end."""
    assert error.endswith("\n") and error.count("\n") == 1
    assert error.strip().isprintable() and "Traceback" not in error
    return error.strip()
