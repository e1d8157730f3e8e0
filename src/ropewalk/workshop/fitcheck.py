"""Whether what was found at a dry fit goes with the planned bike; said in one line where it does not."""

from __future__ import annotations

from ropewalk.bike.fitfile import DryFit, PieceFit
from ropewalk.bike.wording import listed, one_line, shortened, shortened_path
from ropewalk.errors import DryFitError
from ropewalk.workshop.jobplan import JobPlan, PiecePlan

#: a piece is not taken to be cut to less than this share of its target, or to more than this many times it
LEAST_SHARE, MOST_SHARE = 0.5, 2.0


def check_fit(job: JobPlan, found: DryFit, where: str) -> None:
    """Refuse what was found where it does not go with the bike.

    Parameters
    ----------
    job : JobPlan
    found : DryFit
    where : str
        What messages call the file.

    Raises
    ------
    DryFitError
        The text is one line.
    """
    if found.bike is not None and found.bike != job.bike.strip():
        raise _refusal(
            where,
            f'bike is "{shortened(found.bike)}", but this frame file is of "{shortened(job.bike)}": name the dry fit '
            "of this bike",
        )
    before = {inline.before: inline for line in job.lines for inline in line.inlines}
    for number, entry in enumerate(found.piece, start=1):
        piece = job.piece(entry.tag)
        if piece is None:
            tags = listed((piece.tag for line in job.lines for piece in line.pieces), last="and")
            raise _refusal(where, f'piece {number}, tag is "{shortened(entry.tag)}": this bike has {tags}')
        what = f"piece {number}, {piece.tag}"
        if piece.first_cut is None:
            raise _refusal(where, f"{what} must not be cut before its findings are settled: leave it out")
        _check_length(piece, entry, where, what)
        if piece.tag in before and entry.fit not in ("not tried", "fine"):
            inline = before[piece.tag]
            raise _refusal(
                where,
                f'{what}, fit is "{entry.fit}": the frame file gives its length, up to the {inline.part}; tell of '
                f"{inline.after} how the two fit, and of this one fine or not tried",
            )


def _check_length(piece: PiecePlan, entry: PieceFit, where: str, what: str) -> None:
    if not LEAST_SHARE * piece.target <= entry.as_cut <= MOST_SHARE * piece.target:
        raise _refusal(
            where,
            f"{what}, as_cut is {entry.as_cut:g} mm: its first cut is {piece.first_cut:.0f} mm, so measure it again "
            "and write millimetres",
        )


def _refusal(where: str, what: str) -> DryFitError:
    return DryFitError(one_line(f"{shortened_path(where)}: {what}"))
