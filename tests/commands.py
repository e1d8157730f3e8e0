"""Command lines run in process: what they print, or the one line they are refused with."""

from __future__ import annotations

import pytest

from ropewalk.cli.main import main


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Return what a command line that succeeds prints."""
    status = main(arguments)
    said = capsys.readouterr()
    assert (status, said.err) == (0, "")
    return said.out


def refused_with(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Return the line that a command line is refused with."""
    status = main(arguments)
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    assert said.err.endswith("\n") and said.err.count("\n") == 1
    assert said.err.strip().isprintable() and "Traceback" not in said.err
    return said.err.strip()
