"""Starting the page: for this computer alone, or for its network, and then under its own names only."""

from __future__ import annotations

import base64
import socket
import subprocess
import time
from urllib.parse import urlparse
from urllib.request import Request, urlopen

import pytest
from browsing import COMMAND, serving

from ropewalk.errors import ChoiceError
from ropewalk.page.launch import names_on_network


def _handshake(address: str, host: str) -> int:
    """Return the status that the page's websocket answers a browser that came by a name (RFC 6455, section 1.3)."""
    parts = urlparse(address)
    assert parts.port is not None
    asked = (
        f"GET /_stcore/stream HTTP/1.1\r\nHost: {host}:{parts.port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
        f"Sec-WebSocket-Key: {base64.b64encode(bytes(16)).decode()}\r\nSec-WebSocket-Version: 13\r\n"
        f"Origin: http://{host}:{parts.port}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", parts.port), timeout=10) as link:
        link.sendall(asked.encode())
        return int(link.recv(200).split()[1])


def _listens(address: str) -> bool:
    """Return whether the page answers at another of this computer's addresses, all of 127.0.0.0/8 (RFC 1122)."""
    port = urlparse(address).port
    assert port is not None
    try:
        with socket.create_connection(("127.0.0.2", port), timeout=5):
            return True
    except OSError:
        return False


def test_the_page_answers_this_computer_alone() -> None:
    with serving() as page:
        assert _handshake(page.address, "127.0.0.1") == 101
        assert _handshake(page.address, "localhost") == 101
        # What a name that somebody points here would come by.
        assert _handshake(page.address, "quay.example") == 403
        assert not _listens(page.address)


def test_what_a_browser_loads_first_is_whole_and_named_at_every_address() -> None:
    with serving() as page:
        for path in ("/", "/cut-list", "/steering"):
            asked = Request(page.address + path, headers={"Accept": "text/html", "Accept-Encoding": "gzip"})
            with urlopen(asked, timeout=10) as answer:
                body = answer.read()
                assert int(answer.headers["Content-Length"]) == len(body)
            assert b"<title>Ropewalk</title>" in body
            # the server is told once, ahead of the script that would look for it
            assert body.count(b"BACKEND_BASE_URL") == 1
            assert body.index(b"BACKEND_BASE_URL") < body.index(b'<script type="module"')
            with urlopen(Request(asked.full_url, headers=dict(asked.headers), method="HEAD"), timeout=10) as answer:
                assert (answer.status, answer.read()) == (200, b"")
        plain = Request(f"{page.address}/_stcore/health", headers={"Accept": "text/html"})
        with urlopen(plain, timeout=10) as answer:
            assert answer.read() == b"ok"


def test_on_a_network_the_page_opens_under_its_own_names_only() -> None:
    with serving("--lan", "--host", "bench") as page:
        assert _listens(page.address)
        for name in ("bench", "127.0.0.1", *names_on_network()):
            assert (name, _handshake(page.address, name)) == (name, 101)
        assert _handshake(page.address, "quay.example") == 403


def test_opening_it_to_the_network_says_what_that_means() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [COMMAND, "page", "--lan", "--host", "bench", "--port", str(port)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as page:
        assert page.stdout is not None
        said = b""
        until = time.monotonic() + 30
        while b"bench" not in said and time.monotonic() < until:
            said += page.stdout.readline()
        page.terminate()
        page.communicate(timeout=30)
    told = said.decode()
    assert "open to everyone on this computer's network" in told and "no password" in told
    assert f"http://bench:{port}" in told


@pytest.mark.parametrize("name", ["<b>", "", "quay bench", "-", "*", "bench:80", "http://bench"])
def test_what_is_no_name_of_a_computer_is_refused(name: str) -> None:
    with pytest.raises(ChoiceError, match="--host") as caught:
        names_on_network([name])
    assert len(str(caught.value).splitlines()) == 1


def test_another_name_needs_the_network() -> None:
    ended = subprocess.run([COMMAND, "page", "--host", "bench"], capture_output=True, check=False, timeout=60)
    assert ended.returncode == 2
    assert ended.stderr.decode() == "--host goes with --lan: without it the page answers this computer alone\n"
