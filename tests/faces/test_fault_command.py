"""``ropewalk fault``: text and JSON tell the same; bad input is one line."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from commands import printed, refused_with
from planned import planned
from promised import breaches
from rich.console import Console

from ropewalk.analysis.faultfit import Interval
from ropewalk.bike.fleet import find
from ropewalk.cli.faultlist import print_fault
from ropewalk.cli.main import main
from ropewalk.workshop.fault import FaultPlan, find_fault
from ropewalk.workshop.faultchecks import Readings
from ropewalk.workshop.faultreport import fault_as_json_object

NUMBER = {"type": "number"}
MAYBE = {"type": ["number", "null"]}
TEXT = {"type": "string", "minLength": 1}
CONDITIONS = ("new", "worn", "corroded")


def table(required: dict[str, Any], *, or_none: bool = False) -> dict[str, Any]:
    kind = ["object", "null"] if or_none else "object"
    return {"type": kind, "required": list(required), "additionalProperties": False, "properties": required}


def rows(of: dict[str, Any], least: int = 0) -> dict[str, Any]:
    return {"type": "array", "items": of, "minItems": least}


INTERVAL = table({"value": NUMBER, "low": MAYBE, "high": MAYBE})
OR_NO_INTERVAL = table({"value": NUMBER, "low": MAYBE, "high": MAYBE}, or_none=True)
CULPRITS = rows({"enum": ["wire", "end", "part"]})
SCHEMA = table(
    {
        "format": {"const": 1},
        "bike": TEXT,
        "line": TEXT,
        "work": {"enum": ["brake", "shift", "dropper", "lockout"]},
        "at": {"type": "object", "required": ["steer_deg"], "additionalProperties": NUMBER},
        "turn_deg": NUMBER,
        "readings": table(
            {
                "lever_N": rows(NUMBER, 1),
                "end_N": rows(NUMBER, 1),
                "scale_N": NUMBER,
                "part_moves_N": MAYBE,
                "part_returns_N": MAYBE,
            }
        ),
        "verdict": {"enum": ["wire", "end", "part", "several", "nothing", "unclear"]},
        "faults": CULPRITS,
        "suspects": CULPRITS,
        "wire": table(
            {
                "state": {"enum": ["sound", "wire", "end", "wire and end", "wire or end", "unclear"]},
                "hindrance": {
                    "enum": [None, "one load", "near loads", "coarse", "between", "scatter", "odd drag"],
                },
                "loads": {"type": "integer", "minimum": 1},
                "friction_mu": INTERVAL,
                "expected_mu": table(dict.fromkeys(CONDITIONS, table({"value": NUMBER, "sigma": NUMBER}))),
                "looks_like": rows({"enum": list(CONDITIONS)}),
                "drag_N": OR_NO_INTERVAL,
                "known_drag_N": NUMBER,
                "drag_if_new_N": NUMBER,
            }
        ),
        "part": table(
            {
                "state": {"enum": ["sound", "sticks", "weak", "sticks and weak", "sticks or weak", "unclear"]},
                "spring_N": OR_NO_INTERVAL,
                "stick_N": OR_NO_INTERVAL,
            },
            or_none=True,
        ),
        "release": table(
            {
                "state": {"enum": ["releases", "stops", "unclear"]},
                "arrives_N": INTERVAL,
                "needed_N": NUMBER,
                "spring_N": NUMBER,
                "spring_read": {"type": "boolean"},
                "reserve_mu": MAYBE,
            },
            or_none=True,
        ),
        "text": table({"verdict": TEXT, "reasons": rows(TEXT, 1), "next": rows(TEXT), "how": rows(TEXT, 1)}),
        "limits": rows(TEXT, 1),
        "cautions": rows(TEXT, 1),
    }
)

#: one load; two loads with the moving part; readings so coarse that nothing bounds the friction from above
KINDS = {
    "one load": Readings((60.0,), (20.0,)),
    "two loads and the part": Readings((60.0, 180.0), (20.0, 62.0), 1.0, 14.0, 9.0, 30.0),
    "part moved only": Readings((60.0,), (40.0,), 1.0, 14.0),
    "coarse": Readings((9.0, 30.0), (8.5, 8.6), 8.0),
}


def fault(kind: str, bike: str = "touring", line: str = "rear brake") -> FaultPlan:
    return find_fault(planned(bike), line, KINDS[kind])


def shown(found: FaultPlan, width: int) -> str:
    stream = io.StringIO()
    print_fault(found, Console(file=stream, width=width, highlight=False, markup=False, emoji=False))
    return stream.getvalue()


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    monkeypatch.chdir(tmp_path)

    return partial(printed, capsys, "fault")


@pytest.fixture
def refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    monkeypatch.chdir(tmp_path)

    return partial(refused_with, capsys, "fault")


# JSON.


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("bike", "line"), [("touring", "rear brake"), ("touring", "rear derailleur"), ("city", "hub gear")]
)
def test_the_object_has_its_promised_keys_and_no_others(kind: str, bike: str, line: str) -> None:
    told = fault_as_json_object(fault(kind, bike, line))
    assert breaches(json.loads(json.dumps(told, allow_nan=False)), SCHEMA) == []


def test_every_key_of_the_object_is_told_in_its_description() -> None:
    described = fault_as_json_object.__doc__ or ""

    def keys(schema: Any) -> set[str]:
        own = set(schema.get("properties", {})) if isinstance(schema, dict) else set()
        inner = schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ()
        return own.union(*(keys(one) for one in inner)) if inner else own

    for key in keys(SCHEMA) - set(CONDITIONS):
        assert f"``{key}``" in described, key


def test_the_object_holds_the_finding_s_own_figures() -> None:
    found = fault("two loads and the part")
    told = fault_as_json_object(found)
    line, release = found.diagnosis.line, found.diagnosis.release
    assert line.fit.drag is not None and release is not None
    assert told["wire"]["friction_mu"]["low"] == pytest.approx(line.judged.low, abs=5e-5)
    assert told["wire"]["drag_N"]["high"] == pytest.approx(line.fit.drag.high, abs=5e-3)
    assert told["turn_deg"] == pytest.approx(math.degrees(line.turn), abs=0.05)
    assert told["release"]["arrives_N"]["value"] == pytest.approx(release.arrives.value, abs=5e-3)
    assert told["at"] == {"steer_deg": 30.0}
    assert told["text"]["verdict"] == found.verdict


def test_a_bound_that_the_readings_do_not_set_is_null_above_and_0_below() -> None:
    found = fault("coarse")
    line = found.diagnosis.line
    without = replace(line.fit, plain=Interval(0.15, -math.inf, math.inf))
    told = fault_as_json_object(replace(found, diagnosis=replace(found.diagnosis, line=replace(line, fit=without))))
    assert told["wire"]["friction_mu"] == {"value": 0.15, "low": 0.0, "high": None}
    assert breaches(told, SCHEMA) == []


# Text.


@pytest.mark.parametrize("width", [60, 80, 132, 2000])
@pytest.mark.parametrize("kind", KINDS)
def test_the_text_keeps_its_width_and_loses_nothing(kind: str, width: int) -> None:
    found = fault(kind)
    text = shown(found, width)
    assert max(map(len, text.splitlines())) <= width
    flat = " ".join(text.split())
    for sentence in (found.verdict, *found.reasons, *found.following, *found.how, *found.limits, *found.cautions):
        assert " ".join(sentence.split()) in flat
    for word in ("inf", "nan", "None", "[", "{"):
        assert word not in flat


def test_verdict_reasons_and_what_is_next_come_before_how_limits_and_cautions() -> None:
    text = shown(fault("one load"), 80)
    places = [text.index(f"\n{heading}\n") for heading in ("Why", "Next", "How to read", "Limits", "Cautions")]
    assert text.index("cannot tell which") < places[0]
    assert places == sorted(places)


def test_no_figure_below_none_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    """As much out as in, give or take the scale: friction is told from 0 on, in text and object alike."""
    asked = ("fault", "touring", "rear brake", "--lever", "40", "--end", "41")
    assert main(asked) == 0
    assert "μ 0.00 (19 times in 20 within 0.00 to" in capsys.readouterr().out
    assert main((*asked, "--json")) == 0
    friction = json.loads(capsys.readouterr().out)["wire"]["friction_mu"]
    assert friction["value"] == friction["low"] == 0.0 < friction["high"]


def test_it_tells_condition_intervals_release_and_the_brake_s_own_caution() -> None:
    flat = " ".join(shown(fault("two loads and the part"), 80).split())
    assert "60 N in, 20 N out; 180 N in, 62 N out; read 30° right" in flat
    assert "14 N move it, it returns with 9 N" in flat
    assert "That is like worn wire (here new 0.08, worn 0.15, corroded 0.25 are usual)." in flat
    assert "19 times in 20 within" in flat
    assert "it comes back by itself" in flat
    assert "A brake with its wire off does not work" in flat
    assert "by turn alone (capstan rule)" in flat


# The command.


ASKED = ("touring", "rear brake", "--lever", "60,180", "--end", "20,62")


def test_the_command_tells_the_same_in_text_and_json(run: Callable[..., str]) -> None:
    text = run(*ASKED, "--part-moves", "14", "--part-returns", "9", "--steer", "30", "--scale", "1")
    told = json.loads(
        run(*ASKED, "--part-moves", "14", "--part-returns", "9", "--steer", "30", "--scale", "1", "--json")
    )
    assert told == json.loads(json.dumps(fault_as_json_object(fault("two loads and the part"))))
    for sentence in (told["text"]["verdict"], *told["text"]["reasons"], *told["text"]["next"]):
        assert sentence in text


def test_without_a_scale_s_error_the_catalogue_s_is_taken(run: Callable[..., str]) -> None:
    told = json.loads(run(*ASKED, "--json"))
    assert told["readings"]["scale_N"] == float(planned("touring").catalogue.settings.fault.scale)
    finer = json.loads(run(*ASKED, "--scale", "0.5", "--json"))
    wide, narrow = (one["wire"]["friction_mu"]["high"] - one["wire"]["friction_mu"]["low"] for one in (told, finer))
    assert narrow < wide / 2.0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["touring", "rear brak", "--lever", "60", "--end", "20"], 'did you mean "rear brake"?'),
        (["tourin", "rear brake", "--lever", "60", "--end", "20"], 'did you mean "touring"?'),
        (["trail", "rear brake", "--lever", "60", "--end", "20"], '"rear brake" is a hose'),
        (["touring", "rear brake", "--lever", "20", "--end", "60"], "60 N come out where 20 N go in"),
        (["touring", "rear brake", "--lever", "70,72", "--end", "30,60"], "rises by less than that at the other end"),
        (["touring", "rear brake", "--lever", "0", "--end", "0"], "a reading at the lever is 0 N"),
        (["touring", "rear brake", "--lever", "-60", "--end", "20"], "a reading at the lever is -60 N"),
        (["touring", "rear brake", "--lever", "60,x", "--end", "20,20"], '--lever holds "x": write newtons'),
        (["touring", "rear brake", "--lever", "60", "--end", ""], '--end holds "": write newtons'),
        (["touring", "rear brake", "--lever", "nan", "--end", "20"], '--lever holds "nan"'),
        (["touring", "rear brake", "--lever", "1e999", "--end", "20"], '--lever holds "1e999"'),
        (["touring", "rear brake", "--lever", "60,90", "--end", "20"], "2 readings at the lever and 1 at the other"),
        (["touring", "rear brake", "--lever", "600", "--end", "20"], "600 N, which is more than a workshop's spring"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--scale", "20"], "may be wrong by 20 N"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--scale", "-1"], "the scale's error is -1 N"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--part-moves", "0"], "what moves the part is 0 N"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--part-returns", "900"], "returns with is 900 N"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--steer", "200"], '--steer is "200"'),
        (["touring", "rear brake", "--end", "20"], "Missing option '--lever'"),
        (["touring", "rear brake", "--lever", "60", "--end", "20", "--parts", "no.toml"], "no.toml"),
    ],
)
def test_bad_input_is_one_line(arguments: list[str], said: str, refused: Callable[..., str]) -> None:
    assert said in refused(*arguments)


def test_a_bike_that_cannot_be_planned_is_told_by_its_file(refused: Callable[..., str], tmp_path: Path) -> None:
    odd = find("touring").read_text(encoding="utf-8").replace('"spiral brake 5.0"', '"spiral brak 5.0"')
    (tmp_path / "odd.toml").write_text(odd, encoding="utf-8")
    said = refused("odd.toml", "rear brake", "--lever", "60", "--end", "20")
    assert said.startswith("odd.toml: ")
    assert 'there is no housing "spiral brak 5.0"' in said
