"""Plans made lately, kept by the contents of their frame files.

A plan follows from its frame file alone, so visitors may share it; nothing else is kept between them.
"""

import threading
from collections import OrderedDict

import streamlit

from ropewalk.bike.reading import loads
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError, RopewalkError
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import Progress, plan

#: most plans that are kept
MOST_PLANS = 24


class Shelf:
    """The latest plans by the contents of their frame files; safe to use from several threads.

    Parameters
    ----------
    most : int
        How many are kept; the one not asked for longest goes first.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._plans: OrderedDict[bytes, JobPlan] = OrderedDict()

    def get(self, contents: bytes) -> JobPlan | None:
        """Return the plan kept for a frame file, or None."""
        with self._lock:
            if contents in self._plans:
                self._plans.move_to_end(contents)
            return self._plans.get(contents)

    def put(self, contents: bytes, job: JobPlan) -> None:
        """Keep a plan."""
        with self._lock:
            self._plans[contents] = job
            self._plans.move_to_end(contents)
            while len(self._plans) > self._most:
                self._plans.popitem(last=False)


@streamlit.cache_resource(max_entries=1, show_spinner=False)
def _shelf() -> Shelf:
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
    try:
        job = plan(frame, progress=progress, before=None if before is None else shelf.get(before))
    except RopewalkError as error:
        raise FrameFileError(one_line(f"{shortened_path(where)}: {error}")) from error
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        # A fault of the planner's own must not take the visitor's bike away.
        what = f"ropewalk failed by a fault of its own ({type(error).__name__}): please report it with this file"
        raise FrameFileError(one_line(f"{shortened_path(where)}: {what}")) from error
    shelf.put(contents, job)
    return job
