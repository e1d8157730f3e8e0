"""The job plan as plain data: the JSON object exactly as it is published, and a spreadsheet that runs nothing."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import math
from typing import Any

import pytest
from planned import BIKES, planned
from promised import breaches
from sample_job import sample_job, sample_piece

from ropewalk.workshop.jobplan import HandsPlan, JobPlan, LengthChange, LinerPlan, SettingPlan, Step
from ropewalk.workshop.report import COLUMNS, as_csv, as_json_object

TEXT, NUMBER = {"type": "string"}, {"type": "number"}
NUMBER_OR_NULL = {"type": ["number", "null"]}


def table(**properties: Any) -> dict[str, Any]:
    """Return the schema of an object with exactly these keys."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def rows(of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": of}


def or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


POSE = {
    "type": "object",
    "properties": dict.fromkeys(("steer_deg", "fork_mm", "rear_mm", "fold_deg", "post_mm"), NUMBER),
    "additionalProperties": False,
}
PIECE = table(
    **{"tag": TEXT, "from": TEXT, "to": TEXT, "housing": TEXT},
    window_mm=or_null({"type": "array", "items": NUMBER, "minItems": 2, "maxItems": 2}),
    target_mm=NUMBER,
    first_cut_mm=NUMBER_OR_NULL,
    sigma_mm=NUMBER,
    least_radius_mm=NUMBER_OR_NULL,
    least_radius_at=POSE,
    turn_deg=NUMBER,
    why_shortest=TEXT,
    why_longest=TEXT,
    ends={"type": "array", "items": TEXT, "minItems": 2, "maxItems": 2},
)
LINE = table(
    name=TEXT,
    hand={"enum": ["left", "right", None]},
    work={"enum": ["brake", "shift", "dropper", "lockout", "hose"]},
    pieces=rows(PIECE),
    inner=or_null(table(path_mm=NUMBER, need_mm=NUMBER, stock_mm=NUMBER_OR_NULL, tail_mm=NUMBER)),
    liners=rows(
        table(
            **{"from": TEXT, "to": TEXT, "cut_mm": NUMBER, "kind": TEXT, "use": {"enum": ["liner", "guide", "sleeve"]}}
        )
    ),
    turn_deg=NUMBER,
    efficiency=or_null(table(new=NUMBER, worn=NUMBER, corroded=NUMBER)),
    release_reserve_mu=NUMBER_OR_NULL,
)
#: the object as it is published: stable between releases of one format
JOB = table(
    format={"const": 1},
    bike=TEXT,
    lines=rows(LINE),
    parts=rows(table(item=TEXT, count={"type": "integer", "minimum": 1})),
    findings=rows(
        table(
            grade={"enum": ["stop", "look", "note"]},
            where=TEXT,
            text=TEXT,
            value=NUMBER_OR_NULL,
            limit=NUMBER_OR_NULL,
            unit=TEXT,
        )
    ),
    cautions=rows(TEXT),
)


def plain(job: JobPlan, *, order: bool = False) -> dict[str, Any]:
    """Return the object as somebody else's program reads it: NaN and infinity are not JSON."""
    found: dict[str, Any] = json.loads(json.dumps(as_json_object(job, order=order), allow_nan=False))
    return found


@pytest.mark.parametrize("bike", BIKES)
def test_the_object_has_exactly_the_published_keys(bike: str) -> None:
    assert breaches(plain(planned(bike)), JOB) == []


def test_stops_hoses_and_straight_pieces_have_nulls_in_their_place() -> None:
    job = plain(sample_job())
    assert breaches(job, JOB) == []
    pieces = {piece["tag"]: piece for line in job["lines"] for piece in line["pieces"]}
    assert (pieces["B2"]["window_mm"], pieces["B2"]["first_cut_mm"]) == (None, None)
    assert pieces["C1"]["least_radius_mm"] is None
    hose = next(line for line in job["lines"] if line["name"] == "lockout hose")
    assert (hose["inner"], hose["efficiency"], hose["release_reserve_mu"], hose["hand"]) == (None,) * 4


def test_the_keys_come_in_the_published_order() -> None:
    job = plain(sample_job())
    assert list(job) == ["format", "bike", "lines", "parts", "findings", "cautions"]
    assert list(job["lines"][0]["pieces"][0]) == list(PIECE["properties"])


INNER = dict(LINE["properties"]["inner"]["anyOf"][0])


def test_a_splitter_a_setting_and_the_order_of_work_have_keys_of_their_own() -> None:
    job = sample_job()
    line = job.lines[0]
    assert line.inner is not None
    lower = dataclasses.replace(line.inner, path=812.34, stock=None)
    more = dataclasses.replace(
        line,
        lower_inner=lower,
        setting=SettingPlan(101.0, "hub", "hub"),
        steps=(Step("cut", "Cut A1.", "Cut"), Step("trim", "Cap the inner.", "Cap")),
    )
    found = plain(dataclasses.replace(job, lines=(more,)), order=True)["lines"][0]
    assert breaches(found["lower_inner"], INNER) == []
    assert (found["lower_inner"]["path_mm"], found["lower_inner"]["stock_mm"]) == (812.3, None)
    assert found["setting_mm"] == 101.0
    assert found["order"] == ["Cut A1.", "Cap the inner."]
    assert [key for key in found if key not in LINE["properties"]] == ["lower_inner", "setting_mm", "order"]


