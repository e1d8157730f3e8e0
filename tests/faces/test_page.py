"""The page shows the plan: each bike's lengths, the why, the findings; a bad upload costs one line and nothing else."""

from __future__ import annotations

import base64
import functools
import json
import random
import re
import time
import tomllib
import zlib
from concurrent.futures import ThreadPoolExecutor

import pytest
from commands import printed
from openpage import HOSTILE, Elements, body, confirm, followed, shown, start
from streamlit.testing.v1 import AppTest

from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.reading import loads, read
from ropewalk.errors import FrameFileError
from ropewalk.page import links, plans
from ropewalk.page.launch import page_script
from ropewalk.page.theme import THEME
from ropewalk.workshop.handediting import hands_changed
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

BIKES = fleet()
TOURING = next(bike for bike in BIKES if bike.name == "touring")
SOUND = TOURING.path.read_text(encoding="utf-8")


def respelt(*changes: tuple[str, str]) -> str:
    """Return the touring bike's frame file with patterns replaced, each at the first place it is found at."""
    text = SOUND
    for pattern, new in changes:
        found = re.search(pattern, text)
        assert found, pattern
        text = text[: found.start()] + new + text[found.end() :]
    return text


@functools.cache
def planned(bike: FleetBike) -> JobPlan:
    return plan(read(bike.path))


@functools.cache
def listed(bike: FleetBike) -> AppTest:
    """Return the cut list of a bike of the fleet, as a link opens it and with its levers confirmed."""
    return confirm(start("cut-list", bike=bike.name))


def pick(page: AppTest, bike: FleetBike) -> AppTest:
    page.selectbox(key="bike").select(f"fleet {bike.name}").run()
    assert not page.exception
    return page


def upload(page: AppTest, contents: bytes | str, name: str = "mine.toml") -> AppTest:
    held = contents.encode() if isinstance(contents, str) else contents
    page.file_uploader[0].set_value((name, held, "application/toml"))
    page.run()
    assert not page.exception
    return page


def cuts(page: AppTest) -> list[tuple[str, str]]:
    """Return tags and first cuts as they stand on the page."""
    elements = shown(page)
    return list(
        zip(elements.of("rw-tag"), (text.removeprefix("first cut ") for text in elements.of("rw-first")), strict=True)
    )


def cuts_of(job: JobPlan) -> list[tuple[str, str]]:
    return [
        (piece.tag, "no cut" if piece.first_cut is None else f"{piece.first_cut:.0f} mm")
        for line in job.lines
        for piece in line.pieces
    ]


# Every bike of the fleet.


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_a_bike_shows_the_tags_and_first_cuts_of_its_plan(bike: FleetBike) -> None:
    page = listed(bike)
    assert f"Cut list: {bike.title}" in shown(page).of("h1")
    assert cuts(page) == cuts_of(planned(bike))


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_the_levers_are_those_of_the_frame_file(bike: FleetBike) -> None:
    written = tomllib.loads(bike.path.read_text(encoding="utf-8"))
    sides = {lever["name"]: lever["side"] for lever in written["lever"]}
    hands = shown(listed(bike)).of("rw-hand")
    for line in written["line"]:
        (hand,) = (text for text in hands if text.startswith(sides[line["lever"]].capitalize()))
        assert line["name"] in hand
    assert [text.split()[0] for text in hands] == [side.capitalize() for side in sorted(set(sides.values()))]


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_the_why_of_every_piece_adds_up_as_it_is_printed(bike: FleetBike) -> None:
    page = listed(bike)
    tables = re.findall(r'<table class="rw-terms">.*?</table>', body(page))
    pieces = [piece for line in planned(bike).lines for piece in line.pieces]
    assert len(tables) == len(pieces)
    for table, piece in zip(tables, pieces, strict=True):
        total, sums = 0.0, []
        for row in re.findall(r"<tr.*?</tr>", table):
            label, mm = Elements(row).of("th")[0], float(Elements(row).of("td")[0].removesuffix(" mm"))
            if 'class="rw-sum"' in row:
                sums.append((label.split(" the sum")[0], mm))
                assert total == pytest.approx(mm, abs=0.051)
                total = mm
            else:
                total += mm
        assert sums[0] == ("target", round(piece.target, 1))
        assert sums[1:] == ([] if piece.first_cut is None else [("first cut", round(piece.first_cut, 1))])


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_findings_have_their_grade_in_words_and_what_to_do(bike: FleetBike) -> None:
    groups = Elements(re.search(r'<div class="rw-findings">.*?</div>', body(listed(bike)))[0])  # type: ignore[index]
    told = groups.of("li")
    assert len(told) == len(planned(bike).findings)
    for finding, text in zip(planned(bike).findings, told, strict=True):
        assert text.startswith(f"{finding.where}: {finding.text}")
        assert text.endswith(f"To do: {finding.advice}.")
    counts = {
        grade: sum(finding.grade == grade for finding in planned(bike).findings) for grade in ("stop", "look", "note")
    }
    expected = [f"{count} {grade}{'' if count == 1 else 's'}" for grade, count in counts.items() if count]
    assert groups.of("rw-mark") == expected


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_cautions_inners_and_parts_are_in_plain_view(bike: FleetBike) -> None:
    page, job = listed(bike), planned(bike)
    plain = Elements(re.sub(r"<details.*?</details>", "", body(page)))
    entries = plain.of("li")
    assert set(job.cautions) <= set(entries)
    assert [f"{part.count} ×{part.item}" for part in job.parts] == plain.of("rw-part")
    for line in job.lines:
        begins = "upper inner" if line.lower_inner is not None else "inner" if line.inner is not None else ""
        assert (line.inner is None) == (line.work == "hose")
        wires, *others = (text for text in entries if text.startswith(f"{line.name}{begins}") and "turn" in text)
        assert not (begins and others)
        assert all(f"take {inner.stock:.0f} mm" in wires for inner in line.inners)
        cut = [f"cut {liner.cut:.0f} mm" for liner in line.liners]
        assert any(all(words in text for words in cut) for text in (wires, *others))


