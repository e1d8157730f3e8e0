"""Starting the page: a server for this computer alone, or for its network when that is asked for."""

from __future__ import annotations

import errno
import re
import socket
import threading
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from pathlib import Path

import streamlit
from starlette.middleware import Middleware

from ropewalk.bike.wording import shortened
from ropewalk.errors import ChoiceError, RopewalkError
from ropewalk.page.shell import TellServer
from ropewalk.page.theme import THEME

#: this computer only; nobody else on the network reaches it
ADDRESS = "127.0.0.1"
#: every network this computer is on
EVERY_NETWORK = "0.0.0.0"
_PACKAGE = Path(__file__).resolve().parents[1]
# An address of the block kept for documentation: to ask for the way there sends nothing.
_SOMEWHERE = ("192.0.2.1", 9)
_HOST = re.compile(r"[A-Za-z0-9]([A-Za-z0-9.-]{0,250}[A-Za-z0-9])?")


def serve(port: int, names: Sequence[str] | None = None) -> None:
    """Serve the page until it is interrupted.

    Parameters
    ----------
    port : int
        Where on this computer.
    names : sequence of str, optional
        Opens the page to the network, under these names and addresses alone; left out, it answers this computer only.

    Raises
    ------
    ChoiceError
        When the port is taken or not to be had.
    """
    address = ADDRESS if names is None else EVERY_NETWORK
    check_port(port, address)
    threading.Thread(target=_load, daemon=True).start()
    streamlit.App(str(page_script()), middleware=[Middleware(TellServer)]).run(
        config={
            "server.address": address,
            "server.port": port,
            "server.headless": True,
            "server.fileWatcherType": "none",
            "server.maxUploadSize": 2,
            "browser.gatherUsageStats": False,
            "browser.serverAddress": ADDRESS if names is None else next(iter(names), ADDRESS),
            "client.toolbarMode": "viewer",
            "client.showErrorLinks": False,
            # What went wrong inside is for this computer's terminal, not for the network.
            "client.showErrorDetails": "full" if names is None else "type",
            # A name that somebody points at this computer does not open the page.
            "server.allowedHosts": [ADDRESS, "localhost", *(names or ())],
            **THEME,
        }
    )


def names_on_network(given: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the addresses and names this computer answers to on its network, those for a link first.

    Parameters
    ----------
    given : sequence of str
        Other names it is called by.

    Raises
    ------
    ChoiceError
        When one is no name of a computer.
    """
    for name in given:
        if not _HOST.fullmatch(name):
            raise ChoiceError(f'--host is "{shortened(name)}": write a name or address of this computer, such as bench')
    own = socket.gethostname()
    names = [*given, *_addresses(own), own.lower(), f"{own.lower()}.local"]
    return tuple(dict.fromkeys(name for name in names if name and not name.startswith("127.")))


def _addresses(own: str) -> list[str]:
    """Return this computer's addresses on its networks."""
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way, suppress(OSError):
        way.connect(_SOMEWHERE)
        found.append(str(way.getsockname()[0]))
    with suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(own, None, socket.AF_INET)]
    return found


def _load() -> None:
    """Load what the page needs and plan the bike it opens with, while server and browser get ready."""
    bikes = import_module("ropewalk.page.bikes")
    with suppress(RopewalkError):
        bikes.plan_first()
    for name in ("ropewalk.page.bikepage", "ropewalk.page.cutpage"):
        import_module(name)


def check_port(port: int, address: str = ADDRESS) -> None:
    """Refuse a port that is not free, in one line."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        # A port that an ended server has just left is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except OSError as error:
            reason = "taken already" if error.errno == errno.EADDRINUSE else "not to be had"
            raise ChoiceError(f"port {port} is {reason}: choose another with --port") from None


def page_script() -> Path:
    """Return the page's script: beside an installed package's modules, else at the top of the checkout."""
    installed, checkout = _PACKAGE / "app.py", _PACKAGE.parents[1] / "app.py"
    return installed if installed.is_file() else checkout
