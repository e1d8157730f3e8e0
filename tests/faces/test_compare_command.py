"""``ropewalk compare``: tables, JSON, spreadsheet and chart tell the same; bad input is one line."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import makers
import numpy as np
import pytest
from commands import printed, refused_with
from frametext import to_toml
from printedtexts import check_texts
from promised import breaches
from rich.console import Console
from workbench import CALIPER, FRONT_STOP, LEVER, LEVERS, REAR_STOP, bench_frame
from workbench import line as bench_line

from ropewalk.bike.fleet import find
from ropewalk.bike.reading import read
from ropewalk.cli.comparison import print_comparisons
from ropewalk.drawing.frictionchart import chart_drawn, chart_scene, efficiency_at, friction_chart
from ropewalk.drawing.paper import NARROW, WIDE
from ropewalk.drawing.scene import Circle, Polyline
from ropewalk.errors import ChoiceError, OutputError
from ropewalk.workshop.compare import Comparison, compare
from ropewalk.workshop.comparereport import COLUMNS, compared_as_csv, compared_as_json_object
from ropewalk.workshop.entrants import contests_of_files, contests_of_options

NUMBER = {"type": "number"}
MAYBE = {"type": ["number", "null"]}
TEXT = {"type": "string", "minLength": 1}


def table(required: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"type": "object", "required": list(required), "additionalProperties": False, "properties": required, **more}


def rows(of: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"type": "array", "items": of, **more}


OR_NONE = {"type": ["object", "null"]}
FIGURED = table({"value": NUMBER, "sigma": {"type": "number", "minimum": 0}})
BY_CONDITION = table(dict.fromkeys(("new", "worn", "corroded"), FIGURED), **OR_NONE)
LOST = table({"value": NUMBER, "sigma": NUMBER, "share_of_pull": MAYBE, "left_mm": MAYBE})
PIECE = table(
    {
        "tag": {"type": "string", "pattern": "^[A-Z][0-9]+$"},
        **dict.fromkeys(("from", "to", "housing"), TEXT),
        "window_mm": {"type": ["array", "null"], "items": NUMBER, "minItems": 2, "maxItems": 2},
        "target_mm": NUMBER,
        "first_cut_mm": MAYBE,
        "sigma_mm": NUMBER,
        "ends": rows(TEXT, minItems=2, maxItems=2),
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
OPTION = table(
    {
        "name": TEXT,
        "file": TEXT,
        "rank": {"type": ["integer", "null"], "minimum": 1},
        "tied_with": rows(TEXT),
        "why": TEXT,
        "pieces": rows(PIECE),
        **dict.fromkeys(("housing_mm", "turn_deg"), NUMBER),
        "least_radius_mm": MAYBE,
        "least_radius_at": {"type": "object", "additionalProperties": NUMBER},
        "efficiency": BY_CONDITION,
        "least_efficiency": BY_CONDITION,
        "release": table(
            {
                "reserve_mu": MAYBE,
                "sigma": MAYBE,
                "at": {"type": "object", "required": ["steer_deg"], "additionalProperties": NUMBER},
                "spring_N": NUMBER,
                "needed_N": NUMBER,
                "arrives_N": BY_CONDITION,
                "shares": rows(table({"stretch": TEXT, "share": NUMBER})),
                "text": TEXT,
            },
            **OR_NONE,
        ),
        "lost_motion": table(dict.fromkeys(("new", "worn", "corroded"), LOST), **OR_NONE),
        "shifting": table(
            {
                "step": {"type": ["string", "null"]},
                "step_mm": MAYBE,
                "hysteresis_mm": BY_CONDITION,
                "share_of_step": table(dict.fromkeys(("new", "worn", "corroded"), MAYBE)),
                "steering_mm": NUMBER,
            },
            **OR_NONE,
        ),
        "low_points": rows(table({"from": TEXT, "to": TEXT, "depth_mm": NUMBER})),
        "parts": rows(table({"item": TEXT, "count": {"type": "integer", "minimum": 1}})),
        "findings": rows(FINDING),
    }
)
SCHEMA = table(
    {
        "format": {"const": 1},
        "bike": TEXT,
        "comparisons": rows(
            table(
                {
                    "line": TEXT,
                    "work": {"enum": ["brake", "shift", "dropper", "lockout", "hose"]},
                    "by": {"enum": ["efficiency", "reserve", "lost-motion", "length"]},
                    "condition": {"enum": ["new", "worn", "corroded"]},
                    "hand_force_N": NUMBER,
                    "ranked_by": TEXT,
                    "options": rows(OPTION, minItems=2),
                    "differences": rows(
                        table(
                            {
                                "first": TEXT,
                                "second": TEXT,
                                "value": MAYBE,
                                "sigma": NUMBER,
                                "unit": {"enum": ["1", "mm", "log"]},
                                "tie": {"type": "boolean"},
                            }
                        )
                    ),
                }
            ),
            minItems=1,
        ),
        "limits": rows(TEXT, minItems=1),
        "cautions": rows(TEXT, minItems=1),
    }
)

BENCH_STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]
HOSE_LEVER = {"name": "lever", "part": "drop-bar hydraulic lever", "side": "left", "along": 215}
HOSE = makers.frame(
    lever=[HOSE_LEVER],
    line=[
        bench_line(
            [LEVER, {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, front"}],
            work="hose",
            inner=None,
            housing="hydraulic hose",
        )
    ],
)


@cache
def gravel(by: str = "efficiency") -> tuple[Comparison, ...]:
    files = [(name, read(find(name))) for name in ("gravel-outside", "gravel-ports", "gravel-headset")]
    return tuple(compare(contest, by=by) for contest in contests_of_files(files))


@cache
def shift() -> tuple[Comparison, ...]:
    """Return a derailleur line compared in two housings and one that may not be used for it."""
    frame = read(find("touring"))
    (line,) = (one for one in frame.line if one.name == "rear derailleur")
    text = line.model_dump(by_alias=True)
    options = [{"name": "wider", "housing": "lengthwise shift 5.0"}, {"name": "brake's", "housing": "spiral brake 5.0"}]
    changed = type(line).model_validate({**text, "option": options, "indexing": "9 speed, short step"})
    lines = tuple(changed if one is line else one for one in frame.line)
    contests = contests_of_options("touring", frame.model_copy(update={"line": lines}), "rear derailleur")
    return tuple(compare(contest) for contest in contests)


def shown(compared: tuple[Comparison, ...], width: int) -> str:
    stream = io.StringIO()
    print_comparisons(compared, Console(file=stream, width=width, highlight=False, markup=False, emoji=False))
    return stream.getvalue()


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run(bench: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    return partial(printed, capsys)


@pytest.fixture
def refused(bench: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    return partial(refused_with, capsys)


# JSON and spreadsheet.


@pytest.mark.parametrize("compared", [gravel, shift])
def test_the_object_has_its_promised_keys_and_no_others(compared: Callable[[], tuple[Comparison, ...]]) -> None:
    told = compared_as_json_object(compared())
    assert breaches(json.loads(json.dumps(told, allow_nan=False)), SCHEMA) == []


def test_every_key_of_the_object_is_told_in_its_description() -> None:
    described = compared_as_json_object.__doc__ or ""

    def keys(schema: Any) -> set[str]:
        own = set(schema.get("properties", {})) if isinstance(schema, dict) else set()
        inner = schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ()
        return own.union(*(keys(one) for one in inner)) if inner else own

    for key in keys(SCHEMA) - {"grade", "where", "unit", "text", "value", "limit"}:
        assert f"``{key}``" in described, key


def test_object_and_spreadsheet_hold_the_comparisons_own_figures() -> None:
    (compared,) = gravel()
    told = compared_as_json_object(gravel())["comparisons"][0]
    lines = list(csv.DictReader(io.StringIO(compared_as_csv(gravel()))))
    assert tuple(lines[0]) == COLUMNS
    for one, standing, option, row in zip(compared.candidates, compared.standings, told["options"], lines, strict=True):
        assert (option["name"], option["rank"], option["why"]) == (one.name, standing.rank, standing.why)
        assert (row["option"], int(row["rank"]), row["why"]) == (one.name, standing.rank, standing.why)
        assert option["efficiency"]["worn"]["value"] == pytest.approx(one.efficiency["worn"].value, abs=5e-5)
        assert float(row["efficiency_worn"]) == option["efficiency"]["worn"]["value"]
        assert float(row["release_reserve_mu"]) == option["release"]["reserve_mu"]
        assert float(row["housing_mm"]) == option["housing_mm"] == pytest.approx(one.housing, abs=0.05)
        assert [float(cut) for cut in row["first_cuts_mm"].split(";")] == [p["first_cut_mm"] for p in option["pieces"]]
        assert sum(share["share"] for share in option["release"]["shares"]) == pytest.approx(1.0, abs=1e-3)
    assert [option["rank"] for option in told["options"]] == sorted(option["rank"] for option in told["options"])


def test_what_may_not_be_built_has_no_rank_in_any_form() -> None:
    told = compared_as_json_object(shift())["comparisons"][0]
    last = told["options"][-1]
    assert (last["name"], last["rank"], last["tied_with"]) == ("brake's", None, [])
    assert all(piece["first_cut_mm"] is None and piece["window_mm"] is None for piece in last["pieces"])
    row = list(csv.DictReader(io.StringIO(compared_as_csv(shift()))))[-1]
    assert (row["rank"], row["first_cuts_mm"], int(row["stops"])) == ("", "", 1)
    assert re.search(r"^- brake's +not ranked: settle the stop first: ", shown(shift(), 200), re.MULTILINE)


def test_shifts_stand_against_the_pull_of_a_click() -> None:
    for option in compared_as_json_object(shift())["comparisons"][0]["options"]:
        shifting = option["shifting"]
        # the catalogue's pull per click of nine sprockets in short steps
        assert shifting["step_mm"] == 2.5
        for condition, figure in shifting["hysteresis_mm"].items():
            assert shifting["share_of_step"][condition] == pytest.approx(figure["value"] / 2.5, abs=1e-3)
    assert "of a click of 2.5 mm" in shown(shift(), 2000)


def test_cells_that_look_like_formulas_are_guarded() -> None:
    frame = bench_frame(bench_line(BENCH_STATIONS, name="=1+1", option=[{"name": "@x", "inner": "brake 1.6"}]))
    compared = [compare(contest) for contest in contests_of_options("bench", frame)]
    lines = list(csv.DictReader(io.StringIO(compared_as_csv(compared))))
    assert {row["line"] for row in lines} == {"'=1+1"}
    assert {row["option"] for row in lines} == {"as written", "'@x"}


# Tables.


@pytest.mark.parametrize("width", [60, 80, 100, 132, 2000])
@pytest.mark.parametrize("compared", [gravel, shift])
def test_the_tables_keep_their_width_and_lose_nothing(
    compared: Callable[[], tuple[Comparison, ...]], width: int
) -> None:
    text = shown(compared(), width)
    assert max(map(len, text.splitlines())) <= width
    flat = " ".join(text.split())
    (one,) = compared()
    for candidate, standing in zip(one.candidates, one.standings, strict=True):
        assert " ".join(standing.why.split()) in flat
        for piece in candidate.plan.pieces:
            if piece.first_cut is not None:
                assert f"{piece.tag} {piece.first_cut:.0f} mm" in flat
        assert f"{candidate.efficiency['worn'].value:.0%} (± " in flat
        assert f"{math.degrees(candidate.plan.turn):.0f}°" in flat
    for caution in one.cautions:
        assert caution in flat
    assert "capstan" in flat and "…" not in text


def test_a_shared_rank_is_written_with_an_equals_sign() -> None:
    frame = bench_frame(bench_line(BENCH_STATIONS, option=[{"name": "twin", "inner": "brake 1.5"}]))
    (contest,) = contests_of_options("bench", frame)
    text = shown((compare(contest),), 100)
    assert re.search(r"^1= as written .*a tie with twin", text, re.MULTILINE)
    assert re.search(r"^1= twin .*a tie with as written: nothing tells them apart", text, re.MULTILINE)


# The chart.


def test_the_curves_are_the_capstan_rule_and_the_rings_stand_at_the_reserve() -> None:
    (compared,) = gravel()
    scene = chart_scene([compared])
    rings = [shape for shape in scene.shapes if isinstance(shape, Circle)]
    assert len(rings) == 3
    axis = next(shape for shape in scene.shapes if isinstance(shape, Polyline) and shape.role == "dimension").points
    left, bottom, right, top = axis[1, 0], axis[1, 1], axis[2, 0], axis[0, 1]
    for place, (one, ring) in enumerate(zip(compared.candidates, rings, strict=True)):
        assert one.wire is not None
        turn = sum(float(stretch.turn[one.wire.home]) for stretch in one.wire.stretches)
        mu = (float(ring.centre[0]) - left) / (right - left) * 0.4
        assert one.plan.friction is not None
        assert mu == pytest.approx(one.plan.friction.release_reserve, abs=1e-9)
        assert (float(ring.centre[1]) - bottom) / (top - bottom) == pytest.approx(math.exp(-mu * turn), abs=1e-9)
        assert efficiency_at(one.wire, 0.2) == pytest.approx(math.exp(-0.2 * turn), rel=1e-12)
        curves = [
            shape
            for shape in scene.shapes
            if isinstance(shape, Polyline)
            and shape.line == place
            and shape.role.startswith("curve")
            and len(shape.points) > 2
        ]
        drawn = np.concatenate([curve.points for curve in curves])
        share = (drawn[:, 1] - bottom) / (top - bottom)
        assert share == pytest.approx(np.exp(-turn * 0.4 * (drawn[:, 0] - left) / (right - left)), abs=1e-9)
    roles = {shape.role for shape in scene.shapes if isinstance(shape, Polyline) and shape.line is not None}
    assert roles == {"curve 0", "curve 1", "curve 2"}, "strokes differ by their dashes too"


def test_the_chart_is_written_whole_in_every_form() -> None:
    drawn = chart_drawn(gravel(), ".svg")
    assert drawn == chart_drawn(gravel(), ".SVG")
    text = "".join(ElementTree.fromstring(drawn.decode()).itertext())
    assert all(name in text for name in ("1. outside", "2. port to port", "3. headset", "corroded", "comes back to μ"))
    assert chart_drawn(gravel(), ".png")[:4] == b"\x89PNG"
    assert chart_drawn(gravel(), ".pdf")[:4] == b"%PDF"
    assert friction_chart(gravel()).get_size_inches()[0] == pytest.approx(190.0 / 25.4)
    with pytest.raises(OutputError):
        chart_drawn(gravel(), ".gif")


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_texts_of_the_chart_stay_on_its_paper(width: float) -> None:
    for compared in (gravel(), shift()):
        scene = chart_scene(compared, width)
        assert scene.width == width
        check_texts(scene)
        told = " ".join(label.text for label in scene.labels())
        assert "…" not in told and all(one.name in told for one in compared[0].candidates)


def test_a_hose_can_be_compared_by_length_but_not_charted() -> None:
    longer = HOSE.model_copy(update={"name": f"{HOSE.name}, other"})
    (contest,) = contests_of_files([("one", HOSE), ("two", longer)])
    by_length = compare(contest, by="length")
    assert [one.rank for one in by_length.standings] == [1, 1]
    by_efficiency = compare(contest)
    assert [one.rank for one in by_efficiency.standings] == [None, None]
    assert all("a hose has no wire" in one.why for one in by_efficiency.standings)
    told = compared_as_json_object([by_length])
    assert breaches(json.loads(json.dumps(told, allow_nan=False)), SCHEMA) == []
    assert told["comparisons"][0]["options"][0]["efficiency"] is None
    assert "first cut" in shown((by_length,), 80)
    with pytest.raises(ChoiceError, match="a hose has no wire"):
        chart_scene([by_length])


# The command.


def test_a_bike_of_the_fleet_is_compared_in_every_form(run: Callable[..., str], bench: Path) -> None:
    options = ("--options", "full housing,as written", "--by", "length", "--condition", "new", "--hand", "120")
    text = run("compare", "touring", "rear brake", *options, "--csv", "out.csv", "--chart", "out.svg")
    assert text.startswith("Compared: rear brake, Quay tourer\nRanked by length of housing")
    assert text.endswith("out.csv is written\nout.svg is written\n")
    told = json.loads(run("compare", "touring", "rear brake", *options, "--json"))
    assert breaches(told, SCHEMA) == []
    (compared,) = told["comparisons"]
    assert (compared["by"], compared["condition"], compared["hand_force_N"]) == ("length", "new", 120.0)
    assert [one["name"] for one in compared["options"]] == ["as written", "full housing"]
    rows_ = list(csv.DictReader(io.StringIO((bench / "out.csv").read_text(encoding="utf-8"))))
    assert [row["option"] for row in rows_] == ["as written", "full housing"]
    assert ElementTree.parse(bench / "out.svg").getroot().tag.endswith("svg")


def test_without_a_line_all_that_hold_options_are_compared(run: Callable[..., str], bench: Path) -> None:
    option = [{"name": "unlined", "housing": "unlined spiral brake 5.0"}]
    lines = [bench_line(BENCH_STATIONS, name=name, option=option) for name in ("brake", "second brake")]
    lines.append(bench_line(BENCH_STATIONS, name="third brake"))
    (bench / "bike.toml").write_text(to_toml(_frame_tables(lines)))
    told = json.loads(run("compare", "bike.toml", "--json"))
    assert [one["line"] for one in told["comparisons"]] == ["brake", "second brake"]
    # the tags are those of the bike's own cut list
    assert {piece["tag"][0] for piece in told["comparisons"][1]["options"][0]["pieces"]} == {"B"}


def _frame_tables(lines: list[dict[str, Any]]) -> dict[str, Any]:
    levers = [{**LEVERS["drop"], "name": f"lever {number}"} for number in range(len(lines))]
    named = [
        {**line, "lever": lever["name"], "station": line["station"]} for line, lever in zip(lines, levers, strict=True)
    ]
    return {**makers.frame_dict(), "lever": levers, "line": named}


def test_cut_takes_the_option_that_is_asked_for(run: Callable[..., str]) -> None:
    as_written = json.loads(run("cut", "touring", "--json"))
    taken = json.loads(run("cut", "touring", "--option", "rear brake=full housing", "--json"))
    pieces = [
        next(line for line in job["lines"] if line["name"] == "rear brake")["pieces"] for job in (as_written, taken)
    ]
    assert [len(one) for one in pieces] == [2, 1]
    assert "rear brake (full housing, brake, " in run("cut", "touring", "--option", "rear brake=full housing")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ["touring", "rear brak"],
            '"rear brak" is no line of Quay tourer and no frame file: did you mean "rear brake"?',
        ),
        (["touring", "tourin"], '"tourin" is no line of Quay tourer and no frame file: did you mean "touring"?'),
        (["tourin"], 'tourin: there is no such file and no such bike in the fleet: did you mean "touring"?'),
        (
            ["touring", "rear brake", "--options", "ful housing,as written"],
            'no option "ful housing": did you mean "full',
        ),
        (["touring", "rear brake", "--options", "full housing"], "one option alone cannot be compared"),
        (["touring", "front brake"], 'line "front brake" has no options to compare'),
        (["gravel-outside"], "Estuary gravel, outside: no line holds options to compare"),
        (["gravel-outside", "front brake", "rear brake"], "are different lines, which cannot be compared"),
        (["gravel-outside", "touring"], "only routings of one bike can be compared"),
        (["gravel-outside", "gravel-outside"], '"gravel-outside" is named twice'),
        (
            ["gravel-outside", "gravel-ports", "--options", "a,b"],
            "--options chooses among the options of one frame file",
        ),
        (["gravel-outside", "away/bike.toml"], "away/bike.toml: there is no such file"),
        (["touring", "--by", "reserv"], '--by is "reserv": did you mean "reserve"?'),
        (["touring", "--condition", "wet"], '--condition is "wet": choose new, worn or corroded'),
        (
            ["touring", "--hand", "451"],
            '--hand is "451": it has to be a number between 1 and 450 N, the force of the l',
        ),
        (["touring", "--hand", "0"], '--hand is "0": it has to be a number between 1 and 450 N'),
        (["touring", "--hand", "nan"], '--hand is "nan": it has to be a number'),
        (["touring", "--chart", "x.gif"], "x.gif: the name of a drawing has to end in .svg, .png or .pdf"),
        (["touring", "--chart", "x.svg", "--csv", "x.svg"], "--csv and --chart both name x.svg"),
        (["touring", "--csv", "none/x.csv"], "none/x.csv: cannot be written"),
    ],
)
def test_bad_input_is_one_line(arguments: list[str], said: str, refused: Callable[..., str]) -> None:
    assert said in refused("compare", *arguments)


@pytest.mark.parametrize(
    ("option", "said"),
    [
        (["rear brake"], '--option is "rear brake": write LINE=OPTION, such as "rear brake=crossed"'),
        (["rear brake=ful housing"], 'line "rear brake" has no option "ful housing": did you mean "full housing"?'),
        (["rear brak=full housing"], 'Quay tourer has no line "rear brak": did you mean "rear brake"?'),
        (["rear brake=full housing", "rear brake=as written"], '--option names line "rear brake" twice'),
    ],
)
def test_an_option_that_cut_cannot_take_is_one_line(option: list[str], said: str, refused: Callable[..., str]) -> None:
    asked = [word for one in option for word in ("--option", one)]
    assert said in refused("cut", "touring", *asked)
    assert '--hand is "500"' in refused("cut", "touring", "--hand", "500")


def test_the_frame_file_is_not_written_over(refused: Callable[..., str], bench: Path) -> None:
    (bench / "bike.toml").write_bytes(find("touring").read_bytes())
    assert "bike.toml: is the frame file itself" in refused("compare", "bike.toml", "--csv", "bike.toml")
    assert (bench / "bike.toml").read_bytes() == find("touring").read_bytes()


def test_a_routing_that_cannot_be_planned_is_told_by_its_file(refused: Callable[..., str], bench: Path) -> None:
    text = find("gravel-outside").read_text(encoding="utf-8")
    odd = text.replace('housing = "spiral brake 5.0"', 'housing = "spiral brak 5.0"')
    (bench / "odd.toml").write_text(odd, encoding="utf-8")
    said = refused("compare", "gravel-ports", "odd.toml", "rear brake")
    assert said.startswith('odd: line "rear brake": there is no housing "spiral brak 5.0"')
