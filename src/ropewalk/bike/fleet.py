"""The hire fleet: the bikes that come with Ropewalk, to try it on and to start a frame file of one's own from.

Their files live once, in the repository's `frames`; an installed package carries them as `ropewalk/frames`.
"""

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path

from ropewalk.bike.wording import listed, nearest, one_line, shortened_path
from ropewalk.errors import FrameFileError

_PACKAGE = Path(__file__).resolve().parents[1]


@dataclass(frozen=True, slots=True)
class FleetBike:
    """One bike of the fleet."""

    #: what it is asked for by
    name: str
    #: its name in full, from its file
    title: str
    path: Path


def fleet_folder() -> Path:
    """Return the folder that holds the fleet's frame files.

    Returns
    -------
    Path
        Beside the modules of an installed package, else at the top of the checkout they stand in.
    """
    installed, checkout = _PACKAGE / "frames", _PACKAGE.parents[1] / "frames"
    return installed if installed.is_dir() else checkout


def fleet() -> tuple[FleetBike, ...]:
    """Return the bikes of the fleet, in the order of their names."""
    return tuple(FleetBike(path.stem, _title(path), path) for path in _files())


def find(name_or_path: str | os.PathLike[str]) -> Path:
    """Return the frame file that is meant.

    Parameters
    ----------
    name_or_path : str or path-like
        A path, or the name of a bike of the fleet with or without ``.toml``; what exists as a path wins.

    Returns
    -------
    Path
        The path as it was given, or that of the bike of the fleet.

    Raises
    ------
    FrameFileError
        When there is neither; the text names the nearest bike of the fleet.
    """
    given = os.fspath(name_or_path)
    if os.path.lexists(given):
        return Path(given)
    names = {path.stem: path for path in _files()}
    wanted = given.removesuffix(".toml")
    if wanted in names:
        return names[wanted]
    where = shortened_path(given) or '""'
    near = nearest(Path(wanted).name, names)
    hint = f'did you mean "{near}"?' if near else f"the fleet holds {listed(names, last='and')}"
    raise FrameFileError(one_line(f"{where}: there is no such file and no such bike in the fleet: {hint}"))


def _files() -> list[Path]:
    return sorted(path for path in fleet_folder().glob("*.toml") if path.is_file())


def _title(path: Path) -> str:
    """Return the bike's name; reading the whole frame file for it would cost as much as a plan."""
    title = tomllib.loads(path.read_text(encoding="utf-8")).get("name", path.stem)
    return one_line(str(title))
