"""The documents stay true: README's commands run, DEVELOPERS.md names every file, and nothing else lies at the top."""

import re
import subprocess
from pathlib import Path

import pytest

from ropewalk.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SOURCE = ROOT / "src" / "ropewalk"


def test_the_readme_opens_with_the_job_and_two_commands() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert blocks[0].rstrip().endswith("ropewalk cut frames/touring.toml")
    assert blocks[1].rstrip().endswith("python -m pytest")
    assert README.index("```sh") > README.index("Ropewalk tells a bicycle mechanic")


@pytest.mark.parametrize("command", sorted(set(re.findall(r"\| `ropewalk (\w+)", README))))
def test_every_command_of_the_readme_exists(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    assert "Usage" in capsys.readouterr().out


def test_the_readme_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    listed = re.findall(r"^  (\w+)  ", capsys.readouterr().out.split("Commands:")[1], re.MULTILINE)
    assert listed
    assert set(listed) == set(re.findall(r"\| `ropewalk (\w+)", README))


def test_the_station_shown_in_the_readme_stands_in_a_frame_file() -> None:
    shown = re.search(r"```toml\n(.*?)\n```", README, re.DOTALL)
    assert shown
    assert shown[1] in (ROOT / "frames" / "touring.toml").read_text(encoding="utf-8")


def test_pictures_of_the_readme_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures
    assert all((ROOT / picture).is_file() for picture in pictures)


def test_the_map_names_every_file_and_no_other() -> None:
    named = set(re.findall(r"^\| `([\w/]+\.(?:py|toml|css|svg|js))` \|", DEVELOPERS, re.MULTILINE))
    there = {
        path.relative_to(SOURCE).as_posix()
        for path in SOURCE.rglob("*")
        if path.suffix in (".py", ".toml", ".css", ".svg", ".js") and path.name != "__init__.py"
    }
    assert named == there


def test_the_top_level_holds_nothing_else() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if tracked.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in tracked.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "app.py", "src", "frames", "tests"}
    assert {name for name in top if not name.startswith(".")} == allowed
