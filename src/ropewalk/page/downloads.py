"""Files to take away: the frame file, the cut list for a spreadsheet and for programs, the drawing."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from typing import Any

import streamlit

from ropewalk.page.bikes import Source
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.ordering import as_order_csv
from ropewalk.workshop.report import as_csv, as_json_object


def offer_lists(source: Source, job: JobPlan) -> None:
    """Show the buttons that save the cut list in its forms, what to buy, and the frame file."""
    from ropewalk.drawing.phonepage import phone_page

    stem = file_stem(job.bike)
    with streamlit.container(horizontal=True, key="downloads"):
        save_button("Page for a phone, HTML", phone_page(job), f"{stem}-phone.html", "text/html")
        save_button("Cut list, CSV", as_csv(job).encode(), f"{stem}-cut-list.csv", "text/csv")
        save_button("Cut list, JSON", as_json(job).encode(), f"{stem}-cut-list.json", "application/json")
        save_button("What to buy, CSV", as_order_csv([job]).encode(), f"{stem}-to-buy.csv", "text/csv")
        save_button("Frame file", source.contents, f"{stem}.toml", "application/toml")


def as_json(job: JobPlan) -> str:
    """Return a plan as the command line prints it with ``--json``."""
    return json_text(as_json_object(job))


def json_text(shown: Mapping[str, Any]) -> str:
    """Return an object as the command line prints it with ``--json``."""
    return json.dumps(shown, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def file_stem(name: str) -> str:
    """Return a bike's name as a file may be called anywhere.

    Examples
    --------
    >>> file_stem("Łódź / Quay tourer"), file_stem("../..")
    ('odz-quay-tourer', 'bike')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "bike"


def save_button(label: str, contents: bytes, file_name: str, kind: str) -> None:
    """Show a button that saves a file."""
    streamlit.download_button(label, contents, file_name, kind, on_click="ignore", key=f"save {label}")
