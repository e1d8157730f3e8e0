"""The page served as its command serves it, and real browsers that visit it."""

from __future__ import annotations

import math
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import urlparse

import pytest

from ropewalk.bike.fleet import FleetBike

COMMAND = Path(sys.executable).with_name("ropewalk")
DESKTOP, PHONE = (1400, 1000), (390, 844)
#: for touch, WCAG 2.2 (2.5.5, target size) asks for 44 CSS pixels
THUMB = 44
PATIENCE_MS = 30_000


def without(what: str) -> NoReturn:
    """Skip for want of a browser, or fail where one is asked for."""
    if os.environ.get("ROPEWALK_REQUIRE_BROWSER") == "1":
        pytest.fail(f"{what}, and ROPEWALK_REQUIRE_BROWSER=1 asks for it", pytrace=False)
    pytest.skip(what)


@contextmanager
def chromium() -> Iterator[Any]:
    """Start a browser; skip the test where there is none."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        without("playwright is not installed")
    with sync_playwright() as playwright:
        names = ("chromium", "chromium-browser", "google-chrome")
        installed = next(
            (found for name in names if (found := shutil.which(name))), playwright.chromium.executable_path
        )
        if not Path(installed).exists():
            without("there is no Chromium")
        browser = playwright.chromium.launch(
            executable_path=installed, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        yield browser
        browser.close()


@dataclass(frozen=True)
class Served:
    """A page being served: where, and by which process."""

    address: str
    process: subprocess.Popen[bytes]


@contextmanager
def serving(*options: str) -> Iterator[Served]:
    """Start the page as its command does; nothing may have gone wrong in it when it ends."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [COMMAND, "page", "--port", str(port), *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as page:
        try:
            await_health(f"http://127.0.0.1:{port}", page)
            yield Served(f"http://127.0.0.1:{port}", page)
        finally:
            page.terminate()
            said, _ = page.communicate(timeout=30)
    assert b"Traceback" not in said, said.decode()