def test_a_stop_is_told_before_the_list_and_its_piece_has_no_first_cut() -> None:
    # Shift housing on a brake is a stop.
    page = followed(upload(start(), respelt(("spiral brake 5.0", "lengthwise shift 4.0"))))
    assert cuts(page)[0] == ("A1", "no cut")
    (warning,) = shown(page).of("rw-complaint")
    assert "among the findings: settle before you cut" in warning
    assert body(page).index("rw-complaint") < body(page).index("rw-cut")


# Which lever works which brake.


def test_no_length_is_shown_before_the_levers_are_confirmed() -> None:
    page = start("cut-list", bike="touring")
    assert cuts(page) == [] and not page.get("download_button")
    hands = shown(page).of("rw-hand")
    assert "rear brake" in hands[0] and hands[0].startswith("Left")
    assert cuts(confirm(page)) == cuts_of(planned(TOURING))


def test_levers_confirmed_on_one_bike_are_asked_for_again_on_another() -> None:
    page = confirm(pick(start(), TOURING))
    assert not [button for button in page.button if button.key == "levers are so"]
    road = next(bike for bike in BIKES if bike.name == "road")
    assert [button for button in pick(page, road).button if button.key == "levers are so"]
    assert not [button for button in pick(page, TOURING).button if button.key == "levers are so"]


def test_levers_that_work_the_other_brakes_are_changed_and_asked_for_again(capsys: pytest.CaptureFixture[str]) -> None:
    page = start("cut-list", bike="touring")
    assert page.button(key="change hands").label == "No: the front brake is on the left"
    page.button(key="change hands").click().run()
    assert not page.exception and cuts(page) == []
    left, right = shown(page).of("rw-hand")
    assert left.startswith("Left") and "front brake" in left
    assert right.startswith("Right") and "rear brake" in right
    assert page.button(key="change hands").label == "No: the front brake is on the right"
    told = json.loads(printed(capsys, "cut", "touring", "--hands", "front-left", "--json"))
    changed = [(piece["tag"], f"{piece['first_cut_mm']:.0f} mm") for line in told["lines"] for piece in line["pieces"]]
    assert cuts(confirm(page)) == changed != cuts_of(planned(TOURING))


def test_levers_are_asked_for_again_when_a_file_of_the_same_bike_changes_the_brakes_over() -> None:
    page = confirm(pick(start(), TOURING))
    noted = respelt((r'name = "Quay tourer"', 'name = "Quay tourer" # as on the stand'))
    assert not [button for button in upload(page, noted).button if button.key == "levers are so"]
    changed = hands_changed(SOUND, planned(TOURING))
    assert [button for button in upload(page, changed, "changed.toml").button if button.key == "levers are so"]


# The visitor's own frame file.


