"""The bike changed on the page: the plan follows, a bad value costs one line beside its field and nothing else."""

from __future__ import annotations

import re
import tomllib
from html.parser import HTMLParser

import pytest
from streamlit.testing.v1 import AppTest

from ropewalk.bike.fields import fields_of
from ropewalk.bike.fleet import fleet
from ropewalk.bike.reading import loads
from ropewalk.bike.starting import Size, started_from
from ropewalk.workshop.plan import plan

TOURING = next(bike for bike in fleet() if bike.name == "touring")
SOUND = TOURING.path.read_text(encoding="utf-8")
HOSTILE = '<script>alert("1")</script><img src=x onerror=a(1)>'


class Texts(HTMLParser):
    """Collects the text of elements by class, nested ones too."""

    def __init__(self, body: str) -> None:
        super().__init__()
        self._open: list[tuple[list[str], list[str]]] = []
        self.found: list[tuple[list[str], str]] = []
        self.feed(body)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open.append(((dict(attrs).get("class") or "").split(), []))

    def handle_data(self, data: str) -> None:
        for _, text in self._open:
            text.append(data)

    def handle_endtag(self, tag: str) -> None:
        classes, text = self._open.pop()
        self.found.append((classes, "".join(text)))

    def of(self, css: str) -> list[str]:
        return [text for classes, text in self.found if css in classes]


def body(page: AppTest) -> str:
    return "".join(part.value for part in page.get("html") if "<style>" not in part.value)


def complaints(page: AppTest) -> list[str]:
    return [text.removeprefix("not taken ") for text in Texts(body(page)).of("rw-complaint")]


def lengths(page: AppTest) -> dict[str, int]:
    """Return the first cuts that stand over the editor."""
    (shown,) = re.findall(r'<ul class="rw-lengths".*?</ul>', body(page))
    return {tag: int(mm) for tag, mm in re.findall(r'rw-tag">(\w+)</span> <b>(\d+) mm', shown)}


def lengths_of(text: str) -> dict[str, int]:
    job = plan(loads(text, "a"))
    return {piece.tag: round(piece.first_cut) for line in job.lines for piece in line.pieces if piece.first_cut}


def opened(name: str = "touring") -> AppTest:
    """Return the page with a bike of the fleet, its levers confirmed."""
    page = AppTest.from_string("from ropewalk.page.router import run\nrun('bike')", default_timeout=120)
    page.query_params["bike"] = name
    return confirmed(page.run())


def confirmed(page: AppTest) -> AppTest:
    page.button(key="levers are so").click().run()
    return sound(page)


def sound(page: AppTest) -> AppTest:
    assert not page.exception and not page.error
    return page


def part(page: AppTest, name: str) -> AppTest:
    page.segmented_control(key="editing part").set_value(name).run()
    return sound(page)


def saved(page: AppTest) -> str:
    """Return the frame file's text as the page holds it."""
    shown = part(page, "The file")
    return str(shown.text_area(key="edit file").value)


def retyped(page: AppTest, text: str) -> AppTest:
    part(page, "The file").text_area(key="edit file").set_value(text).run()
    return sound(page)


# A good value.


def test_a_changed_chart_value_changes_the_lengths_as_the_plan_of_the_changed_file_has_them() -> None:
    page = opened()
    assert lengths(page) == lengths_of(SOUND)
    page.number_input(key="edit chart.head_tube").set_value(155.0).run()
    text = SOUND.replace("head_tube = 150\n", "head_tube = 155\n")
    assert text != SOUND and lengths_of(text) != lengths_of(SOUND)
    assert lengths(sound(page)) == lengths_of(text)
    assert not complaints(page)
    assert saved(page) == text
    assert page.selectbox(key="bike").value == "own"