def test_hands_are_told_when_asked_for() -> None:
    changes = (
        LengthChange("front brake", "A1", 545.0, 560.0, (528.44, 546.6)),
        LengthChange("front brake", "inner", 900.0, None),
    )
    levers = (("left", "flat-bar brake lever, long pull"),)
    hands = HandsPlan("front-left", False, ("front brake",), changes, "check your local law", levers)
    assert "hands" not in plain(sample_job())
    assert plain(dataclasses.replace(sample_job(), hands=hands))["hands"] == {
        "asked": "front-left",
        "already": False,
        "moved": ["front brake"],
        "levers": [{"side": "left", "part": "flat-bar brake lever, long pull"}],
        "changes": [
            {"line": "front brake", "what": "A1", "before_mm": 545.0, "after_mm": 560.0, "target_mm": [528.4, 546.6]},
            {"line": "front brake", "what": "inner", "before_mm": 900.0, "after_mm": None, "target_mm": None},
        ],
        "caution": "check your local law",
    }


def test_a_release_reserve_without_end_is_null() -> None:
    job = sample_job()
    line = dataclasses.replace(job.lines[0], release_reserve=math.inf)
    assert plain(dataclasses.replace(job, lines=(line,)))["lines"][0]["release_reserve_mu"] is None


def test_lengths_are_told_in_tenths_and_never_as_minus_nothing() -> None:
    job = sample_job()
    piece = sample_piece("A1", "lever", "caliper", turn=-1e-9, least_radius_pose={"steer_deg": -0.01}, target=721.26)
    line = dataclasses.replace(job.lines[0], pieces=(piece,))
    found = plain(dataclasses.replace(job, lines=(line,)))["lines"][0]["pieces"][0]
    assert found["target_mm"] == 721.3
    assert str(found["turn_deg"]) == "0.0"
    assert str(found["least_radius_at"]["steer_deg"]) == "0.0"


def spreadsheet(job: JobPlan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(job))))


def test_the_spreadsheet_has_a_row_for_every_piece_inner_and_liner() -> None:
    job = sample_job()
    found = spreadsheet(job)
    assert tuple(found[0]) == COLUMNS
    assert [row["tag"] for row in found if row["item"] == "housing"] == ["A1", "B1", "B2", "C1", "C2"]
    assert sum(row["item"] == "inner" for row in found) == sum(line.inner is not None for line in job.lines)
    assert sum(row["item"] == "liner" for row in found) == sum(len(line.liners) for line in job.lines)


def test_the_spreadsheet_tells_guides_sleeves_and_both_inners_apart() -> None:
    job = sample_job()
    liners = (
        LinerPlan("brake liner", "port", "rear port", 955.0, "guide", (150.0, 150.0)),
        LinerPlan("anti-rattle sleeve", "port", "rear port", 650.0, "sleeve"),
    )
    line = dataclasses.replace(job.lines[0], liners=liners, lower_inner=job.lines[0].inner)
    rows_ = spreadsheet(dataclasses.replace(job, lines=(line,)))
    assert [(row["item"], row["first_cut_mm"]) for row in rows_ if row["item"] != "housing"] == [
        ("inner", "2000.0"),
        ("lower inner", "2000.0"),
        ("guide liner", "955.0"),
        ("sleeve", "650.0"),
    ]


@pytest.mark.parametrize("bike", BIKES)
def test_spreadsheet_and_object_say_the_same(bike: str) -> None:
    pieces = {piece["tag"]: piece for line in plain(planned(bike))["lines"] for piece in line["pieces"]}
    for row in spreadsheet(planned(bike)):
        if row["item"] == "housing":
            piece = pieces[row["tag"]]
            for column in ("first_cut_mm", "target_mm", "sigma_mm", "least_radius_mm", "turn_deg"):
                assert row[column] == ("" if piece[column] is None else str(piece[column]))
            assert [row["shortest_mm"], row["longest_mm"]] == [str(end) for end in piece["window_mm"] or ("", "")]


@pytest.mark.parametrize("trick", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1"])
def test_no_cell_is_taken_for_a_formula(trick: str) -> None:
    """A cell that begins so is run by common spreadsheets (OWASP, CSV injection; from memory)."""
    job = sample_job()
    piece = sample_piece("A1", trick, trick, housing=trick)
    line = dataclasses.replace(job.lines[0], name=trick, pieces=(piece,))
    (row, *_) = spreadsheet(dataclasses.replace(job, lines=(line,)))
    for column in ("line", "from", "to", "material"):
        assert row[column] == f"'{trick}"


def test_numbers_below_nothing_stay_numbers() -> None:
    job = sample_job()
    line = dataclasses.replace(job.lines[0], pieces=(sample_piece("A1", "lever", "caliper", target=-5.0),))
    assert spreadsheet(dataclasses.replace(job, lines=(line,)))[0]["target_mm"] == "-5.0"


def test_lines_end_alike_on_every_system() -> None:
    assert "\r" not in as_csv(sample_job())