def test_an_upload_is_planned_and_stands_in_the_picker_beside_the_fleet() -> None:
    own = respelt(("Quay tourer", "Tug"), (r"stem = \d+", "stem = 150"))
    page = upload(start(), own)
    assert page.selectbox(key="bike").options == [*(bike.title for bike in BIKES), "Tug (mine.toml)"]
    assert page.selectbox(key="bike").value == "own"
    of_own = followed(page)
    assert cuts(of_own) == cuts_of(plan(loads(own, "mine.toml")))
    assert cuts(of_own) != cuts_of(planned(TOURING))
    assert "Cut list: Tug (mine.toml)" in shown(of_own).of("h1")
    assert cuts(followed(pick(page, TOURING))) == cuts_of(planned(TOURING))
    page.selectbox(key="bike").select("own").run()
    assert cuts(followed(page)) == cuts(of_own)


def test_a_file_too_large_for_a_link_is_planned_and_told_and_left_out_of_it() -> None:
    noise = base64.b64encode(random.Random(3).randbytes(150_000)).decode()
    own = SOUND + "".join(f"# {noise[at : at + 100]}\n" for at in range(0, len(noise), 100))
    page = upload(start(), own)
    assert page.selectbox(key="bike").value == "own"
    assert dict(page.query_params) == {}
    assert [text for text in shown(page).of("rw-quiet") if "more than a link can hold" in text]
    assert not [text for text in shown(upload(page, SOUND)).of("rw-quiet") if "more than a link can hold" in text]
    assert set(page.query_params) == {"frame", "file"}


BAD_UPLOADS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is empty"),
    "binary": (bytes(range(256)) * 40, "binary"),
    "picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "binary"),
    "not UTF-8": ("name = 'Łódź'".encode("cp1250"), "UTF-8"),
    "no TOML": (b"the rear brake rubs", "line 1"),
    "unknown key": (respelt((r"\[chart\]", "[chart]\nstak = 5")).encode(), '"stak": did you mean "stack"?'),
    "absurd": (respelt((r"chainstay = \d+", "chainstay = 20000")).encode(), "20000 mm"),
    "contradiction": (respelt((r"wheelbase = \d+", "wheelbase = 1200")).encode(), "wheelbase"),
    "unknown housing": (respelt(("spiral brake 5.0", "wet string")).encode(), "wet string"),
    "large": (SOUND.encode() + b"# rope\n" * 150_000, "1 MB"),
}


@pytest.mark.parametrize("kind", BAD_UPLOADS)
def test_a_bad_upload_is_told_in_one_line_and_the_bike_stays(kind: str) -> None:
    contents, hint = BAD_UPLOADS[kind]
    page = upload(pick(start(), TOURING), contents, name="../../spoilt.toml")
    (complaint,) = shown(page).of("rw-complaint")
    assert "spoilt.toml: " in complaint and hint in complaint
    assert len(complaint.splitlines()) == 1
    assert "Traceback" not in complaint
    assert page.selectbox(key="bike").value == "fleet touring"
    assert cuts(followed(page)) == cuts_of(planned(TOURING))


def test_a_complaint_goes_when_another_bike_is_picked_or_a_better_file_comes() -> None:
    page = upload(start(), "rubbish")
    assert shown(page).of("rw-complaint")
    assert not shown(pick(page, TOURING)).of("rw-complaint")
    assert shown(upload(page, "rubbish still", name="other.toml")).of("rw-complaint")
    assert not shown(upload(page, SOUND)).of("rw-complaint")


# Links.


def test_a_link_holds_the_whole_bike_of_a_visitor() -> None:
    page = upload(start(), respelt(("Quay tourer", "Łódź ≤ 5"), (r"stem = \d+", "stem = 150")), name="łódź & 5.toml")
    again = followed(page, "bike")
    assert dict(again.query_params) == dict(page.query_params)
    assert again.selectbox(key="bike").options[-1] == "Łódź ≤ 5 (łódź & 5.toml)"


def squeezed(contents: bytes) -> str:
    return base64.urlsafe_b64encode(zlib.compress(contents)).decode()


BAD_LINKS: dict[str, tuple[dict[str, str], str]] = {
    "unknown bike": ({"bike": "<b>ferry</b>"}, "there is no such bike in the fleet"),
    "a path": ({"bike": "../../etc/passwd"}, "there is no such bike in the fleet"),
    "no packing": ({"frame": "%00 not packed"}, "damaged"),
    "packed rubbish": ({"frame": squeezed(b"rubbish")}, "line 1"),
    "cut short": ({"frame": links.pack(SOUND.encode())[:600]}, "cut short"),
    # A thousandfold when unpacked.
    "bomb": ({"frame": squeezed(bytes(50_000_000))}, "too large"),
}


