"""The page in a real browser: clean, fits a phone and a desk, saves what it shows, keeps visitors apart.

Where there is no Chromium these tests skip; with ROPEWALK_REQUIRE_BROWSER=1 its absence is a failure.
"""

from __future__ import annotations

import functools
import json
import re
import subprocess
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from browsing import (
    COMMAND,
    CUT_OFF,
    DARK,
    DESKTOP,
    FADED,
    OVERLAPS,
    PATIENCE_MS,
    PHONE,
    SIDEWAYS,
    SMALL_TARGETS,
    THUMB,
    Served,
    Visit,
    chromium,
    serving,
    visiting,
)

from ropewalk.bike.fleet import fleet
from ropewalk.bike.reading import loads, read
from ropewalk.drawing.benchsheet import bench_sheet
from ropewalk.drawing.pagepictures import cockpit_picture, side_picture
from ropewalk.drawing.paper import NARROW, WIDE
from ropewalk.drawing.phonepage import phone_page
from ropewalk.page.router import ENTRIES
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.ordering import as_order_csv
from ropewalk.workshop.plan import plan
from ropewalk.workshop.report import as_csv, as_json_object

BIKES = {bike.name: bike for bike in fleet()}
TITLES = [entry.title for entry in ENTRIES]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def served(browser: Any) -> Iterator[Served]:
    with serving() as page:
        yield page


@pytest.fixture(scope="module")
def visit(browser: Any, served: Served) -> Iterator[Callable[..., Visit]]:
    with visiting(browser, served.address) as come:
        yield come


@functools.cache
def planned(name: str) -> JobPlan:
    return plan(read(BIKES[name].path))


def cuts_of(job: JobPlan) -> list[tuple[str, str]]:
    return [(piece.tag, f"{piece.first_cut:.0f} mm") for line in job.lines for piece in line.pieces]


@pytest.mark.parametrize(("size", "scheme"), [(DESKTOP, "light"), (PHONE, "dark")], ids=["desktop", "phone"])
def test_every_page_fits_the_screen_and_nothing_goes_wrong(
    visit: Callable[..., Visit], size: tuple[int, int], scheme: str
) -> None:
    here = visit(size, color_scheme=scheme)
    assert here.tab.evaluate(DARK) == (scheme == "dark")
    here.pick(BIKES["trail"])
    here.confirm_levers()
    for title in TITLES:
        here.turn_to(title)
        assert here.tab.get_by_test_id("stException").count() == 0
        assert (title, here.tab.evaluate(SIDEWAYS)) == (title, [])
        assert (title, here.tab.evaluate(CUT_OFF)) == (title, [])
        assert (title, here.tab.evaluate(FADED)) == (title, [])
        assert (title, here.tab.evaluate(SMALL_TARGETS, THUMB)) == (title, [])
        assert here.tab.evaluate("() => [...document.images].every(i => i.naturalWidth > 0 && i.alt.trim())")
        assert here.tab.evaluate("() => document.querySelectorAll('h1').length") == 1
    assert here.faults == []


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_every_cut_list_fits_the_screen(visit: Callable[..., Visit], size: tuple[int, int]) -> None:
    here = visit(size)
    for bike in BIKES.values():
        here.list_of(bike)
        assert here.cuts() == cuts_of(planned(bike.name))
        for piece in here.tab.locator(".rw-piece > summary").all():
            piece.click()
        here.tab.wait_for_function("() => !document.querySelector('.rw-piece:not([open])')")
        for wrong in (SIDEWAYS, CUT_OFF, OVERLAPS, FADED):
            assert (bike.name, here.tab.evaluate(wrong)) == (bike.name, [])
        assert here.tab.evaluate(SMALL_TARGETS, THUMB) == []
        tags = ".*".join(tag for tag, _ in here.cuts())
        for shown in ("Side view", "Cockpit from above at both locks"):
            picture = here.tab.get_by_role("img", name=re.compile(f"^{shown}, {re.escape(bike.title)};.*{tags}"))
            assert picture.evaluate("image => image.naturalWidth > 0")
    assert here.faults == []


@pytest.mark.parametrize("title", TITLES[1:])
def test_every_page_opens_by_its_own_address(visit: Callable[..., Visit], title: str) -> None:
    entry = next(entry for entry in ENTRIES if entry.title == title)
    here = visit(PHONE, entry.path, "?bike=hardtail")
    assert here.tab.locator("h1").first.inner_text() == f"{title}: Breakwater hardtail"
    assert "bike=hardtail" in here.tab.url
    assert here.faults == []