def test_a_station_is_changed_added_moved_and_removed() -> None:
    page = part(opened(), "Lines and stations")
    page.selectbox(key="editing line").select(("line", 1)).run()
    page.selectbox(key="editing station").select(2).run()
    page.number_input(key="edit line.1.station.2.along").set_value(100.0).run()
    text = SOUND.replace(
        'from = "head tube", along = 85, clock = 8, facing = "head tube"',
        'from = "head tube", along = 100, clock = 8, facing = "head tube"',
        1,
    )
    assert lengths(sound(page)) == lengths_of(text)
    page.selectbox(key="editing station").select(1).run()
    page.button(key="edit add station").click().run()
    assert sound(page).selectbox(key="editing station").value == 2
    assert page.text_input(key="edit line.1.station.2.name").value == "new clip"
    page.button(key="edit move up").click().run()
    assert page.text_input(key="edit line.1.station.1.name").value == "new clip"
    page.button(key="edit remove station").click().run()
    assert saved(page) == text


def test_left_out_fields_show_their_default_and_are_left_out_again() -> None:
    page = part(opened(), "Cockpit")
    diameter = page.number_input(key="edit cockpit.bar.diameter")
    assert diameter.value is None and diameter.placeholder == "left out: 23.8 mm"
    diameter.set_value(25.4).run()
    assert "diameter = 25.4 }" in saved(page)
    part(page, "Cockpit").number_input(key="edit cockpit.bar.diameter").set_value(None).run()
    assert saved(page) == SOUND


def test_another_shape_of_bar_leaves_nothing_of_the_last_one() -> None:
    page = part(opened("hardtail"), "Cockpit")
    page.selectbox(key="edit cockpit.bar.shape").select("swept").run()
    (told,) = complaints(sound(page))
    assert told.startswith("cockpit.bar") and "backsweep" in told
    page.number_input(key="edit cockpit.bar.backsweep").set_value(30.0).run()
    bar = tomllib.loads(saved(page))["cockpit"]["bar"]
    assert bar["shape"] == "swept" and "upsweep" not in bar


# A bad value.


def test_a_bad_value_is_told_beside_its_field_and_the_lengths_stay() -> None:
    page = opened()
    before = lengths(page)
    page.number_input(key="edit chart.stack").set_value(9999.0).run()
    assert complaints(sound(page)) == ["chart.stack is 9999 mm: it has to be between 250 and 800 mm"]
    assert lengths(page) == before
    assert page.selectbox(key="bike").value == "fleet touring"
    # It stands in the same column as the field, right after it.
    (column,) = (column for column in page.columns if any(n.key == "edit chart.stack" for n in column.number_input))
    assert any("9999 mm" in part_.value for part_ in column.get("html"))
    # Nothing typed is lost, and what is typed elsewhere joins it.
    assert page.number_input(key="edit chart.stack").value == 9999
    page.number_input(key="edit chart.reach").set_value(381.0).run()
    assert "stack = 9999\nreach = 381\n" in saved(page)
    part(page, "Chart").number_input(key="edit chart.stack").set_value(591.0).run()
    assert not complaints(page)
    assert lengths(page) == lengths_of(SOUND.replace("reach = 380\n", "reach = 381\n"))


def test_what_shows_only_in_planning_is_told_beside_its_field_too() -> None:
    page = part(opened(), "Lines and stations")
    before = lengths(page)
    page.selectbox(key="editing line").select(("line", 1)).run()
    page.selectbox(key="editing station").select(2).run()
    page.number_input(key="edit line.1.station.2.along").set_value(1400.0).run()
    (told,) = complaints(sound(page))
    assert told.startswith('line "rear brake", station "front top tube stop": along is 1400 mm')
    (column,) = (c for c in page.columns if any(n.key == "edit line.1.station.2.along" for n in c.number_input))
    assert any("1400 mm" in part_.value for part_ in column.get("html"))
    assert lengths(page) == before
    # From another part of the file a button leads to the field.
    part(page, "Chart").button(key="edit go 0").click().run()
    assert sound(page).number_input(key="edit line.1.station.2.along").value == 1400


def test_text_that_is_no_toml_is_told_and_stays_to_be_put_right() -> None:
    page = retyped(opened(), SOUND.replace("[chart]", "[chart"))
    (told,) = complaints(page)
    assert told.startswith("line 7, column")
    assert saved(page) == SOUND.replace("[chart]", "[chart")
    assert lengths(page) == lengths_of(SOUND)
    assert not complaints(retyped(page, SOUND))


