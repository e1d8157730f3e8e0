"""Files that a visitor brings: where they are taken, each of them once."""

from __future__ import annotations

import streamlit
from streamlit.runtime.uploaded_file_manager import UploadedFile

from ropewalk.page.keeping import keep, kept

#: largest upload [MB]; what is read from it may be smaller still
MOST_MEGABYTES = 2


def brought(title: str, label: str, key: str, complaint: str) -> UploadedFile | None:
    """Show where a file can be brought, and return it when it has just come; on later runs it is no news.

    Parameters
    ----------
    title, label : str
        What the place is called when it is folded, and what it asks for.
    key : str
        Of the widget.
    complaint : str
        Under what it is kept what was wrong with a file: forgotten when that is taken away or another comes.
    """
    with streamlit.expander(title):
        upload = streamlit.file_uploader(label, type="toml", max_upload_size=MOST_MEGABYTES, key=key)
    seen = f"seen of {key}"
    now = None if upload is None else upload.file_id
    if now == kept(seen):
        return None
    keep(seen, now)
    keep(complaint, None)
    return upload