@pytest.mark.parametrize(("size", "width"), [(DESKTOP, WIDE), (PHONE, NARROW)], ids=["desktop", "phone"])
def test_words_in_pictures_are_large_enough_to_read(
    visit: Callable[..., Visit], size: tuple[int, int], width: float
) -> None:
    def holds(*smallest: tuple[str, float]) -> None:
        for name, mm in smallest:
            shown = here.tab.locator(f"[class*='-picture-{name}'] img").filter(visible=True)
            assert shown.count() == 1, "one of the two is shown"
            # common practice: no type under 9 CSS pixels on a chart
            assert mm * shown.evaluate("image => image.clientWidth") / width >= 9.0

    here = visit(size, "compare", "?bike=gravel-outside&line=rear+brake")
    here.confirm_levers()
    # the smallest type of charts
    holds(("friction", 2.5), ("tension", 2.5))
    here.turn_to("Cut list")
    job, narrow = planned("gravel-outside"), width == NARROW
    drawn = {"side": side_picture(job, narrow=narrow), "cockpit": cockpit_picture(job, narrow=narrow)}
    assert {scene.width for scene in drawn.values()} == {width}
    holds(*((name, min(label.size for label in scene.labels())) for name, scene in drawn.items()))
    assert here.faults == []


def test_what_is_saved_holds_the_plan(visit: Callable[..., Visit]) -> None:
    here = visit()
    here.list_of(BIKES["touring"])
    job = planned("touring")
    name, held = here.saved("Cut list, JSON")
    assert name == "quay-tourer-cut-list.json"
    assert json.loads(held) == as_json_object(job)
    # The command prints the very same.
    assert held == subprocess.run([COMMAND, "cut", "touring", "--json"], capture_output=True, check=True).stdout
    assert here.saved("Cut list, CSV") == ("quay-tourer-cut-list.csv", as_csv(job).encode())
    name, held = here.saved("Page for a phone, HTML")
    assert name == "quay-tourer-phone.html" and held == phone_page(job)
    assert here.saved("What to buy, CSV") == ("quay-tourer-to-buy.csv", as_order_csv([job]).encode())
    here.turn_to("Bench sheet")
    name, held = here.saved("Bench sheet, PDF")
    assert name == "quay-tourer-bench-sheet.pdf"
    # The date is the server's: it stands in the sheet.
    day = re.search(r"\d{4}-\d\d-\d\d", pypdfium2.PdfDocument(held)[0].get_textpage().get_text_bounded())
    assert day is not None and held == bench_sheet(job, date.fromisoformat(day[0]))
    here.turn_to("Cut list")
    assert here.saved("Frame file") == ("quay-tourer.toml", BIKES["touring"].path.read_bytes())
    assert here.faults == []


def test_an_edited_chart_changes_the_cut_list_and_a_bad_value_does_not(visit: Callable[..., Visit]) -> None:
    here = visit(PHONE)
    here.pick(BIKES["touring"])
    here.confirm_levers()
    # One figure alone contradicts the others: it waits, and the plan stays, until the other follows.
    head_tube = here.tab.get_by_label(re.compile("^Head tube, [0-9]"))
    head_tube.fill("160")
    head_tube.press("Enter")
    here.settle("9.7 mm apart")
    assert "bike=touring" in here.tab.url
    stack = here.tab.get_by_label(re.compile("^Stack, [0-9]"))
    stack.fill("600")
    stack.press("Enter")
    here.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    here.settle()
    text = BIKES["touring"].path.read_text(encoding="utf-8")
    edited = text.replace("head_tube = 150", "head_tube = 160", 1).replace("stack = 591", "stack = 600", 1)
    assert edited != text
    job = plan(loads(edited, "touring.toml"))
    assert cuts_of(job) != cuts_of(planned("touring"))
    here.turn_to("Cut list")
    assert here.cuts() == cuts_of(job)
    assert here.saved("Frame file")[1] == edited.encode()
    # What cannot be is told beside its field, and the list stays as it was.
    here.turn_to("Bike")
    stack.fill("9999")
    stack.press("Enter")
    here.settle("9999")
    assert here.tab.get_by_role("alert").filter(has_text="9999").count() == 1
    here.turn_to("Cut list")
    assert here.cuts() == cuts_of(job)
    assert here.faults == []


def test_two_visitors_with_different_bikes_do_not_mix(visit: Callable[..., Visit], tmp_path: Path) -> None:
    own = tmp_path / "tug.toml"
    own.write_text(BIKES["touring"].path.read_text(encoding="utf-8").replace("Quay tourer", "Tug"), encoding="utf-8")
    one, other = visit(), visit()
    one.upload(own)
    one.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    other.pick(BIKES["road"])
    for visitor in (one, other):
        visitor.confirm_levers()
        visitor.turn_to("Cut list")
    assert one.cuts() == cuts_of(planned("touring"))
    assert other.cuts() == cuts_of(planned("road"))
    assert "Cut list: Tug" in one.tab.locator("h1").inner_text()
    assert "Tug" not in other.tab.locator("body").inner_text()
    # Picking shows that the other visitor's bike is not on offer.
    other.turn_to("Bike")
    other.tab.get_by_role("combobox", name="Bike", exact=True).click()
    other.tab.get_by_role("option", name="Quay tourer").wait_for()
    assert other.tab.get_by_role("option").all_inner_texts() == [bike.title for bike in BIKES.values()]
    assert (one.faults, other.faults) == ([], [])


