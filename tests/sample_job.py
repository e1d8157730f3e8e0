"""A job plan made by hand, with everything a cut list may have to show: long names, stops, liners, a hose."""

from __future__ import annotations

from typing import Any

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import Term
from ropewalk.bike.parts import catalogue
from ropewalk.workshop.jobplan import InnerPlan, JobPlan, LinePlan, LinerPlan, Part, PiecePlan

_INNER = InnerPlan("brake 1.5", 1720.2, 1880.4, 2000.0, 30.0, ())


def sample_piece(tag: str, start: str, end: str, **changes: Any) -> PiecePlan:
    """Return a piece with changes; its terms add up to its target."""
    figures: dict[str, Any] = {
        "housing": "spiral brake 5.0",
        "window": (711.2, 752.4),
        "target": 721.3,
        "first_cut": 730.0,
        "sigma": 3.1,
        "quantile": 725.1,
        "least_radius": 64.2,
        "least_radius_pose": {"steer_deg": 90.0},
        "turn": 3.7,
        "why_shortest": "pulls at 62° right: any shorter and it bends tighter than the advised 50 mm",
        "why_longest": "turns 30° more than at its shortest",
        "ends": ("long ferrule 5", "ferrule 5"),
        **changes,
    }
    terms = (
        Term(f"in the ferrule at {start}", 10.0),
        Term(f"loop, {start} to {end}", figures["target"] - 20.04, "shortest safe 691.2 and 10 to trim"),
        Term(f"in the ferrule at {end}", 10.04),
    )
    return PiecePlan(tag=tag, start=start, end=end, terms=terms, **figures)


def sample_job() -> JobPlan:
    """Return the plan; its geometry is left out."""
    stopped = {"window": None, "first_cut": None, "quantile": None, "target": 181.0, "least_radius": 28.3}
    straight = {"least_radius": None, "least_radius_pose": {}, "window": (1671.0, 1712.0), "target": 1681.0}
    long_names = sample_piece(
        "C1",
        "right lever under the tape of the drop bar",
        "cable stop with barrel adjuster on the left of the down tube",
        housing="lengthwise shift 4.0",
        first_cut=1690.0,
        quantile=1682.0,
        **straight,
    )
    rear = {"window": (270.0, 312.0), "target": 280.0, "first_cut": 285.0, "quantile": 281.0}
    return JobPlan(
        bike="Quay tourer",
        lines=(
            _line("front brake", "right", [sample_piece("A1", "right lever", "front caliper")]),
            _line(
                "rear brake",
                "left",
                [
                    sample_piece("B1", "left lever", "front top tube stop"),
                    sample_piece("B2", "rear top tube stop", "rear caliper", **stopped),
                ],
            ),
            _line(
                "rear derailleur",
                "right",
                [long_names, sample_piece("C2", "chainstay stop", "rear derailleur", housing="link", **rear)],
                liners=(LinerPlan("shift liner", "port at the head tube", "port at the shell", 455.0),),
            ),
            _line("lockout hose", None, [], inner=None),
        ),
        parts=(Part("spiral brake 5.0, metres begun", 3), Part("ferrule 5", 12)),
        findings=(
            Finding(
                "stop", "rear brake, B2", "no length keeps the kink radius", "change the routing", 28.3, 30.0, "mm"
            ),
            Finding("look", "Quay tourer", "lock assumed: the file gives none", "measure it", 90.0, None, "°"),
            Finding("note", "front brake", "the inner breaks at 1.80 times its pull", "renew it", 1.8, 1.0, "1"),
        ),
        cautions=("This is an estimate to plan a cut. It does not prove that a brake works.",),
        model=None,  # type: ignore[arg-type]
        routing=(),
        loops={},
        catalogue=catalogue(),
    )


def _line(
    name: str,
    hand: str | None,
    pieces: list[PiecePlan],
    *,
    inner: InnerPlan | None = _INNER,
    liners: tuple[LinerPlan, ...] = (),
) -> LinePlan:
    return LinePlan(
        name=name,
        work="brake" if inner else "hose",
        hand=hand,
        lever="lever",
        pieces=tuple(pieces),
        inner=inner,
        liners=liners,
        turn=4.1,
        efficiency={"new": 0.78, "worn": 0.65, "corroded": 0.44} if inner else None,
        release_reserve=0.32 if inner else None,
        friction=None,
        lost={},
        shifting=None,
    )
