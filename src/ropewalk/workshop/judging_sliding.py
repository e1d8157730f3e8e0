"""Findings of housing that slides through its stations."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.bike.poses import pose_words


def judge_sliding(study: PieceStudy, where: str) -> Iterator[Finding]:
    """Return findings on a piece's runs of sliding spans.

    Parameters
    ----------
    study : PieceStudy
    where : str
        What the piece is called in findings.
    """
    route = study.route
    windows = all(loop.shortest is not None for loop in study.loops)
    for group in study.groups:
        if group.window is None and windows:
            yield Finding(
                "stop",
                where,
                f"between {group.name} {group.why_shortest}",
                "let a station hold the housing, move it, or choose a more supple housing; no length serves every pose",
                round(group.target, 1),
                None,
                "mm",
            )
        if group.window is not None and group.squeezed:
            width = group.window[1] - group.window[0]
            yield Finding(
                "look",
                where,
                f"between {group.name} only {width:.0f} mm lie between shortest safe and longest tidy: "
                "the target is the longest tidy length there",
                "trim with care, in small steps",
                round(width, 1),
                group.trim,
                "mm",
            )
        if group.window is not None and group.tight is not None:
            tight = group.tight
            span = route.spans[tight.span]
            stations = route.line.station
            yield Finding(
                "look",
                where,
                f"housing slides until nothing pushes it: between {stations[span.start].name} and "
                f"{stations[span.end].name} it then bends to {tight.radius:.0f} mm at {pose_words(tight.pose)}",
                "let a station hold the housing there, so that the loop keeps its own length",
                round(tight.radius, 1),
                round(tight.required, 1),
                "mm",
            )
