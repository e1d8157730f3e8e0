"""The page for a phone in a real browser: nothing fetched, one piece a screen, the plan's lengths, ticks that last."""

from __future__ import annotations

import dataclasses
import html
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from browsing import chromium
from planned import FLEET, planned

from ropewalk.cli.main import main
from ropewalk.drawing.phonepage import phone_page
from ropewalk.workshop.jobplan import JobPlan, Step
from ropewalk.workshop.report import as_json_object

COMMAND = Path(sys.executable).with_name("ropewalk")
#: small phones of today [CSS px]
SIZES = [(360, 640), (390, 844)]
#: WCAG 2.2: text (1.4.3), and targets for a gloved thumb, larger than the 44 px of 2.5.5
CONTRAST, THUMB = 4.5, 48
HOSTILE = (
    "<script>document.title='gone'</script> \"><img src=x onerror=alert(1)> ' </style></script> &lt;b&gt; \u202e x"
)

SIDEWAYS = """() => {
  const wide = document.documentElement.clientWidth;
  const found = document.documentElement.scrollWidth > wide ? ['the page'] : [];
  for (const screen of document.querySelectorAll('.screen')) {
    if (screen.scrollWidth > screen.clientWidth) found.push(screen.ariaLabel);
    const room = screen.getBoundingClientRect();
    for (const e of screen.querySelectorAll('*')) {
      const box = e.getBoundingClientRect();
      if (box.left < room.left - 0.5 || box.right > room.right + 0.5) found.push(e.textContent.slice(0, 40));
    }
  }
  return found;
}"""
FADED = """() => {
  const numbers = colour => colour.match(/[\\d.]+/g).map(Number);
  const light = rgb => rgb.slice(0, 3).map(v => v / 255)
    .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const solid = colour => !(numbers(colour).length === 4 && numbers(colour)[3] === 0);
  const ground = e => {
    for (let at = e; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (solid(colour)) return colour;
    }
  };
  const texts = [...document.body.querySelectorAll('*')].filter(e => !e.matches('script, style')
    && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()));
  const ratios = texts.map(e => {
    const [a, b] = [light(numbers(getComputedStyle(e).color)), light(numbers(ground(e)))].sort((x, y) => y - x);
    return [e.textContent.slice(0, 30), (a + 0.05) / (b + 0.05)];
  });
  return ratios.length > 30 ? ratios : [['hardly any text', 0]];
}"""
SEEN = """() => {
  const left = document.querySelector('main').getBoundingClientRect().left;
  const here = [...document.querySelectorAll('.screen')].filter(e => Math.abs(e.getBoundingClientRect().x - left) < 1);
  return here.length === 1 && !here[0].inert ? here[0].getAttribute('aria-label') : '';
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@dataclasses.dataclass
class Phone:
    """A phone with a page open, what it asked for and what went wrong."""

    tab: Any
    path: Path
    asked: list[str]
    faults: list[str]

    def settle_at(self, label: str) -> None:
        self.tab.wait_for_function(f"label => ({SEEN})() === label", arg=label, timeout=5000)


@pytest.fixture
def open_page(browser: Any, tmp_path: Path) -> Iterator[Callable[..., Phone]]:
    contexts = []

    def opened(
        contents: bytes, size: tuple[int, int] = SIZES[0], *, name: str = "page.html", context: Any = None, **how: Any
    ) -> Phone:
        if context is None:
            context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **how)
            contexts.append(context)
        path = tmp_path / name
        path.write_bytes(contents)
        phone = Phone(context.new_page(), path, [], [])
        phone.tab.on("request", lambda request: phone.asked.append(request.url))
        phone.tab.on("console", lambda said: phone.faults.append(said.text))
        phone.tab.on("pageerror", lambda error: phone.faults.append(str(error)))
        phone.tab.on("dialog", lambda dialog: (phone.faults.append(dialog.message), dialog.dismiss()))
        phone.tab.goto(path.as_uri())
        return phone

    yield opened
    for context in contexts:
        context.close()


def tags(job: JobPlan) -> list[str]:
    return [piece.tag for line in job.lines for piece in line.pieces]


def labels(phone: Phone) -> list[str]:
    found: list[str] = phone.tab.locator(".screen").evaluate_all("all => all.map(e => e.getAttribute('aria-label'))")
    return found


def stopped_job() -> JobPlan:
    """Return the tourer with a stop on B2."""
    job = planned("touring")
    line = job.lines[1]
    pieces = (line.pieces[0], dataclasses.replace(line.pieces[1], window=None, first_cut=None, quantile=None))
    lines = (job.lines[0], dataclasses.replace(line, pieces=pieces), *job.lines[2:])
    found = dataclasses.replace(job.findings[0], grade="stop", where="rear brake, B2", text="no length keeps it")
    return dataclasses.replace(job, lines=lines, findings=(found, *job.findings))


# What it holds.


@pytest.mark.parametrize("name", FLEET)
def test_it_holds_the_lengths_of_the_json_object(open_page: Callable[..., Phone], name: str) -> None:
    job = planned(name)
    phone = open_page(phone_page(job))
    told = as_json_object(job, order=True)
    shown = labels(phone)
    order = [f"Piece {tag}" for kind in told["cutting_order"] for tag in kind["tags"]]
    assert [label for label in shown if label.startswith("Piece")] == order
    assert (shown[0], shown[-1]) == ("Bike", "Before you trust it")
    for line in told["lines"]:
        for piece in line["pieces"]:
            screen = phone.tab.locator(f'.screen[aria-label="Piece {piece["tag"]}"]')
            text = " ".join(screen.inner_text().split())
            assert screen.locator(".cut strong").inner_text() == f"{piece['first_cut_mm']:.0f} mm"
            assert float(re.findall(r"target (\d+) mm", text)[0]) == pytest.approx(piece["target_mm"], abs=0.55)
            window = [float(end) for end in re.findall(r"window (\d+)–(\d+) mm", text)[0]]
            assert window == pytest.approx(piece["window_mm"], abs=0.55)
            assert all(word in text for word in (piece["from"], piece["to"], piece["housing"], *piece["ends"]))
        wires = " ".join(phone.tab.locator('.screen[aria-label="Inners and liners"]').inner_text().split())
        if line["inner"] is not None:
            assert f"take {line['inner']['stock_mm']:.0f} mm" in wires
        assert all(f"cut {liner['cut_mm']:.0f} mm" in wires for liner in line["liners"])
    first, last = (" ".join(phone.tab.locator(".screen").nth(place).inner_text().split()) for place in (0, -1))
    assert all(caution in first and caution in last for caution in told["cautions"])
    assert all(found["where"] in first for found in told["findings"] if found["grade"] != "note")
    assert phone.faults == []


def test_the_command_writes_it_and_prints_the_list(open_page: Callable[..., Phone], tmp_path: Path) -> None:
    asked = [COMMAND, "cut", "road", "--json", "--phone", tmp_path / "road.html"]
    ended = subprocess.run(asked, capture_output=True, check=True, timeout=60)
    phone = open_page((tmp_path / "road.html").read_bytes())
    cuts = {
        piece["tag"]: piece["first_cut_mm"] for line in json.loads(ended.stdout)["lines"] for piece in line["pieces"]
    }
    for tag, cut in cuts.items():
        assert phone.tab.locator(f'.screen[aria-label="Piece {tag}"] .cut strong').inner_text() == f"{cut:.0f} mm"
    assert (tmp_path / "road.html").read_bytes() == phone_page(planned("road"))


def test_a_stop_says_do_not_cut(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(stopped_job()))
    screen = phone.tab.locator('.screen[aria-label="Piece B2"]')
    assert screen.locator(".cut.stop strong").inner_text() == "do not cut"
    assert screen.locator("input").count() == 0
    assert "no length keeps it" in screen.inner_text()
    assert labels(phone).index("Piece B2") == len(tags(stopped_job()))
    assert "1 stop: settle before you cut" in " ".join(phone.tab.locator(".screen").first.inner_text().split())
    assert phone.tab.evaluate(SIDEWAYS) == []


def test_after_a_dry_fit_it_says_what_to_do_now(open_page: Callable[..., Phone], tmp_path: Path) -> None:
    written = (
        'format = 1\nbike = "Quay tourer"\n[[piece]]\ntag = "A1"\nas_cut = 560\nfit = "tight at left lock"\n'
        '[[piece]]\ntag = "C1"\nas_cut = 700\nfit = "long"\n'
    )
    (tmp_path / "fit.toml").write_text(written, encoding="utf-8")
    asked = ["cut", "touring", "--fitted", tmp_path / "fit.toml", "--json", "--phone", tmp_path / "fit.html"]
    ended = subprocess.run([COMMAND, *asked], capture_output=True, check=True, timeout=60)
    found = {piece["tag"]: piece for piece in json.loads(ended.stdout)["fitted"]["pieces"]}
    phone = open_page((tmp_path / "fit.html").read_bytes())
    again, trim = (phone.tab.locator(f'.screen[aria-label="Piece {tag}"]') for tag in ("A1", "C1"))
    assert again.locator(".cut strong").inner_text() == f"make again: cut {found['A1']['cut_mm']:g} mm"
    assert trim.locator(".cut strong").inner_text().startswith("trim ")
    shown = re.findall(r"target\s+(\d+) mm", trim.inner_text())
    assert [float(one) for one in shown] == pytest.approx([found["C1"]["target_mm"]], abs=0.55)
    assert phone.tab.locator(".bar b").inner_text().endswith("0 of 6 done")
    assert phone.tab.evaluate(SIDEWAYS) == []


def test_lying_across_the_first_cut_is_in_sight(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")), (740, 360))
    phone.tab.keyboard.press("ArrowRight")
    phone.settle_at(labels(phone)[1])
    box = phone.tab.locator(".screen").nth(1).locator(".cut strong").bounding_box()
    assert box["y"] + box["height"] <= phone.tab.locator(".ways").bounding_box()["y"]


def test_changed_hands_are_told_with_their_caution(tmp_path: Path) -> None:
    asked = ["cut", "touring", "--hands", "front-left", "--json", "--phone", tmp_path / "hands.html"]
    ended = subprocess.run([COMMAND, *asked], capture_output=True, check=True, timeout=60)
    told = html.unescape((tmp_path / "hands.html").read_text(encoding="utf-8"))
    assert json.loads(ended.stdout)["hands"]["caution"] in told
    assert "The left lever works the front brake now" in told


# What it looks like.


@pytest.mark.parametrize("size", SIZES, ids=["360", "390"])
@pytest.mark.parametrize("name", FLEET)
def test_nothing_scrolls_sideways(open_page: Callable[..., Phone], name: str, size: tuple[int, int]) -> None:
    phone = open_page(phone_page(planned(name)), size)
    assert phone.tab.evaluate(SIDEWAYS) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out(open_page: Callable[..., Phone], scheme: str) -> None:
    phone = open_page(phone_page(stopped_job()), color_scheme=scheme)
    ground = phone.tab.evaluate("() => getComputedStyle(document.documentElement).backgroundColor")
    assert (sum(map(int, re.findall(r"\d+", ground))) < 200) == (scheme == "dark")
    for tick in phone.tab.locator(".tick input").all()[::2]:
        tick.evaluate("e => e.click()")
    assert [(text, ratio) for text, ratio in phone.tab.evaluate(FADED) if ratio < CONTRAST] == []


def test_what_is_pressed_is_large_enough(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")))
    boxes = [one.bounding_box() for one in phone.tab.locator("button, .tick").all()]
    assert len(boxes) == 2 + len(tags(planned("touring")))
    assert all(box["width"] >= THUMB and box["height"] >= THUMB for box in boxes)


def test_the_first_cut_is_the_largest_text_by_far(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")))
    sizes = phone.tab.locator(".screen").nth(1).evaluate(
        """e => [...e.querySelectorAll('*')].map(one => [one.matches('.cut strong'),
            parseFloat(getComputedStyle(one).fontSize)])"""
    )  # fmt: skip
    cut = max(size for is_cut, size in sizes if is_cut)
    assert cut >= 1.5 * max(size for is_cut, size in sizes if not is_cut)


# Finding one's way.


def test_every_screen_is_reached_by_keys_and_by_buttons(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("tandem")))
    every = labels(phone)
    back, onward = phone.tab.get_by_role("button", name="Back"), phone.tab.get_by_role("button", name="Next")
    phone.settle_at(every[0])
    assert back.is_disabled()
    for label in every[1:]:
        phone.tab.keyboard.press("ArrowRight")
        phone.settle_at(label)
    assert onward.is_disabled()
    phone.tab.keyboard.press("Home")
    phone.settle_at(every[0])
    for label in every[1:]:
        onward.click()
        phone.settle_at(label)
    for label in every[-2::-1]:
        back.click()
        phone.settle_at(label)
    phone.tab.keyboard.press("End")
    phone.settle_at(every[-1])
    assert phone.tab.locator(".bar b").inner_text().startswith(f"{len(every)} of {len(every)}")
    assert phone.faults == []


def test_keys_pressed_fast_are_all_counted(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("tandem")))
    for _ in range(4):
        phone.tab.keyboard.press("ArrowRight")
    phone.settle_at(labels(phone)[4])
    # It stays there: no key was counted late.
    phone.tab.wait_for_timeout(400)
    assert phone.tab.evaluate(f"({SEEN})()") == labels(phone)[4]
    assert phone.tab.locator(".bar b").inner_text().startswith("5 of ")


def test_a_swipe_turns_one_screen(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")), has_touch=True, is_mobile=True)
    finger = phone.tab.context.new_cdp_session(phone.tab)
    for number, label in enumerate(labels(phone)[1:3], 2):
        for x in range(300, 80, -15):
            kind = "touchStart" if x == 300 else "touchMove"
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": 300}]})
            phone.tab.wait_for_timeout(16)
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        phone.settle_at(label)
        assert phone.tab.locator(".bar b").inner_text().startswith(f"{number} of ")


def test_only_the_screen_in_sight_can_be_tabbed_to(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")))
    phone.tab.keyboard.press("ArrowRight")
    phone.settle_at(labels(phone)[1])
    reached = set()
    for _ in range(8):
        phone.tab.keyboard.press("Tab")
        reached.add(phone.tab.evaluate("() => document.activeElement.value || document.activeElement.innerText"))
    cut = labels(phone)[1].removeprefix("Piece ")
    assert {cut, "Back", "Next"} <= reached
    assert not reached & (set(tags(planned("touring"))) - {cut})


# Ticks.


def test_a_tick_survives_reloading_and_is_no_other_bike_s(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("touring")))
    phone.tab.keyboard.press("ArrowRight")
    phone.settle_at(labels(phone)[1])
    tag = labels(phone)[1].removeprefix("Piece ")
    phone.tab.get_by_label(f"{tag} is cut").check()
    assert phone.tab.locator(".bar b").inner_text() == f"2 of {len(labels(phone))} · 1 of 6 cut"
    phone.tab.reload()
    # The page opens where it was left.
    phone.settle_at(f"Piece {tag}")
    assert phone.tab.locator(".tick input:checked").evaluate_all("all => all.map(e => e.value)") == [tag]
    other = open_page(phone_page(planned("road")), name="other.html", context=phone.tab.context)
    assert other.tab.locator(".tick input").count() > 0
    assert other.tab.locator(".tick input:checked").count() == 0
    changed = dataclasses.replace(planned("touring").lines[0].pieces[0], first_cut=600.0)
    line = dataclasses.replace(planned("touring").lines[0], pieces=(changed,))
    job = dataclasses.replace(planned("touring"), lines=(line, *planned("touring").lines[1:]))
    again = open_page(phone_page(job), name="again.html", context=phone.tab.context)
    assert again.tab.locator(".tick input:checked").count() == 0
    phone.tab.get_by_label(f"{tag} is cut").uncheck()
    phone.tab.reload()
    assert phone.tab.locator(".tick input:checked").count() == 0


@pytest.mark.parametrize(
    "kept", ["null", "[]", "nonsense", '{"cut": 3}', '{"cut": ["A1"], "at": 1e99}', '{"cut": [{}]}']
)
def test_garbage_in_the_store_does_no_harm(open_page: Callable[..., Phone], kept: str) -> None:
    phone = open_page(phone_page(planned("touring")))
    phone.tab.evaluate("kept => localStorage.setItem('ropewalk ' + document.body.dataset.input, kept)", kept)
    phone.tab.reload()
    assert phone.tab.evaluate("() => document.documentElement.className") == "paged"
    assert phone.tab.locator(".bar b").inner_text().endswith("6 cut")
    assert phone.faults == []


# Alone and safe.


def test_it_asks_for_nothing_but_itself(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(planned("trail")))
    for _ in labels(phone):
        phone.tab.keyboard.press("ArrowRight")
    phone.tab.wait_for_timeout(300)
    assert phone.asked == [phone.path.as_uri()]
    # And it could not if it tried.
    fetched = phone.tab.evaluate("() => fetch('http://127.0.0.1:9/').then(() => 'sent', error => error.name)")
    assert fetched == "TypeError"
    assert any("Content Security Policy" in fault for fault in phone.faults)


def test_without_scripts_it_is_a_list(open_page: Callable[..., Phone]) -> None:
    job = planned("touring")
    phone = open_page(phone_page(job), java_script_enabled=False)
    lows = []
    for tag in tags(job):
        cut = phone.tab.locator(f'.screen[aria-label="Piece {tag}"] .cut strong')
        assert cut.is_visible()
        box = cut.bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= SIZES[0][0]
        lows.append(box["y"])
    assert len(set(lows)) == len(lows)
    assert phone.tab.locator(".ways").is_hidden()


class _Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(tag)


def test_hostile_names_stay_text(open_page: Callable[..., Phone]) -> None:
    job = planned("touring")
    renamed = [dataclasses.replace(piece, start=HOSTILE, end=HOSTILE, housing=HOSTILE) for piece in job.lines[0].pieces]
    line = dataclasses.replace(
        job.lines[0], name=HOSTILE, pieces=tuple(renamed), steps=(Step("cut", HOSTILE, HOSTILE),)
    )
    found = dataclasses.replace(job.findings[0], where=HOSTILE, text=HOSTILE, advice=HOSTILE)
    hostile = dataclasses.replace(job, bike=HOSTILE, lines=(line, *job.lines[1:]), findings=(found, *job.findings[1:]))
    parser = _Elements()
    parser.feed(phone_page(hostile).decode())
    assert (parser.found.count("script"), parser.found.count("style"), parser.found.count("img")) == (1, 1, 0)
    phone = open_page(phone_page(hostile))
    assert phone.tab.title() == f"{' '.join(HOSTILE.split())}: cut list"
    assert phone.tab.locator("h1").text_content() == HOSTILE
    assert HOSTILE in phone.tab.locator('.screen[aria-label="Piece A1"]').text_content()
    assert phone.tab.evaluate(SIDEWAYS) == []
    assert (phone.asked, phone.faults) == ([phone.path.as_uri()], [])


def test_a_long_name_without_breaks_fits(open_page: Callable[..., Phone]) -> None:
    phone = open_page(phone_page(dataclasses.replace(planned("touring"), bike="Łódź" * 30)))
    assert phone.tab.evaluate(SIDEWAYS) == []


def test_what_no_text_can_carry_is_replaced() -> None:
    job = dataclasses.replace(planned("touring"), bike="Quay\x00 \ud800tourer")
    assert "Quay\ufffd \ufffdtourer" in phone_page(job).decode()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("page.txt", "page.txt: the name of a page for a phone has to end in .html"),
        ("own.html", "own.html: is the frame file itself: name another file"),
        ("gone/page.html", "gone/page.html: cannot be written: there is no such folder, so make it first"),
    ],
)
def test_what_cannot_be_written_is_refused(
    name: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(("fleet", "--copy", "track")) == 0
    Path("track.toml").rename("own.html")
    capsys.readouterr()
    assert main(("cut", "own.html", "--phone", name)) == 2
    assert capsys.readouterr() == ("", f"{said}\n")
    assert [path.name for path in tmp_path.iterdir()] == ["own.html"]
