"""What the page remembers of one visitor, whichever page is shown: in the session, which nobody else sees."""

from __future__ import annotations

from typing import Any

import streamlit

# Keys of widgets vanish when another page is shown; these are no widget's.
_PREFIX = "kept: "


def kept(key: str, default: Any = None) -> Any:
    """Return what was kept under a key, or the default."""
    return streamlit.session_state.get(_PREFIX + key, default)


def keep(key: str, value: Any) -> None:
    """Keep a value for this visitor; None forgets it."""
    if value is None:
        streamlit.session_state.pop(_PREFIX + key, None)
    else:
        streamlit.session_state[_PREFIX + key] = value


def remembered(key: str, default: Any) -> str:
    """Return a widget's key, its last value set again when the widget comes back with its page.

    Parameters
    ----------
    key : str
        The widget's key; the value is kept by `remember`.
    default : object
        Its value when there is none yet.
    """
    streamlit.session_state.setdefault(key, kept(key, default))
    return key


def remember(key: str) -> None:
    """Keep the value a widget has now."""
    keep(key, streamlit.session_state[key])
