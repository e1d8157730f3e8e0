"""Starting a new bike: the nearest of the fleet, moved to the size that is known of it."""

from __future__ import annotations

import streamlit

from ropewalk.bike.fleet import FleetBike
from ropewalk.bike.starting import Size, kinds, nearest_bikes, started_from
from ropewalk.bike.wording import one_line
from ropewalk.errors import FrameFileError, RopewalkError
from ropewalk.page.bikes import Source, planned_with_bar, take_text
from ropewalk.page.downloads import file_stem
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, put, tag

_WHAT = (
    "A frame file to begin with: the fleet's bike that is nearest, moved to this size. What is not measured yet says "
    "so in the file: measure it before you cut."
)
_SIZES = "Stack and reach, or else the seat tube from the bottom bracket to its upper end; a tape will do."
_COMPLAINT = "start complaint"
_NUMBERS = (("stack", "Stack, mm"), ("reach", "Reach, mm"), ("seat_tube", "Seat tube, mm"))


def show_start() -> None:
    """Show the form that starts a new bike."""
    with streamlit.expander("Start a new bike from the nearest of the fleet", key="start a bike"):
        put(tag("p", _WHAT), tag("p", _SIZES, css="rw-quiet"))
        left, right = streamlit.columns(2)
        with left:
            name = streamlit.text_input("Its name", key="start name", placeholder="New bike", max_chars=60)
        with right:
            kind = streamlit.selectbox("Kind of bike", kinds(), key="start kind", filter_mode=None)
        numbers: dict[str, float | None] = {}
        for column, (key, label) in zip(streamlit.columns(3), _NUMBERS, strict=True):
            with column:
                numbers[key] = streamlit.number_input(label, value=None, step=1.0, format="%g", key=f"start {key}")
        size = Size(one_line(name or "").strip() or "New bike", **numbers)
        near = {bike.name: bike for bike in nearest_bikes(kind, size)}
        # The nearest comes first whenever the size changes; until then the choice stays.
        picked = streamlit.selectbox(
            "Start from, the nearest first",
            list(near),
            format_func=lambda bike: near[bike].title,
            key=f"start from {kind} {sorted(numbers.items())}",
            filter_mode=None,
        )
        if streamlit.button("Start this bike", key="start", type="primary"):
            _start(near[picked], size)
        if kept(_COMPLAINT):
            complain(str(kept(_COMPLAINT)))


def _start(bike: FleetBike, size: Size) -> None:
    """Make the new bike the visitor's, or keep what is wrong with it."""
    source = Source("", f"{file_stem(size.name)}.toml", b"")
    try:
        if size.stack is None and size.reach is None and size.seat_tube is None:
            raise FrameFileError("give stack and reach of the new bike, or the length of its seat tube")
        text = started_from(bike, size)
        planned_with_bar(Source("", source.file_name, text.encode()))
        take_text(text, source)
    except RopewalkError as error:
        keep(_COMPLAINT, f"{error}. The bike stays as it was.")
    else:
        keep(_COMPLAINT, None)
        streamlit.rerun()
