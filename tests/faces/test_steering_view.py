"""The steering view in a real browser: it follows the hand, its figures are the plan's, and everybody can use it.

Where there is no Chromium these tests skip; with ROPEWALK_REQUIRE_BROWSER=1 its absence is a failure.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from bentbytwo import bent_by_two, bent_by_two_text
from browsing import (
    DESKTOP,
    PATIENCE_MS,
    PHONE,
    SIDEWAYS,
    THUMB,
    Visit,
    chromium,
    drag,
    rest,
    serving,
    slider,
    visiting,
)
from planned import FLEET, planned

from ropewalk.bike.fleet import find
from ropewalk.bike.poses import SHOWN
from ropewalk.routing.course import Wrap
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import posed_lines
from ropewalk.workshop.sweepview import worst_poses


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def visit(browser: Any) -> Iterator[Callable[..., Visit]]:
    with serving() as page, visiting(browser, page.address) as come:
        yield come


def steering(visit: Callable[..., Visit], query: str, size: tuple[int, int] = DESKTOP, **context: Any) -> Visit:
    here = visit(size, "steering", query, **context)
    rest(here)
    return here


def move_to(here: Visit, value: int, name: str = "Steering angle") -> None:
    slider(here, name).fill(str(value))
    rest(here)


def picture(here: Visit, view: str = "side") -> list[str]:
    """Return the strokes of the lines as a view has them."""
    strokes = here.tab.locator(f"figure.{view} path.stroke").all()
    return [stroke.get_attribute("d") for stroke in strokes]


def told(here: Visit, cell: str = "radius") -> dict[str, str]:
    """Return what the list of pieces says, by tag."""
    tags = here.tab.locator(".figures .piece").all_inner_texts()
    cells = here.tab.locator(f".figures td.{cell}").all_text_contents()
    return {tag.strip().split(" + ")[0]: words for tag, words in zip(tags, cells, strict=True)}


def planned_radii(job: JobPlan, shown: Mapping[str, int]) -> dict[str, str]:
    """Return the least radius of each piece where it moves, in a pose, worked out for that pose alone."""
    pose = {name: value / SHOWN[name][1] for name, value in shown.items()}
    found: dict[str, float] = {}
    for place, line in enumerate(posed_lines(job, pose)):
        for at, span in enumerate(line.spans):
            if span.tag is None:
                continue
            loop = job.loops.get((place, at))
            # NaN until something of it moves
            found.setdefault(span.tag, math.nan)
            if isinstance(job.routing[place].spans[at], Wrap) or (loop is not None and loop.case.moves):
                found[span.tag] = float(np.fmin(found[span.tag], span.least_radius))
    words = {math.inf: "straight"}
    return {
        tag: "nothing moves" if math.isnan(radius) else words.get(radius, f"{radius:.1f} mm")
        for tag, radius in found.items()
    }


@pytest.mark.parametrize("bike", ["touring", "trail", "folding"])
def test_the_picture_follows_the_slider_while_it_is_dragged(visit: Callable[..., Visit], bike: str) -> None:
    here = steering(visit, f"?bike={bike}")
    before = picture(here), picture(here, "top"), told(here)
    drawn, offered, seen = drag(here, 2.0)
    # sixty a second are offered on an idle machine; how many are drawn then is told by the figures of speed
    assert drawn >= offered / 2 > 0
    assert len(seen) > 2
    assert picture(here) != before[0]
    assert picture(here, "top") != before[1]
    assert told(here) != before[2]
    assert here.faults == []


def test_the_bike_is_sent_once(visit: Callable[..., Visit]) -> None:
    here = visit()
    received: list[int] = []
    here.tab.on("websocket", lambda socket: socket.on("framereceived", lambda data: received.append(len(data))))
    here.go("steering", "?bike=trail")
    rest(here)
    assert 20_000 < sum(received) < 400_000
    received.clear()
    drag(here, 0.5)
    move_to(here, 70, "Fork travel")
    here.tab.wait_for_function("() => location.search.includes('fork=70')", timeout=PATIENCE_MS)
    here.settle()
    assert 0 < sum(received) < 20_000


@pytest.mark.parametrize("bike", FLEET)
def test_figures_in_the_browser_are_the_plans(visit: Callable[..., Visit], bike: str) -> None:
    here = steering(visit, f"?bike={bike}")
    job = planned(bike)
    lock = int(slider(here).get_attribute("max"))
    for degree in (0, 1, -17, 38, -lock, lock):
        move_to(here, degree)
        assert told(here) == planned_radii(job, {"steer": degree}), degree
    assert here.faults == []


def test_figures_of_other_things_that_move_are_the_plans(visit: Callable[..., Visit]) -> None:
    here = steering(visit, "?bike=trail")
    for name, value in (("Fork travel", 83), ("Rear travel", 121), ("Dropper post", 40), ("Steering angle", -29)):
        move_to(here, value, name)
    shown = {"fork": 83, "rear": 121, "post": 40, "steer": -29}
    assert told(here) == planned_radii(planned("trail"), shown)
    here = steering(visit, "?bike=folding")
    straight = picture(here)
    move_to(here, 20)
    for degree in (1, 88, 175):
        move_to(here, degree, "Fold")
        assert told(here) == planned_radii(planned("folding"), {"fold": degree}), degree
        # While it is folded the bars point as the file says.
        assert slider(here).is_disabled()
        assert slider(here).input_value() == "0"
    assert picture(here) != straight
    move_to(here, 0, "Fold")
    assert slider(here).input_value() == "20"


def test_what_several_things_bend_is_told_about_until_it_is_known(visit: Callable[..., Visit]) -> None:
    """Such figures hold for one setting: for another the page says "about" until the exact ones have come."""
    here = visit()
    here.turn_to("Bike")
    here.upload({"name": "two.toml", "mimeType": "text/plain", "buffer": bent_by_two_text().encode()})
    here.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    here.turn_to("Steering")
    rest(here)
    assert told(here) == planned_radii(bent_by_two(), {})
    # Dragged and not let go, nobody was asked yet.
    fork = slider(here, "Fork travel")
    fork.evaluate("e => { e.value = 91; e.dispatchEvent(new Event('input', {bubbles: true})); }")
    assert told(here)["A1"].startswith("about ")
    assert here.tab.locator(".figures tr.about").count() == 1
    fork.evaluate("e => e.dispatchEvent(new Event('change', {bubbles: true}))")
    here.tab.locator(".figures tr.about").wait_for(state="detached", timeout=PATIENCE_MS)
    assert told(here) == planned_radii(bent_by_two(), {"fork": 91})
    move_to(here, -33)
    assert told(here) == planned_radii(bent_by_two(), {"fork": 91, "steer": -33})
    assert here.faults == []


def test_keys_move_it_and_readers_hear_it(visit: Callable[..., Visit]) -> None:
    here = steering(visit, "?bike=touring")
    straight = picture(here)
    here.tab.get_by_role("img", name=re.compile("^Side view of Quay tourer, straight ahead: A1 runs from")).wait_for()
    here.tab.get_by_role("img", name=re.compile("^Cockpit from above of Quay tourer, straight ahead")).wait_for()
    slider(here).focus()
    for _ in range(3):
        here.tab.keyboard.press("ArrowRight")
    assert slider(here).get_attribute("aria-valuetext") == "3° right"
    rest(here)
    assert picture(here) != straight
    here.tab.keyboard.press("Home")
    assert slider(here).get_attribute("aria-valuetext") == "75° left, lock"
    here.tab.get_by_role("status").get_by_text(
        re.compile("^75° left. .*D2 30.7 mm, close to its kink radius")
    ).wait_for()
    here.tab.get_by_role("button", name="Straight", exact=True).click()
    assert slider(here).get_attribute("aria-valuetext") == "straight ahead"
    rest(here)
    assert picture(here) == straight
    here.tab.get_by_role("button", name="Right lock 75°").press("Enter")
    rest(here)
    assert told(here) == planned_radii(planned("touring"), {"steer": 75})
    here.tab.get_by_role("img", name=re.compile("^Side view of Quay tourer, 75° right")).wait_for()
    assert here.faults == []


@pytest.mark.parametrize("bike", ["trail", "longtail", "folding"])
def test_the_worst_pose_is_a_button_and_a_mark(visit: Callable[..., Visit], bike: str) -> None:
    here = steering(visit, f"?bike={bike}")
    worst = worst_poses(planned(bike))[0]
    here.tab.get_by_role("button", name=re.compile(f"^Worst: {worst.tag} at ")).click()
    rest(here)
    assert slider(here).input_value() == f"{worst.pose['steer_deg']:.0f}"
    assert told(here)[worst.tag] == f"{worst.radius:.1f} mm"
    words = " ".join(here.tab.locator(".steer .worst .words").all_inner_texts()).split()
    assert worst.tag in words
    assert here.tab.locator(".steer .marks .lock").count() == 2
    assert here.tab.get_by_text("riding ±45°").count() == 1


# For each slider: the middle of each mark of a worst pose, and words over them with their left and right edges.
MARKED = """root => [...root.querySelectorAll('.marks')].map(marks => [
  [...marks.querySelectorAll('.worst')].map(e => e.getBoundingClientRect()).map(r => r.left + r.width / 2),
  [...marks.querySelectorAll('.worst .words')].filter(e => e.textContent)
    .map(e => [e.textContent, e.getBoundingClientRect()]).map(([told, r]) => [told, r.left, r.right]),
])"""


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
@pytest.mark.parametrize("bike", ["trail", "folding", "tandem", "track"])
def test_marks_of_worst_poses_have_their_tags_over_them(
    visit: Callable[..., Visit], bike: str, size: tuple[int, int]
) -> None:
    here = steering(visit, f"?bike={bike}", size)
    sliders = here.tab.locator(".steering").evaluate(MARKED)
    assert any(marks for marks, _ in sliders) == bool(worst_poses(planned(bike)))
    for marks, words in sliders:
        assert bool(marks) == bool(words)
        assert not any(one[2] > other[1] for one, other in pairwise(words))
        assert all(left >= 0.0 and right <= size[0] for _, left, right in words)
        # a mark has words of its own, but where these would lie over its neighbour's
        if len(words) == len(marks):
            assert all(left < mark < right for mark, (_, left, right) in zip(marks, words, strict=True))
        else:
            assert any(other - one < 70.0 for one, other in pairwise(marks))


def test_what_is_close_to_its_limit_is_told_in_words_and_shape(visit: Callable[..., Visit]) -> None:
    """The loop at the touring bike's derailleur is within a tenth of its kink radius."""
    here = steering(visit, "?bike=touring")
    assert 30.0 < float(told(here, "held")["D2"].split()[0]) < 33.0
    assert told(here, "state")["D2"] == "close to its kink radius, 30 mm"
    label = here.tab.locator("figure.side .label.near")
    assert label.locator("text").all_text_contents() == ["D2  30.7 mm", "near kink radius 30"]
    band = here.tab.locator("figure.side .band.near")
    assert band.get_attribute("d").startswith("M")
    assert band.evaluate("e => getComputedStyle(e).strokeDasharray") != "none"
    plain = here.tab.locator("figure.side .stroke").first
    width = "e => parseFloat(getComputedStyle(e).strokeWidth)"
    assert band.evaluate(width) > plain.evaluate(width) + 3.0