def test_a_link_brings_a_visitor_s_own_bike_to_another(visit: Callable[..., Visit]) -> None:
    one = visit()
    text = BIKES["touring"].path.read_text(encoding="utf-8").replace("Quay tourer", "Łódź ≤ 5")
    one.upload(
        {"name": "łódź.toml", "mimeType": "text/plain", "buffer": text.replace("stem = 100", "stem = 130").encode()}
    )
    one.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    one.confirm_levers()
    one.turn_to("Cut list")
    other = visit(PHONE, "cut-list", "?" + one.tab.url.split("?", 1)[1])
    # Levers are confirmed by whoever stands beside the bike, not by a link.
    assert other.cuts() == []
    other.confirm_levers()
    assert other.cuts() == one.cuts()
    assert other.tab.locator("h1").inner_text() == "Cut list: Łódź ≤ 5 (łódź.toml)"
    assert (one.faults, other.faults) == ([], [])


HOSTILE = '<img src=\\"http://quay.example/x.png\\" onerror=alert(1)>'


def test_bad_and_hostile_uploads_harm_nothing(visit: Callable[..., Visit]) -> None:
    here = visit(PHONE)
    here.pick(BIKES["hardtail"])
    here.upload({"name": "picture.toml", "mimeType": "image/png", "buffer": b"\x89PNG\r\n\x1a\n\0\0"})
    here.settle("picture.toml: is no text but binary")
    assert here.tab.get_by_role("alert").count() == 1
    here.upload({"name": "sunk.toml", "mimeType": "text/plain", "buffer": b"# rope\n" * 400_000})
    here.settle("2.0MB or smaller")
    assert "bike=hardtail" in here.tab.url
    sound = BIKES["hardtail"].path.read_text(encoding="utf-8")
    hostile = sound.replace('name = "Breakwater hardtail"', f'name = "{HOSTILE}"').replace("front caliper", HOSTILE)
    here.upload({"name": "../../odd.toml", "mimeType": "text/plain", "buffer": hostile.encode()})
    here.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    here.confirm_levers()
    for title in TITLES[1:]:
        here.turn_to(title)
        assert '<img src="http://quay.example/x.png" onerror=alert(1)>' in here.tab.locator("h1").inner_text()
        assert (title, here.tab.evaluate(SIDEWAYS)) == (title, [])
        assert (title, here.tab.evaluate(SMALL_TARGETS, THUMB)) == (title, [])
    assert here.faults == []


def test_an_upload_of_200_mb_is_refused_and_the_server_lives(visit: Callable[..., Visit], tmp_path: Path) -> None:
    here = visit()
    here.pick(BIKES["touring"])
    huge = tmp_path / "huge.toml"
    with huge.open("wb") as file:
        file.truncate(200_000_000)
    here.upload(huge)
    here.settle("2.0MB or smaller")
    here.confirm_levers()
    here.turn_to("Cut list")
    assert here.cuts() == cuts_of(planned("touring"))
    assert here.faults == []


@pytest.mark.parametrize("path", ["", "cut-list", "steering"])
@pytest.mark.parametrize(
    "query", ["?bike=%3Cscript%3Ealert(1)%3C/script%3E", "?frame=%00%ff", "?frame=" + "A" * 20_000]
)
def test_a_garbage_link_is_refused_in_one_line(visit: Callable[..., Visit], query: str, path: str) -> None:
    here = visit(DESKTOP, path, query)
    assert here.tab.get_by_role("alert").count() == 1
    assert len(here.tab.get_by_role("alert").inner_text().splitlines()) <= 2
    assert path or here.tab.get_by_role("combobox", name="Bike", exact=True).is_visible()
    assert here.faults == []


def _resident_kb(pid: int) -> int:
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(re.search(r"VmRSS:\s+(\d+) kB", status)[1])  # type: ignore[index]


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
def test_memory_stays_flat(visit: Callable[..., Visit], served: Served) -> None:
    here = visit()
    names = ("touring", "city", "track")

    def go_round(times: int) -> None:
        for turn in range(times):
            here.turn_to("Bike")
            here.pick(BIKES[names[turn % 3]])
            here.confirm_levers()
            here.turn_to("Cut list")
            here.turn_to("Steering")

    go_round(12)
    before = _resident_kb(served.process.pid)
    go_round(50)
    assert _resident_kb(served.process.pid) < 1.10 * before
    assert here.faults == []
