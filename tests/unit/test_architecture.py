"""The layers hold: imports point down only, libraries stay behind their gates, mechanics knows no bicycle."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[2] / "src" / "ropewalk"
#: from the ground up; packages of one row do not know each other
LAYERS = (
    {"errors", "units", "data"},
    {"bike", "mechanics"},
    {"routing"},
    {"analysis"},
    {"workshop"},
    {"drawing", "shopbook"},
    {"cli", "page"},
)
#: the only packages, or modules, that may import a library
GATES = {
    "matplotlib": ("drawing",),
    "reportlab": ("drawing",),
    "pypdfium2": ("drawing",),
    "ezdxf": ("drawing/dxf.py",),
    "streamlit": ("page", "app.py"),
    "typer": ("cli",),
    "rich": ("cli",),
    "click": ("cli",),
    "sqlite3": ("shopbook",),
    "pydantic": (
        "bike/written.py",
        "bike/chart.py",
        "bike/cockpit.py",
        "bike/framefile.py",
        "bike/movement.py",
        "bike/station.py",
        "bike/figures.py",
        "bike/deviations.py",
        "bike/reading.py",
        "bike/fitfile.py",
        "bike/faults.py",
        "bike/rows.py",
        "bike/rownumbers.py",
        "bike/rowreading.py",
        "bike/parts.py",
    ),
}
#: words that the mechanics of rods and wires must not know
BICYCLE = re.compile(
    r"\b(bicycle|bike|handlebar|bars?|housing|fork|lever|brake|derailleur|frame tube|steer\w*|wheel|stem)s?\b", re.I
)
#: the one import between faces: the command that starts the page
STARTS_PAGE = ("cli/commands.py", "ropewalk.page.launch")
MODULES = sorted(SOURCE.rglob("*.py"))


def rank(package: str) -> int:
    return next(place for place, layer in enumerate(LAYERS) if package in layer)


def package_of(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write absolute imports"
            yield str(node.module)


def test_there_is_something_to_look_at() -> None:
    assert len(MODULES) > 30
    assert {package_of(path) for path in MODULES} >= {
        "bike",
        "mechanics",
        "routing",
        "analysis",
        "workshop",
        "cli",
        "page",
    }


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_imports_point_down(path: Path) -> None:
    own = package_of(path)
    if own in ("__init__", "py"):
        return
    for name in imports(path):
        if name.startswith("ropewalk.") and (path.relative_to(SOURCE).as_posix(), name) != STARTS_PAGE:
            other = name.split(".")[1]
            assert other == own or rank(other) < rank(own), f"{own} imports {name}"


@pytest.mark.parametrize("library", GATES)
def test_libraries_stay_behind_their_gates(library: str) -> None:
    inside = 0
    for path in MODULES:
        if any(name == library or name.startswith(f"{library}.") for name in imports(path)):
            place = path.relative_to(SOURCE).as_posix()
            assert any(place == gate or place.startswith(f"{gate}/") for gate in GATES[library]), f"{place}: {library}"
            inside += 1
    assert inside or library in ("sqlite3", "click"), f"nothing imports {library}: is the gate still needed?"


def test_no_pyplot() -> None:
    assert not [path for path in MODULES if any("pyplot" in name for name in imports(path))]


@pytest.mark.parametrize("path", sorted((SOURCE / "mechanics").glob("*.py")), ids=lambda path: path.name)
def test_mechanics_knows_no_bicycle(path: Path) -> None:
    if path.name == "__init__.py":
        return
    found = BICYCLE.findall(path.read_text(encoding="utf-8"))
    assert not found, f"{path.name} speaks of {sorted(set(found))}"


def test_modules_tell_one_story() -> None:
    long = {path.name: count for path in MODULES if (count := len(path.read_text(encoding="utf-8").splitlines())) > 500}
    assert not long