# Elements inside the view that reach over the screen, or are too small for a thumb.
INSIDE = """root => [...root.querySelectorAll('button, input, figure, table, .panel, .words')]
  .map(e => [e, e.getBoundingClientRect()]).filter(([e, r]) => r.width > 0 && (r.right > innerWidth + 1 || r.left < -1))
  .map(([e]) => `${e.tagName}.${e.className}: ${e.textContent.slice(0, 30)}`)"""
SMALL = """(root, thumb) => [...root.querySelectorAll('button, input')].map(e => [e, e.getBoundingClientRect()])
  .filter(([e, r]) => r.width < thumb || r.height < thumb).map(([e]) => e.textContent || e.id)"""
CROSSED = """root => {
  const boxes = [...root.querySelectorAll('.head label, .head .value, .words, .buttons button, figcaption > *')]
    .filter(e => e.textContent).map(e => [e.textContent, e.getBoundingClientRect()]);
  const over = (p, q) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1
    && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 3;
  return boxes.flatMap(([a, p], at) => boxes.slice(at + 1).filter(([, q]) => over(p, q)).map(([b]) => `${a} on ${b}`));
}"""
LABELS = """root => [...root.querySelectorAll('svg')].flatMap(svg => {
  const plates = [...svg.querySelectorAll('.label')].filter(e => e.style.display !== 'none')
    .map(e => [e.textContent, e.querySelector('.plate').getBoundingClientRect(), e.querySelector('.tag')]);
  const over = (p, q) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1
    && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 1;
  return plates.flatMap(([a, p, text], at) => [
    ...plates.slice(at + 1).filter(([, q]) => over(p, q)).map(([b]) => `${a} on ${b}`),
    ...(text.getBoundingClientRect().right > p.right + 1 ? [`${a} is wider than its plate`] : []),
  ]);
})"""


