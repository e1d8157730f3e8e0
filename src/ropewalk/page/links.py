"""Links that reproduce what a visitor sees: the bike, or the whole frame file packed, and what each page notes.

The address in the browser is such a link, unless it would be too long, so that reloading a page loses nothing.
Whatever a link holds may be anything at all: it is refused in one line and the page goes on.
"""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

import streamlit

from ropewalk.bike.tomltext import MOST_BYTES
from ropewalk.bike.wording import one_line, shortened
from ropewalk.errors import ChoiceError
from ropewalk.page.keeping import keep, kept

#: most characters of a link; servers, and programs that pass links on, refuse longer ones, some from 64 kB on
LONGEST = 60_000
#: most characters of a file's name
_LONGEST_NAME = 255
_GIVEN, _NOTED, _BIKE = "link given", "link noted", "link of the bike"
_REFUSED, _MAKING = "link refused", "link in the making"


def pack(contents: bytes) -> str:
    """Return a file's contents so that they fit into a link.

    Examples
    --------
    >>> unpack(pack(b"format = 1")) == b"format = 1"
    True
    """
    return base64.urlsafe_b64encode(zlib.compress(contents, 9)).decode("ascii").rstrip("=")


def unpack(packed: str) -> bytes:
    """Return the contents that a link holds.

    Raises
    ------
    ChoiceError
        When they are damaged or unreasonably large; the text is one line.
    """
    try:
        held = base64.b64decode(packed + "=" * (-len(packed) % 4), altchars=b"-_", validate=True)
        opener = zlib.decompressobj()
        contents = opener.decompress(held, MOST_BYTES + 1)
    except (ValueError, binascii.Error, zlib.error):
        raise ChoiceError("the frame file in this link is damaged: copy the link again, whole") from None
    if len(contents) > MOST_BYTES:
        raise ChoiceError("the frame file in this link is too large (over 1 MB): upload the file instead")
    if not opener.eof:
        raise ChoiceError("the frame file in this link is cut short: copy the link again, whole")
    return contents


def pack_files(files: Sequence[tuple[str, bytes]]) -> str:
    """Return frame files with their names so that they fit into a link; what they have in common is packed once.

    Examples
    --------
    >>> unpack_files(pack_files([("quay.toml", b"format = 1")]), 4)
    [('quay.toml', b'format = 1')]
    """
    return pack(json.dumps([[name, contents.decode("utf-8")] for name, contents in files]).encode("ascii"))


def unpack_files(packed: str, most: int) -> list[tuple[str, bytes]]:
    """Return the frame files that a link holds, with their names.

    Raises
    ------
    ChoiceError
        When they are damaged, unreasonably large or more than so many; the text is one line.
    """
    contents = unpack(packed)
    try:
        told = json.loads(contents)
        if not isinstance(told, list) or len(told) > most:
            raise ValueError(told)
        return [_file(one) for one in told]
    except (ValueError, RecursionError):
        raise ChoiceError("the frame files in this link are damaged: copy the link again, whole") from None


def _file(told: object) -> tuple[str, bytes]:
    """Return name and contents of a file, or raise a ValueError."""
    match told:
        case [str(name), str(text)] if 0 < len(name) <= _LONGEST_NAME:
            return name, text.encode("utf-8")
        case _:
            raise ValueError(told)


def open_link() -> None:
    """Take over what the visitor's link gives, once a visit."""
    if kept(_GIVEN) is None:
        keep(_GIVEN, {name: streamlit.query_params[name] for name in streamlit.query_params})


def given(name: str) -> str | None:
    """Return what the link gives under a name, or None; it may be anything."""
    value = (kept(_GIVEN) or {}).get(name)
    return None if value is None else str(value)


def given_number(name: str, low: float, high: float, unit: str = "") -> float | None:
    """Return a number the link gives, or None where it gives none or one that cannot be; that is told by `refused`."""
    value = given(name)
    if value is None:
        return None
    try:
        number = float(value)
    except ValueError:
        number = float("nan")
    if low <= number <= high:
        return number
    refuse(name, f"write a number from {low:g} to {high:g}{unit}")
    return None


def refuse(name: str, advice: str) -> None:
    """Forget what the link gives under a name, and tell so."""
    value = given(name)
    keep(_GIVEN, {key: held for key, held in (kept(_GIVEN) or {}).items() if key != name})
    told = one_line(f'the link gives {name} as "{shortened(value or "", 40)}": {advice}')
    keep(_REFUSED, [*(kept(_REFUSED) or []), told])


def refused() -> list[str]:
    """Return in one line each what was refused since this was last asked."""
    told = kept(_REFUSED) or []
    keep(_REFUSED, None)
    return list(told)


def note(name: str, value: object) -> None:
    """Have the page's link give a value under a name; None leaves it out."""
    noted = dict(kept(_NOTED) or {})
    if value is None:
        noted.pop(name, None)
    else:
        noted[name] = str(value)
    keep(_NOTED, noted)
    # A page notes while it is made and shows its link at the end; what moves on it afterwards shows it at once.
    if not kept(_MAKING):
        show_link()


def start_noting(values: Mapping[str, str]) -> None:
    """Begin a page's link with what every page's holds: the bike."""
    keep(_BIKE, dict(values))
    keep(_NOTED, dict(values))
    keep(_MAKING, True)


def show_link() -> bool:
    """Put the link into the browser's address: the page is made.

    Returns
    -------
    bool
        Whether the link leads back to all of it. Where it would be too long it gives the bike alone, or nothing.
    """
    keep(_MAKING, None)
    noted, bike = (dict(kept(name) or {}) for name in (_NOTED, _BIKE))
    given = next((values for values in (noted, bike) if len(urlencode(values)) <= LONGEST), {})
    if dict(streamlit.query_params) != given:
        streamlit.query_params.from_dict(given)
    return given == noted
