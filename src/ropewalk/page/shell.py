"""The empty page that a browser loads first: where its server is, which it would have to look for, and its title."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# Streamlit's script looks for its server below the address of each page, and finds nothing there, unless it is told.
_SERVER = b"<script>window.__streamlit = {BACKEND_BASE_URL: window.location.origin};</script>"
_CHANGES = ((b"<head>", b"<head>" + _SERVER), (b"<title>Streamlit</title>", b"<title>Ropewalk</title>"))


class TellServer:
    """Middleware that writes into the page a browser loads first where its server is; all else passes as it is."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request."""
        if scope["type"] == "http" and "text/html" in Headers(scope=scope).get("accept", ""):
            # What was packed could not be changed.
            plain = [(name, value) for name, value in scope["headers"] if name != b"accept-encoding"]
            await self._app({**scope, "headers": plain}, receive, _changing(send))
        else:
            await self._app(scope, receive, send)


def _changing(send: Send) -> Send:
    """Return what sends an answer on, changed when it is a page: that is held back until it is whole."""
    held: list[Message] = []

    async def changed(message: Message) -> None:
        begins = message["type"] == "http.response.start"
        if begins and Headers(raw=message["headers"]).get("content-type", "").startswith("text/html"):
            held.append(message)
        elif not held:
            await send(message)
        else:
            held.append(message)
            if not message.get("more_body", False):
                page = b"".join(part.get("body", b"") for part in held[1:])
                for found, told in _CHANGES:
                    page = page.replace(found, told, 1)
                # an answer without a body, such as to HEAD, keeps its length
                if page:
                    MutableHeaders(raw=held[0]["headers"])["content-length"] = str(len(page))
                await send(held[0])
                await send({"type": "http.response.body", "body": page})

    return changed
