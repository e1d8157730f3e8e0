"""``ropewalk ports``: list and JSON tell the same ports, at every width; bad input is one line."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from frametext import changed, to_toml
from planned import planned
from promised import breaches
from rich.console import Console

from ropewalk.cli.main import main
from ropewalk.cli.portlist import print_ports
from ropewalk.workshop.cautions import CAUTIONS, PORT_CAUTIONS
from ropewalk.workshop.portplan import plan_ports
from ropewalk.workshop.portreport import ports_as_json_object

NUMBER = {"type": "number"}
MAYBE = {"type": ["number", "null"]}
OVER_0 = {"type": "number", "exclusiveMinimum": 0}
TEXT = {"type": "string", "minLength": 1}
BEND = {
    "type": ["object", "null"],
    "required": ["span", "angle_deg", "radius_mm", "at"],
    "additionalProperties": False,
    "properties": {"span": TEXT, "angle_deg": NUMBER, "radius_mm": MAYBE, "at": {"type": "string"}},
}


def table(required: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"type": "object", "required": list(required), "additionalProperties": False, "properties": required, **more}


def rows(of: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"type": "array", "items": of, **more}


CHECK = table(
    {
        "figure": TEXT,
        "value": MAYBE,
        "low": MAYBE,
        "high": MAYBE,
        "unit": TEXT,
        "grade": {"enum": ["stop", "look", "note", None]},
        "reason": TEXT,
    }
)
OUTLINE = table(
    {
        **dict.fromkeys(
            ("diameter_mm", "length_mm", "width_mm", "chord_mm", "through_length_mm", "area_share"), OVER_0
        ),
        "template_mm": rows(rows(NUMBER, minItems=2, maxItems=2), minItems=36),
    },
    type=["object", "null"],
)
PORT = table(
    {
        **dict.fromkeys(("line", "station", "type", "tube", "from", "facing", "passes", "passage"), TEXT),
        **dict.fromkeys(("along_mm", "clock", "lean_deg", "skew_deg", "passes_mm", "wanted_mm"), NUMBER),
        **dict.fromkeys(("from_head_mm", "sleeve_mm", "hole_mm"), MAYBE),
        "outline": OUTLINE,
        "welds": rows(table({"to": TEXT, "towards": TEXT, "distance_mm": NUMBER, "is_end": {"type": "boolean"}})),
        "inside": BEND,
        "outside": BEND,
        "water": table(
            {"wall_up_deg": NUMBER, "mouth_up_deg": NUMBER, "from_top_deg": MAYBE, "above_lowest_mm": NUMBER}
        ),
        "checks": rows(CHECK, minItems=3),
    }
)
RUN = table(
    {
        **dict.fromkeys(("line", "from", "to", "what"), TEXT),
        "through": rows(TEXT),
        "carries": {"enum": ["housing", "hose", "liner"]},
        **dict.fromkeys(("length_mm", "slack_mm", "least_radius_mm", "guide_mm", "sleeve_mm", "liner_mm"), MAYBE),
        "order": rows(TEXT),
    }
)
FINDING = table(
    {
        "grade": {"enum": ["stop", "look", "note"]},
        "where": TEXT,
        "text": TEXT,
        "value": MAYBE,
        "limit": MAYBE,
        "unit": {"type": "string"},
    }
)
SCHEMA = table(
    {
        "format": {"const": 1},
        "bike": TEXT,
        "ports": rows(PORT),
        "runs": rows(RUN),
        "findings": rows(FINDING),
        "cautions": rows(TEXT, minItems=1),
    }
)


def listed(width: int, line: str | None = None) -> str:
    """Return the list of the road bike's ports as a terminal of that width shows it, without colours."""
    text = io.StringIO()
    console = Console(file=text, width=width, force_terminal=True, no_color=True, color_system=None, markup=False)
    print_ports(plan_ports(planned("road"), line), console)
    return text.getvalue()


def test_the_json_object_has_the_keys_it_promises(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports", "road", "--json"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    found = json.loads(said.out)
    assert breaches(found, SCHEMA) == []
    stations = [(port["line"], port["station"]) for port in found["ports"]]
    assert ("rear brake", "front port") in stations
    assert len(set(stations)) == len(stations) >= 6
    assert found["cautions"] == [*PORT_CAUTIONS, *CAUTIONS]


def test_the_template_is_as_long_and_wide_as_the_hole() -> None:
    for port in ports_as_json_object(plan_ports(planned("road")))["ports"]:
        along, around = zip(*port["outline"]["template_mm"], strict=True)
        # 72 points of a smooth curve miss its ends by a thousandth
        assert max(along) - min(along) == pytest.approx(port["outline"]["length_mm"], rel=2e-3, abs=0.02)
        assert max(around) - min(around) == pytest.approx(port["outline"]["width_mm"], rel=2e-3, abs=0.02)


def test_the_list_and_the_object_tell_the_same() -> None:
    found = ports_as_json_object(plan_ports(planned("road")))
    text = " ".join(listed(2000).split())
    for port in found["ports"]:
        assert f"{port['station']}, {port['line']} " in text
        assert f"{port['outline']['length_mm']:.1f} long" in text
    for run in found["runs"]:
        assert f"{run['length_mm']:.0f} mm from port to port" in text
        assert f"{run['guide_mm']:.0f} mm" in text
    for finding in found["findings"]:
        assert finding["where"] in text
    for caution in found["cautions"]:
        assert caution in text


@pytest.mark.parametrize("width", [60, 80, 132])
def test_the_list_fits_and_keeps_its_figures(width: int) -> None:
    lines = listed(width).splitlines()
    assert max(len(line) for line in lines) <= width
    for figure in ("20 to 30°", "5.5 mm or more", "12% at most", "65.3 mm"):
        assert any(figure in line for line in lines)


def test_in_a_pipe_rows_stay_whole(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports", "road", "--line", "Rear Brake"]) == 0
    lines = capsys.readouterr().out.splitlines()
    row = next(line for line in lines if "weld to head tube" in line)
    assert "65.3 mm" in row and "25 mm or more" in row and "better 30" in row
    assert not any(line != line.rstrip() for line in lines)
    assert not any("derailleur" in line for line in lines)


def test_the_cautions_on_drilling_are_said() -> None:
    said = " ".join(PORT_CAUTIONS)
    for word in (
        "destroy a frame",
        "warranty",
        "maker",
        "Never drill or file a composite",
        "Deburr",
        "grommet",
        "local law",
    ):
        assert word in said


@pytest.mark.parametrize("arguments", [["touring"], ["road", "--line", "front brake"]])
def test_without_ports_one_line_says_so(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports", *arguments]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.count("\n") == 1
    assert "no ports" in said.out
    assert main(["ports", *arguments, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert breaches(found, SCHEMA) == []
    assert (found["ports"], found["runs"], found["findings"]) == ([], [], [])


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["road", "--line", "rear brakes"], 'did you mean "rear brake"?'),
        (["road", "--line", "gramophone"], "its lines are front brake, rear brake"),
        (["roadd"], "road"),
        (["road", "--lines", "rear brake"], "No such option"),
        ([], "Missing argument"),
    ],
)
def test_bad_input_is_one_line(arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert says in said.err


def test_a_frame_that_cannot_be_planned_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "wrong.toml"
    path.write_text(to_toml(changed(chart={"stack": 900})), encoding="utf-8")
    assert main(["ports", str(path)]) == 2
    said = capsys.readouterr()
    assert (said.out, said.err.count("\n")) == ("", 1)