@pytest.mark.parametrize(("size", "scheme"), [(DESKTOP, "light"), (PHONE, "dark")], ids=["desktop", "phone"])
@pytest.mark.parametrize("bike", FLEET)
def test_it_fits_the_screen_in_every_pose(
    visit: Callable[..., Visit], bike: str, size: tuple[int, int], scheme: str
) -> None:
    here = steering(visit, f"?bike={bike}", size, color_scheme=scheme)
    root = here.tab.locator(".steering")
    assert root.get_attribute("data-theme") == scheme
    for button in ("Left lock", "Straight", "Right lock"):
        here.tab.get_by_role("button", name=re.compile(f"^{button}")).click()
        rest(here)
        assert root.evaluate(LABELS) == []
    assert root.evaluate(INSIDE) == []
    assert root.evaluate(SMALL, THUMB) == []
    assert root.evaluate(CROSSED) == []
    assert here.tab.evaluate(SIDEWAYS) == []
    assert here.faults == []


HOSTILE = "<img src=x onerror=alert(1)><b>boat</b>"


def test_what_people_typed_stays_text(visit: Callable[..., Visit]) -> None:
    text = find("touring").read_text(encoding="utf-8").replace("Quay tourer", HOSTILE)
    text = text.replace("front caliper", f"caliper {HOSTILE}")
    here = visit()
    here.turn_to("Bike")
    here.upload({"name": "odd.toml", "mimeType": "text/plain", "buffer": text.encode()})
    here.tab.wait_for_function("() => location.search.includes('frame=')", timeout=PATIENCE_MS)
    here.turn_to("Steering")
    rest(here)
    assert f"caliper {HOSTILE}" in here.tab.locator(".figures").inner_text()
    here.tab.get_by_role("status").get_by_text("straight ahead").wait_for(state="attached", timeout=PATIENCE_MS)
    assert HOSTILE in here.tab.locator("figure.side svg").get_attribute("aria-label")
    assert here.tab.locator(".steering img, .steering b").count() == 0
    assert here.faults == []


