"""Words for messages: text from people's files made safe to show, shortened, and the nearest known word.

Whatever a file or a command line holds goes through here before it reaches a terminal or a page.
"""

import difflib
import unicodedata
from collections.abc import Iterable

#: most characters of a name or value that a message repeats
MOST_SHOWN = 40

# Control, format (such as right-to-left overrides), surrogate and private characters, and line separators.
_UNSAFE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


def one_line(text: str) -> str:
    r"""Return text as one line without characters that steer a terminal.

    Examples
    --------
    >>> one_line("rear\nbrake")
    'rear brake'
    >>> one_line("\x1b[2Jbrake")
    '\\x1b[2Jbrake'
    """
    spaced = " ".join(text.split())
    if spaced.isascii() and spaced.isprintable():
        return spaced
    return "".join(
        character.encode("unicode_escape").decode() if unicodedata.category(character) in _UNSAFE else character
        for character in spaced
    )


def shortened(text: str, most: int = MOST_SHOWN) -> str:
    """Return text as one safe line of at most ``most`` characters.

    Examples
    --------
    >>> shortened("rear brake, full housing", most=12)
    'rear brake,…'
    """
    # Only the head is looked at, so that a megabyte of text costs nothing.
    safe = one_line(text[: 4 * most])
    return safe if len(safe) <= most and len(text) <= 4 * most else safe[: most - 1] + "…"


def shortened_path(path: str, most: int = 80) -> str:
    """Return a path as one safe line; of a long one the end is kept.

    Examples
    --------
    >>> shortened_path("frames/hire/touring.toml", most=14)
    '…/touring.toml'
    """
    safe = one_line(path[-4 * most :])
    return safe if len(safe) <= most and len(path) <= 4 * most else "…" + safe[1 - most :]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that is spelt most like ``word``, or None when none is near.

    Examples
    --------
    >>> nearest("chainstays", ["stack", "reach", "chainstay"])
    'chainstay'
    >>> nearest("colour", ["stack", "reach"]) is None
    True
    """
    by_lower = {entry.lower(): entry for entry in known}
    found = difflib.get_close_matches(word[:100].lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else None


def listed(words: Iterable[str], last: str = "or") -> str:
    """Return words as a list in a sentence.

    Examples
    --------
    >>> listed(["drop", "flat", "swept"])
    'drop, flat or swept'
    """
    every = list(words)
    return every[0] if len(every) == 1 else f"{', '.join(every[:-1])} {last} {every[-1]}" if every else "nothing"
