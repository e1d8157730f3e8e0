"""The page in a real browser: clean, fits a phone and a desk, follows the slider, saves what it shows, keeps visitors
apart.

Where there is no Chromium these tests skip; with ROPEWALK_REQUIRE_BROWSER=1 its absence is a failure.
"""

from __future__ import annotations

import functools
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import urlparse

import pytest

from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.reading import read
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan
from ropewalk.workshop.report import as_csv, as_json_object

COMMAND = Path(sys.executable).with_name("ropewalk")
BIKES = {bike.name: bike for bike in fleet()}
DESKTOP, PHONE = (1400, 1000), (390, 844)
#: common practice for touch: Apple's guidelines ask for 44 points, WCAG 2.2 (2.5.5) for 44 CSS pixels
THUMB = 44
PATIENCE_MS = 30_000


def _without(what: str) -> NoReturn:
    if os.environ.get("ROPEWALK_REQUIRE_BROWSER") == "1":
        pytest.fail(f"{what}, and ROPEWALK_REQUIRE_BROWSER=1 asks for it", pytrace=False)
    pytest.skip(what)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _without("playwright is not installed")
    with sync_playwright() as playwright:
        names = ("chromium", "chromium-browser", "google-chrome")
        installed = next(
            (found for name in names if (found := shutil.which(name))), playwright.chromium.executable_path
        )
        if not Path(installed).exists():
            _without("there is no Chromium")
        chromium = playwright.chromium.launch(
            executable_path=installed, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def server(browser: Any) -> Iterator[str]:
    """Start the page as its command does and return its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with subprocess.Popen(
        [COMMAND, "page", "--port", str(port)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as page:
        try:
            _await_health(f"http://127.0.0.1:{port}", page)
            yield f"http://127.0.0.1:{port}"
        finally:
            page.terminate()
            said, _ = page.communicate(timeout=30)
    assert b"Traceback" not in said, said.decode()


def _await_health(address: str, page: subprocess.Popen[bytes]) -> None:
    for _ in range(300):
        assert page.poll() is None, "the page ended at once"
        try:
            with urllib.request.urlopen(f"{address}/_stcore/health", timeout=1) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.1)
    pytest.fail("the page never answered")


@dataclass
class Visit:
    """One visitor's tab, and what went wrong in it."""

    tab: Any
    faults: list[str] = field(default_factory=list)

    def settle(self, ready: str = "") -> None:
        """Wait until the page rests, and until the text `ready` stands in it."""
        if ready:
            self.tab.wait_for_function("text => document.body.innerText.includes(text)", arg=ready, timeout=PATIENCE_MS)
        self.tab.wait_for_function(
            """() => {
              const app = document.querySelector('[data-testid="stApp"]');
              return app && app.getAttribute('data-test-script-state') === 'notRunning'
                && !document.querySelector('[data-stale="true"], [data-testid="stSkeleton"]')
                && document.querySelector('.rw-cut') && [...document.images].every(image => image.complete);
            }""",
            timeout=PATIENCE_MS,
        )

    def pick(self, bike: FleetBike) -> None:
        # Scrolling closes what the picker opens.
        self.tab.evaluate("() => document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
        self.tab.get_by_role("combobox", name="Bike").click()
        self.tab.get_by_role("option", name=bike.title, exact=True).click()
        self.settle(f"Cut list: {bike.title}")

    def upload(self, file: Path | dict[str, Any]) -> None:
        if not self.tab.get_by_test_id("stFileUploader").is_visible():
            self.tab.get_by_text("Use a frame file of your own").click()
        self.tab.locator("input[type=file]").set_input_files(file)

    def cuts(self) -> list[tuple[str, str]]:
        tags = self.tab.locator(".rw-tag").all_inner_texts()
        firsts = self.tab.locator(".rw-first > :last-child").all_inner_texts()
        return list(zip(tags, firsts, strict=True))

    def picture(self) -> tuple[str, str]:
        """Return the side view's alternative text and its source."""
        image = self.tab.get_by_role("img", name=re.compile("^Side view"))
        return image.get_attribute("alt"), image.get_attribute("src")


@pytest.fixture(scope="module")
def visit(browser: Any, server: str) -> Iterator[Callable[..., Visit]]:
    """Return a function that opens the page as a new visitor; nothing may go wrong while it is open."""
    visits: list[Visit] = []

    def come(size: tuple[int, int] = DESKTOP, **context: Any) -> Visit:
        touch = size == PHONE
        tab = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, has_touch=touch, is_mobile=touch, **context
        ).new_page()
        visit = Visit(tab)
        visits.append(visit)
        tab.on("pageerror", lambda error: visit.faults.append(f"script: {error}"))
        tab.on("console", lambda said: visit.faults.append(said.text) if said.type == "error" else None)
        tab.on("dialog", lambda dialog: (visit.faults.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        tab.on("request", lambda request: _note_strangers(request.url, visit.faults))
        tab.goto(server)
        visit.settle()
        return visit

    yield come
    for each in visits:
        each.tab.context.close()


def _note_strangers(address: str, faults: list[str]) -> None:
    parts = urlparse(address)
    if parts.scheme not in ("data", "blob") and parts.hostname != "127.0.0.1":
        faults.append(f"request to {address}")


@functools.cache
def planned(name: str) -> JobPlan:
    return plan(read(BIKES[name].path))


def cuts_of(job: JobPlan) -> list[tuple[str, str]]:
    return [(piece.tag, f"{piece.first_cut:.0f} mm") for line in job.lines for piece in line.pieces]


# What the browser measures: each script returns what is wrong, in words.

SIDEWAYS = """() => {
  const main = document.querySelector('[data-testid="stMain"]');
  const boxes = [...main.querySelectorAll('*')].map(e => [e, e.getBoundingClientRect()]);
  const wide = boxes.filter(([e, r]) => r.width > 1 && r.height > 1 && (r.right > innerWidth + 1 || r.left < -1));
  const scrolls = main.scrollWidth > main.clientWidth || document.documentElement.scrollWidth > innerWidth;
  return [...wide.map(([e]) => `${e.tagName}.${e.className} sticks out`), ...(scrolls ? ['scrolls'] : [])];
}"""
SMALL_TARGETS = """thumb => [...document.querySelectorAll('button, summary, [role=combobox], [role=option]')]
  .map(e => [e.ariaLabel || e.innerText, e.getBoundingClientRect()])
  .filter(([name, r]) => r.width > 0 && r.height > 0 && (r.width < thumb || r.height < thumb))
  .map(([name, r]) => `${name}: ${r.width} × ${r.height}`)"""
CUT_OFF = """() => [...document.querySelectorAll('[data-testid="stHtml"] *')]
  .filter(e => !e.closest('.rw-unseen, .rw-key') && e.clientWidth > 0
    && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1)
    && getComputedStyle(e).overflow !== 'visible')
  .map(e => `${e.className}: ${e.innerText.slice(0, 40)}`)"""
OVERLAPS = """() => {
  const lines = element => {
    const found = [], walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      if (getComputedStyle(walker.currentNode.parentElement).clipPath !== 'none') continue;
      const range = document.createRange();
      range.selectNodeContents(walker.currentNode);
      found.push(...range.getClientRects());
    }
    return found;
  };
  const over = (p, q) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1
    && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 3;
  const found = [];
  for (const row of document.querySelectorAll('.rw-piece > summary, .rw-hands, .rw-why')) {
    const cells = [...row.children].map(e => [e.className, lines(e)]);
    cells.forEach(([a, some], at) => cells.slice(at + 1).forEach(([b, others]) => {
      if (some.some(p => others.some(q => over(p, q)))) found.push(`${a} lies over ${b}`);
    }));
  }
  return found;
}"""
FADED = """() => {
  // Contrast as WCAG 2.2 defines it, of the text as it is mixed with the ground by its opacity.
  const numbers = colour => colour.match(/[\\d.]+/g).slice(0, 3).map(Number);
  const light = rgb => rgb.map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = numbers(getComputedStyle(document.querySelector('[data-testid="stApp"]')).backgroundColor);
  return [...document.querySelectorAll('[data-testid="stHtml"] *')].filter(e => e.children.length === 0
      && e.innerText && !e.matches('.rw-sign')).flatMap(e => {
    let share = 1;
    for (let at = e; at; at = at.parentElement) share *= Number(getComputedStyle(at).opacity);
    const ink = numbers(getComputedStyle(e).color).map((v, i) => v * share + ground[i] * (1 - share));
    const [a, b] = [light(ink), light(ground)].sort((x, y) => y - x);
    return (a + 0.05) / (b + 0.05) < 4.5 ? [`${e.innerText.slice(0, 30)}: ${(a + 0.05) / (b + 0.05)}`] : [];
  });
}"""


DARK = """() => {
  const ground = getComputedStyle(document.querySelector('[data-testid="stApp"]')).backgroundColor;
  return ground.match(/\\d+/g).slice(0, 3).every(part => part < 128);
}"""


@pytest.mark.parametrize(("size", "scheme"), [(DESKTOP, "light"), (PHONE, "dark")], ids=["desktop", "phone"])
def test_every_bike_fits_the_screen_and_nothing_goes_wrong(
    visit: Callable[..., Visit], size: tuple[int, int], scheme: str
) -> None:
    here = visit(size, color_scheme=scheme)
    assert here.tab.evaluate(DARK) == (scheme == "dark")
    for bike in BIKES.values():
        here.pick(bike)
        for piece in here.tab.locator(".rw-piece > summary").all():
            piece.click()
        here.tab.wait_for_function("() => !document.querySelector('.rw-piece:not([open])')")
        assert here.tab.evaluate(SIDEWAYS) == []
        assert here.tab.evaluate(CUT_OFF) == []
        assert here.tab.evaluate(OVERLAPS) == []
        assert here.tab.evaluate(FADED) == []
        assert here.tab.evaluate(SMALL_TARGETS, THUMB) == []
        assert here.tab.evaluate("() => [...document.images].every(i => i.naturalWidth > 0 && i.alt.trim())")
    assert here.faults == []


def test_the_slider_moved_by_keys_changes_the_picture(visit: Callable[..., Visit]) -> None:
    here = visit()
    here.pick(BIKES["touring"])
    straight = here.picture()
    assert "bars straight ahead" in straight[0]
    slider = here.tab.get_by_role("slider", name=re.compile("Steering angle"))
    slider.focus()
    for _ in range(3):
        here.tab.keyboard.press("ArrowRight")
    turned = _picture_of(here, "bars turned 3° right")
    assert turned[1] != straight[1]
    here.tab.keyboard.press("End")
    # The file gives this bike's lock.
    assert _picture_of(here, "bars turned 75° right")[1] not in (straight[1], turned[1])
    here.tab.get_by_role("button", name="Left lock").click()
    _picture_of(here, "bars turned 75° left")
    here.tab.get_by_role("button", name="Straight", exact=True).click()
    assert _picture_of(here, "bars straight ahead")[1] == straight[1]
    assert here.faults == []


def _picture_of(here: Visit, bars: str) -> tuple[str, str]:
    here.tab.get_by_role("img", name=re.compile(f"^Side view.*{bars}")).wait_for(timeout=PATIENCE_MS)
    here.settle()
    return here.picture()


def _saved(here: Visit, button: str) -> tuple[str, bytes]:
    with here.tab.expect_download(timeout=PATIENCE_MS) as waiting:
        here.tab.get_by_role("button", name=button, exact=True).click()
    return waiting.value.suggested_filename, Path(waiting.value.path()).read_bytes()


def test_what_is_saved_holds_the_plan(visit: Callable[..., Visit]) -> None:
    here = visit()
    here.pick(BIKES["touring"])
    job = planned("touring")
    name, held = _saved(here, "Cut list, JSON")
    assert name == "quay-tourer-cut-list.json"
    assert json.loads(held) == as_json_object(job)
    # The command prints the very same.
    assert held == subprocess.run([COMMAND, "cut", "touring", "--json"], capture_output=True, check=True).stdout
    assert _saved(here, "Cut list, CSV") == ("quay-tourer-cut-list.csv", as_csv(job).encode())
    assert _saved(here, "Frame file") == ("quay-tourer.toml", BIKES["touring"].path.read_bytes())
    here.tab.get_by_role("button", name="Right lock").click()
    _picture_of(here, "bars turned 75° right")
    for button, beginning in (("Save SVG", b"<svg"), ("Save PDF", b"%PDF-"), ("Save PNG", b"\x89PNG\r\n\x1a\n")):
        name, held = _saved(here, button)
        assert name == f"quay-tourer-75-right.{button[-3:].lower()}"
        assert held.startswith(beginning)
    assert here.faults == []


def test_two_visitors_with_different_bikes_do_not_mix(visit: Callable[..., Visit], tmp_path: Path) -> None:
    own = tmp_path / "tug.toml"
    own.write_text(BIKES["touring"].path.read_text(encoding="utf-8").replace("Quay tourer", "Tug"), encoding="utf-8")
    one, other = visit(), visit()
    one.upload(own)
    one.settle("Cut list: Tug")
    other.pick(BIKES["road"])
    for button, visitor in (("Left lock", one), ("Right lock", other)):
        visitor.tab.get_by_role("button", name=button).click()
    one.settle("Cut list: Tug")
    assert one.cuts() == cuts_of(planned("touring"))
    assert other.cuts() == cuts_of(planned("road"))
    assert "Tug" in _picture_of(one, "bars turned 75° left")[0]
    assert "Tug" not in other.tab.locator("body").inner_text()
    assert "Lighthouse road" in _picture_of(other, "bars turned 90° right")[0]
    # Picking shows that the other visitor's bike is not on offer.
    other.tab.evaluate("() => document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
    other.tab.get_by_role("combobox", name="Bike").click()
    other.tab.get_by_role("option", name="Quay tourer").wait_for()
    assert other.tab.get_by_role("option").all_inner_texts() == [bike.title for bike in BIKES.values()]
    assert (one.faults, other.faults) == ([], [])


HOSTILE = '<img src=\\"http://quay.example/x.png\\" onerror=alert(1)>'


def test_bad_and_hostile_uploads_harm_nothing(visit: Callable[..., Visit]) -> None:
    here = visit(PHONE)
    here.pick(BIKES["hardtail"])
    before = here.cuts()
    here.upload({"name": "picture.toml", "mimeType": "image/png", "buffer": b"\x89PNG\r\n\x1a\n\0\0"})
    here.settle("picture.toml: is no text but binary")
    assert here.tab.get_by_role("alert").count() == 1
    here.upload({"name": "sunk.toml", "mimeType": "text/plain", "buffer": b"# rope\n" * 400_000})
    here.settle("2.0MB or smaller")
    assert here.cuts() == before
    sound = BIKES["hardtail"].path.read_text(encoding="utf-8")
    hostile = sound.replace('name = "Breakwater hardtail"', f'name = "{HOSTILE}"').replace("front caliper", HOSTILE)
    here.upload({"name": "odd.toml", "mimeType": "text/plain", "buffer": hostile.encode()})
    here.settle('Cut list: <img src="http://quay.example/x.png" onerror=alert(1)>')
    assert here.cuts() == before
    assert here.tab.evaluate(SIDEWAYS) == []
    assert here.tab.evaluate(SMALL_TARGETS, THUMB) == []
    here.pick(BIKES["touring"])
    assert here.faults == []