def test_the_link_brings_the_pose_back(visit: Callable[..., Visit]) -> None:
    here = steering(visit, "?bike=trail&steer=-21&fork=64&rear=9")
    assert slider(here).input_value() == "-21"
    assert slider(here, "Fork travel").input_value() == "64"
    assert slider(here, "Rear travel").input_value() == "9"
    assert told(here) == planned_radii(planned("trail"), {"steer": -21, "fork": 64, "rear": 9})
    move_to(here, 12)
    here.tab.wait_for_function("() => location.search.includes('steer=12')", timeout=PATIENCE_MS)
    again = steering(visit, here.tab.evaluate("() => location.search"))
    assert slider(again).input_value() == "12"
    assert slider(again, "Fork travel").input_value() == "64"
    # Another page and back: the bike still stands as it was left.
    again.turn_to("Cut list")
    again.turn_to("Steering")
    rest(again)
    assert slider(again).input_value() == "12"


@pytest.mark.parametrize("garbage", ["steer=9999", "steer=<b>", "steer=nan", "fork=-3"])
def test_a_link_with_garbage_starts_straight_and_says_so(visit: Callable[..., Visit], garbage: str) -> None:
    here = steering(visit, f"?bike=trail&{garbage}")
    assert slider(here).input_value() == "0"
    assert slider(here, "Fork travel").input_value() == "0"
    name, value = garbage.split("=")
    assert (
        here.tab.get_by_role("alert").inner_text().startswith(f'not taken the link gives {name} as "{value}": write a ')
    )


def test_what_is_saved_is_the_pose_shown(visit: Callable[..., Visit]) -> None:
    here = steering(visit, "?bike=touring")
    move_to(here, 75)
    here.tab.wait_for_function("() => location.search.includes('steer=75')", timeout=PATIENCE_MS)
    here.settle()
    for button, beginning in (("Save SVG", b"<svg"), ("Save PDF", b"%PDF-"), ("Save PNG", b"\x89PNG\r\n\x1a\n")):
        name, held = here.saved(button)
        assert name == f"quay-tourer-75-right.{button[-3:].lower()}"
        assert held.startswith(beginning)
        assert button != "Save SVG" or "bars turned 75° to the right" in held.decode()
    assert here.faults == []
