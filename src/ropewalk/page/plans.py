"""Plans made lately, kept by the contents of their frame files.

A plan follows from its frame file alone, so visitors may share it; nothing else is kept between them.
"""

import threading
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Generic, TypeVar

import streamlit

from ropewalk.bike.reading import loads
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError, RopewalkError
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import Progress, plan

#: most plans that are kept
MOST_PLANS = 24
Held = TypeVar("Held")


class Shelf(Generic[Held]):
    """The latest plans, or what else costs time, by what they follow from; safe to use from several threads.

    Parameters
    ----------
    most : int
        How many are kept; the one not asked for longest goes first.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._plans: OrderedDict[bytes, Held] = OrderedDict()
        self._making: dict[bytes, threading.Lock] = {}

    def get(self, contents: bytes) -> Held | None:
        """Return what is kept for a frame file's contents, or None."""
        with self._lock:
            if contents in self._plans:
                self._plans.move_to_end(contents)
            return self._plans.get(contents)

    @contextmanager
    def making(self, contents: bytes) -> Iterator[None]:
        """Hold others off who want to plan the same frame file meanwhile: they wait, then find it kept."""
        with self._lock:
            turn = self._making.setdefault(contents, threading.Lock())
        try:
            with turn:
                yield
        finally:
            with self._lock:
                self._making.pop(contents, None)

    def put(self, contents: bytes, held: Held) -> None:
        """Keep it."""
        with self._lock:
            self._plans[contents] = held
            self._plans.move_to_end(contents)
            while len(self._plans) > self._most:
                self._plans.popitem(last=False)


@streamlit.cache_resource(max_entries=1, show_spinner=False)
def _shelf() -> Shelf[JobPlan]:
    return Shelf(MOST_PLANS)


def planned(contents: bytes, where: str, progress: Progress, before: bytes | None = None) -> JobPlan:
    """Return the plan of a frame file, made now or kept from before.

    Parameters
    ----------
    contents : bytes
        What the file holds.
    where : str
        What to call it in messages.
    progress : callable
        Told what is being done and which share of the work is behind; not called when the plan was kept.
    before : bytes, optional
        A frame file planned before, such as from before an edit: lines that are the same are not studied again.

    Raises
    ------
    FrameFileError
        When it cannot be read or planned; the text is one line that begins with `where`.
    """
    shelf = _shelf()
    kept = shelf.get(contents)
    if kept is not None:
        return kept
    frame = loads(contents, where)
    with shelf.making(contents):
        job = shelf.get(contents)
        if job is None:
            with telling_faults(where):
                job = plan(frame, progress=progress, before=None if before is None else shelf.get(before))
            shelf.put(contents, job)
    return job


@contextmanager
def telling_faults(where: str) -> Iterator[None]:
    """Turn whatever goes wrong while a frame file is planned into a `FrameFileError` of one line that begins so."""
    try:
        yield
    except RopewalkError as error:
        raise FrameFileError(one_line(f"{shortened_path(where)}: {error}")) from error
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        # A fault of the planner's own must not take the visitor's bike away.
        what = f"ropewalk failed by a fault of its own ({type(error).__name__}): please report it with this file"
        raise FrameFileError(one_line(f"{shortened_path(where)}: {what}")) from error
