"""Starting the page: a server on this computer alone."""

import errno
import socket
import threading
from importlib import import_module
from pathlib import Path

import streamlit

from ropewalk.errors import ChoiceError
from ropewalk.page.theme import THEME

#: the page answers this computer only; nobody else on the network reaches it
ADDRESS = "127.0.0.1"
_PACKAGE = Path(__file__).resolve().parents[1]


def serve(port: int) -> None:
    """Serve the page until it is interrupted.

    Parameters
    ----------
    port : int
        Where on this computer.

    Raises
    ------
    ChoiceError
        When the port is taken or not to be had.
    """
    check_port(port)
    # What the page needs is loaded while server and browser get ready.
    threading.Thread(target=_load, daemon=True).start()
    streamlit.App(str(page_script())).run(
        config={
            "server.address": ADDRESS,
            "server.port": port,
            "server.headless": True,
            "server.fileWatcherType": "none",
            "server.maxUploadSize": 2,
            "browser.gatherUsageStats": False,
            "client.toolbarMode": "viewer",
            "client.showErrorLinks": False,
            # A name that somebody points at this computer does not open the page.
            "server.allowedHosts": [ADDRESS, "localhost"],
            **THEME,
        }
    )


def _load() -> None:
    for name in ("ropewalk.page.router", "ropewalk.drawing.render"):
        import_module(name)


def check_port(port: int) -> None:
    """Refuse a port that is not free, in one line."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        # A port that an ended server has just left is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except OSError as error:
            reason = "taken already" if error.errno == errno.EADDRINUSE else "not to be had"
            raise ChoiceError(f"port {port} is {reason}: choose another with --port") from None


def page_script() -> Path:
    """Return the page's script: beside an installed package's modules, else at the top of the checkout."""
    installed, checkout = _PACKAGE / "app.py", _PACKAGE.parents[1] / "app.py"
    return installed if installed.is_file() else checkout