@pytest.mark.parametrize("kind", BAD_LINKS)
def test_a_bad_link_is_refused_in_one_line_and_a_bike_is_shown(kind: str) -> None:
    link, hint = BAD_LINKS[kind]
    page = start(**link)
    (complaint,) = shown(page).of("rw-complaint")
    assert hint in complaint and len(complaint.splitlines()) == 1
    assert "<b>" not in body(page).split("rw-complaint")[1].split("</p>")[0]
    assert page.selectbox(key="bike").value == f"fleet {BIKES[0].name}"


def test_what_people_write_is_shown_letter_by_letter() -> None:
    own = respelt(
        ("Quay tourer", f"{HOSTILE} **b**"),
        ("front caliper", "<img src=x onerror=a(1)>"),
        ("rear brake", "![p](http://quay.example/p.png)"),
    )
    visitor = upload(start(), own, name="<b>mine</b>.toml")
    page = followed(visitor)
    assert f"Cut list: {HOSTILE} **b** (<b>mine</b>.toml)" in shown(page).of("h1")
    assert any("<img src=x onerror=a(1)>" in text for text in shown(page).of("rw-way"))
    markup = body(page)
    assert "<script" not in markup and "<img" not in markup
    # What the page hands to its own widgets and texts is not read as Markdown either.
    assert not any("quay.example" in element.value for element in page.markdown)
    assert shown(upload(visitor, own.replace("[chart]", "[<i>]"), name="<b>mine</b>.toml")).of("i") == []


# Plans are kept by their frame files.


def test_a_plan_is_made_once_and_tells_how_far_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    shelf = plans.Shelf(2)
    monkeypatch.setattr(plans, "_shelf", lambda: shelf)
    told: list[float] = []
    contents = TOURING.path.read_bytes()
    first = plans.planned(contents, "touring.toml", lambda _, share: told.append(share))
    assert told == sorted(told) and 0 < told[0] < told[-1] <= 1
    again = plans.planned(contents, "touring.toml", lambda _, share: pytest.fail("planned again"))
    assert again is first


def test_two_visitors_who_want_the_same_plan_at_once_get_one(monkeypatch: pytest.MonkeyPatch) -> None:
    shelf, made = plans.Shelf(2), []

    def slow(*_: object, **__: object) -> JobPlan:
        made.append(1)
        time.sleep(0.3)
        return planned(TOURING)

    monkeypatch.setattr(plans, "_shelf", lambda: shelf)
    monkeypatch.setattr(plans, "plan", slow)
    with ThreadPoolExecutor(4) as visitors:
        got = list(visitors.map(lambda _: plans.planned(SOUND.encode(), "x", lambda *_: None), range(4)))
    assert len(made) == 1
    assert all(job is got[0] for job in got)


def test_the_shelf_keeps_the_plans_asked_for_last() -> None:
    shelf, job = plans.Shelf(2), planned(TOURING)
    shelf.put(b"a", job)
    shelf.put(b"b", job)
    assert shelf.get(b"a") is job
    shelf.put(b"c", job)
    assert [shelf.get(key) is job for key in (b"a", b"b", b"c")] == [True, False, True]


def test_a_fault_of_the_planner_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> JobPlan:
        raise ZeroDivisionError("a\nb")

    monkeypatch.setattr(plans, "plan", fail)
    monkeypatch.setattr(plans, "_shelf", lambda: plans.Shelf(1))
    with pytest.raises(FrameFileError) as caught:
        plans.planned(SOUND.encode(), "mine.toml", lambda *_: None)
    assert str(caught.value).startswith("mine.toml: ropewalk failed by a fault of its own (ZeroDivisionError)")
    assert "\n" not in str(caught.value)


# Light and dark.


def _luminance(colour: str) -> float:
    """Return the relative luminance of an sRGB colour as WCAG 2.2 defines it."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ink", ["textColor", "linkColor", "primaryColor"])
@pytest.mark.parametrize("ground", ["backgroundColor", "secondaryBackgroundColor"])
def test_text_stands_out_from_its_ground(scheme: str, ink: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text; black on white has 21 to 1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast(str(THEME[f"theme.{scheme}.{ink}"]), str(THEME[f"theme.{scheme}.{ground}"])) >= 4.5


def test_the_script_of_the_page_is_found_and_short() -> None:
    assert page_script().name == "app.py"
    assert len(page_script().read_text(encoding="utf-8").splitlines()) < 20
