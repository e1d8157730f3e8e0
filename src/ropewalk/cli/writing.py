"""Writing results to files: whole or not at all."""

import contextlib
import os
import secrets
import shutil
from pathlib import Path

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import OutputError


def check_output(path: Path, *, source: Path | None = None, called: str = "the frame file") -> None:
    """Refuse a path that cannot be written, before any work is done for it.

    Parameters
    ----------
    path : Path
        The file to be written.
    source : Path, optional
        The file that is read, which must not be overwritten.
    called : str
        What messages call that file.

    Raises
    ------
    OutputError
        When it cannot be written; the text is one line.
    """
    try:
        target = path.resolve()
        if path.name == "" or target.is_dir():
            raise _refusal(path, "is a folder: name a file in it")
        if not target.parent.is_dir():
            raise _refusal(path, "cannot be written: there is no such folder, so make it first")
        if target.exists():
            if not target.is_file():
                raise _refusal(path, "is a pipe or a device: name a file")
            if source is not None and source.exists() and target.samefile(source):
                raise _refusal(path, f"is {called} itself: name another file")
            if not os.access(target, os.W_OK):
                raise _refusal(path, "cannot be written: it is protected")
        elif not os.access(target.parent, os.W_OK):
            raise _refusal(path, "cannot be written: its folder is protected")
    except (OSError, RuntimeError, ValueError) as error:
        raise _failure(path, error) from None


def write_whole(path: Path, contents: bytes) -> None:
    """Write a file so that it is there complete or, when that fails, as it was before.

    Parameters
    ----------
    path : Path
        The file; a link is followed.
    contents : bytes
        What it shall hold.

    Raises
    ------
    OutputError
        When it cannot be written; the text is one line.
    """
    check_output(path)
    try:
        target = path.resolve()
        beside = target.with_name(f".ropewalk-{secrets.token_hex(6)}")
        try:
            with open(beside, "xb") as file:
                file.write(contents)
            if target.exists():
                shutil.copymode(target, beside)
            os.replace(beside, target)
        except BaseException:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
            raise
    except (OSError, ValueError) as error:
        raise _failure(path, error) from None


def _refusal(path: Path, what: str) -> OutputError:
    return OutputError(one_line(f"{shortened_path(str(path))}: {what}"))


def _failure(path: Path, error: Exception) -> OutputError:
    if isinstance(error, OutputError):
        return error
    reason = error.strerror if isinstance(error, OSError) and error.strerror else error
    return _refusal(path, f"cannot be written: {reason}")