def await_health(address: str, page: subprocess.Popen[bytes]) -> None:
    """Wait until the page answers."""
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
    address: str
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
                && document.querySelector('h1') && [...document.images].every(image => image.complete);
            }""",
            timeout=PATIENCE_MS,
        )

    def go(self, path: str = "", query: str = "") -> None:
        """Open a page by its address: a new session."""
        self.tab.goto(f"{self.address}/{path}{query}")
        self.settle()

    def turn_to(self, title: str) -> None:
        """Turn to a page by the navigation, in the same session."""
        narrow = self.tab.viewport_size["width"] < 768
        links = self.tab.get_by_test_id("stPageLink-NavLink" if narrow else "stTopNavLink")
        # Links of the page's own may lead there too: the first is that of the row on top.
        links.filter(has_text=re.compile(f"^{title}$")).first.click()
        self.tab.wait_for_function(
            "title => document.querySelector('h1')?.innerText.startsWith(title)",
            arg="Ropewalk" if title == "Bike" else f"{title}:",
            timeout=PATIENCE_MS,
        )
        self.settle()

    def confirm_levers(self) -> None:
        """Say that the levers are as the file has them, where the page asks."""
        asked = self.tab.locator(".st-key-levers-are-so button")
        if asked.count():
            asked.click()
            asked.wait_for(state="detached", timeout=PATIENCE_MS)
        self.settle()

    def pick(self, bike: FleetBike) -> None:
        """Pick a bike of the fleet on the page of the bike."""
        # Scrolling closes what the picker opens.
        self.tab.evaluate("() => document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
        self.tab.get_by_role("combobox", name="Bike", exact=True).click()
        self.tab.get_by_role("option", name=bike.title, exact=True).click()
        self.tab.wait_for_function(
            "name => location.search.includes(`bike=${name}`)", arg=bike.name, timeout=PATIENCE_MS
        )
        self.settle()

    def list_of(self, bike: FleetBike) -> None:
        """Show the cut list of a bike of the fleet."""
        self.turn_to("Bike")
        self.pick(bike)
        self.confirm_levers()
        self.turn_to("Cut list")

    def upload(self, file: Path | dict[str, Any]) -> None:
        """Bring a frame file on the page of the bike."""
        if not self.tab.get_by_test_id("stFileUploader").is_visible():
            self.tab.get_by_text("Use a frame file of your own").click()
        self.tab.locator("input[type=file]").first.set_input_files(file)

    def cuts(self) -> list[tuple[str, str]]:
        """Return tags and first cuts as the cut list has them."""
        tags = self.tab.locator(".rw-tag").all_inner_texts()
        firsts = self.tab.locator(".rw-first > :last-child").all_inner_texts()
        return list(zip(tags, firsts, strict=True))

    def saved(self, button: str) -> tuple[str, bytes]:
        """Return name and contents of what a button saves."""
        with self.tab.expect_download(timeout=PATIENCE_MS) as waiting:
            self.tab.get_by_role("button", name=button, exact=True).click()
        return waiting.value.suggested_filename, Path(waiting.value.path()).read_bytes()


@contextmanager
def visiting(browser: Any, address: str) -> Iterator[Callable[..., Visit]]:
    """Return a function that opens the page as a new visitor."""
    visits: list[Visit] = []

    def come(size: tuple[int, int] = DESKTOP, path: str = "", query: str = "", **context: Any) -> Visit:
        touch = size == PHONE
        tab = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, has_touch=touch, is_mobile=touch, **context
        ).new_page()
        visit = Visit(tab, address)
        visits.append(visit)
        tab.on("pageerror", lambda error: visit.faults.append(f"script: {error}"))
        tab.on("console", lambda said: _note_error(said, visit.faults))
        tab.on("dialog", lambda dialog: (visit.faults.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        tab.on("request", lambda request: note_strangers(request.url, visit.faults))
        visit.go(path, query)
        return visit

    yield come
    for each in visits:
        each.tab.context.close()


def _note_error(said: Any, faults: list[str]) -> None:
    if said.type == "error":
        faults.append(f"{said.text} ({said.location.get('url', '')})")


def note_strangers(address: str, faults: list[str]) -> None:
    """Note a request that leaves this machine."""
    parts = urlparse(address)
    if parts.scheme not in ("data", "blob") and parts.hostname != "127.0.0.1":
        faults.append(f"request to {address}")


# The steering view.


def rest(here: Visit) -> None:
    here.tab.locator(".steering[data-resting=true]").wait_for(timeout=PATIENCE_MS)


def slider(here: Visit, name: str = "Steering angle") -> Any:
    return here.tab.get_by_role("slider", name=name)


def frames(here: Visit) -> int:
    return int(here.tab.locator(".steering").get_attribute("data-frames"))


# Frames that the browser offers while this counts, drawn or not.
OFFERED = """() => {
  const count = () => { window.framesOffered += 1; window.counting = requestAnimationFrame(count); };
  window.framesOffered = 0;
  count();
}"""


def drag(here: Visit, seconds: float) -> tuple[int, int, set[str]]:
    """Drag the thumb from the middle by way of the left lock to the right one.

    Returns frames drawn, frames that the browser offered, and words seen.
    """
    box = slider(here).bounding_box()
    middle, reach = box["x"] + box["width"] / 2, box["width"] / 2 - 23
    height = box["y"] + box["height"] / 2
    here.tab.mouse.move(middle, height)
    here.tab.mouse.down()
    here.tab.evaluate(OFFERED)
    before, seen, start = frames(here), set(), time.monotonic()
    while (share := (time.monotonic() - start) / seconds) < 1.0:
        here.tab.mouse.move(middle - reach * math.sin(1.5 * math.pi * share), height)
        seen.add(slider(here).get_attribute("aria-valuetext"))
    drawn = frames(here) - before
    offered = here.tab.evaluate("() => { cancelAnimationFrame(window.counting); return window.framesOffered; }")
    here.tab.mouse.up()
    rest(here)
    return drawn, offered, seen


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
      && e.innerText && e.getClientRects().length && !e.matches('.rw-sign')).flatMap(e => {
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