def test_changes_are_taken_back_one_by_one_or_all_at_once() -> None:
    page = opened()
    page.number_input(key="edit chart.head_tube").set_value(152.0).run()
    page.number_input(key="edit chart.head_tube").set_value(155.0).run()
    page.number_input(key="edit chart.stack").set_value(1.0).run()
    page.button(key="edit undo").click().run()
    assert not complaints(page) and page.number_input(key="edit chart.head_tube").value == 155
    page.button(key="edit undo").click().run()
    assert page.number_input(key="edit chart.head_tube").value == 152
    page.button(key="edit back").click().run()
    assert saved(page) == SOUND
    assert lengths(page) == lengths_of(SOUND)


def test_the_fleets_own_bike_stays_as_it_is() -> None:
    page = opened()
    page.number_input(key="edit chart.head_tube").set_value(155.0).run()
    page.selectbox(key="bike").select("fleet touring").run()
    assert sound(page).number_input(key="edit chart.head_tube").value == 150
    assert lengths(page) == lengths_of(SOUND)
    page.selectbox(key="bike").select("own").run()
    assert page.number_input(key="edit chart.head_tube").value == 155


# Whatever people type.

TEXTS = [
    field.path
    for field in fields_of(SOUND)
    if field.kind == "text" and field.value is not None and (field.path[0] != "line" or field.path[1] == 0)
]


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: ".".join(map(str, path)))
def test_html_in_a_text_field_stays_text(path: tuple[int | str, ...]) -> None:
    page = opened()
    if path[0] in ("lever", "line"):
        part(page, "Levers" if path[0] == "lever" else "Lines and stations")
    if "station" in path:
        page.selectbox(key="editing station").select(path[3]).run()
    elif path[0] == "lever":
        page.selectbox(key="editing lever").select(path[1]).run()
    key = "edit " + ".".join(map(str, path))
    if key in [each.key for each in page.selectbox]:
        # Where only places of this bike are offered, the file itself takes the text.
        old = next(field.value for field in fields_of(SOUND) if field.path == path)
        retyped(page, SOUND.replace(f'"{old}"', f"'{HOSTILE}'", 1))
    else:
        page.text_input(key=key).set_value(HOSTILE).run()
    markup = body(sound(page))
    assert "<script" not in markup and "<img" not in markup
    assert not any("<script" in element.value for element in page.markdown)
    assert HOSTILE in str(tomllib.loads(saved(page)))


def test_a_name_beyond_ascii_is_kept_and_shown() -> None:
    page = opened()
    page.text_input(key="edit name").set_value("Łódź ≤ 5").run()
    assert not complaints(sound(page))
    assert page.selectbox(key="bike").options[-1].startswith("Łódź ≤ 5")
    assert 'name = "Łódź ≤ 5"\n' in saved(page)


# A new bike.


def test_a_new_bike_is_started_from_the_nearest_and_can_be_changed() -> None:
    page = opened()
    page.text_input(key="start name").set_value("Łódź ≤ 5").run()
    page.selectbox(key="start kind").select("drop bar").run()
    page.number_input(key="start stack").set_value(610.0).run()
    page.number_input(key="start reach").set_value(388.0).run()
    (near,) = (each for each in page.selectbox if str(each.key).startswith("start from"))
    assert near.value == "touring"
    page.button(key="start").click().run()
    assert not complaints(sound(page))
    text = started_from(TOURING, Size("Łódź ≤ 5", stack=610, reach=388))
    assert saved(confirmed(page)) == text
    assert lengths(page) == lengths_of(text)


def test_a_size_that_cannot_be_is_told_in_one_line_and_the_bike_stays() -> None:
    page = opened()
    page.selectbox(key="start kind").select("drop bar").run()
    page.button(key="start").click().run()
    assert complaints(sound(page)) == [
        "give stack and reach of the new bike, or the length of its seat tube. The bike stays as it was."
    ]
    page.number_input(key="start stack").set_value(10.0).run()
    page.button(key="start").click().run()
    (told,) = complaints(sound(page))
    assert "cannot be moved to this size" in told and told.endswith("The bike stays as it was.")
    assert page.selectbox(key="bike").value == "fleet touring"
