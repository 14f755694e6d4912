"""Who may ask: the wall around every route. Nothing behind it is reached without passing it.

A page of another origin in the user's own browser is the attacker to think of: it can send
requests to any port of this machine. The key travels in a header that such a page cannot set
without asking first, and it is never told yes; cookies are not used, as they know no ports.
"""

import base64
import binascii
import hmac
import os
import sys
import traceback
from collections.abc import Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from turfmap.doors.web.problems import of_our_own, problem
from turfmap.doors.web.settings import Settings

MOST_BODY_BYTES = 2 * 1024 * 1024
# These hold no data of the user's.
OPEN_PATHS = ("/app", "/app/", "/favicon.ico", "/")
OPEN_UNDER = "/app/"
BROWSER, DESKTOP = "browser", "desktop"


def security_headers(tiles: str | None) -> Mapping[str, str]:
    """Return the headers of every response; `tiles` is the one outside address for pictures."""
    pictures = "'self' data: blob:"
    if tiles:
        parts = urlsplit(tiles)
        pictures += f" {parts.scheme}://{parts.netloc}"
    policy = {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": "'self'",
        "img-src": pictures,
        "connect-src": "'self'",
        "font-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    return {
        "Content-Security-Policy": "; ".join(f"{name} {of}" for name, of in policy.items()),
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Permissions-Policy": "geolocation=(self), camera=(), microphone=()",
    }


class Guard:
    """Let through what may pass, bounded; say why of the rest; add the headers to all."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app = app
        self._key = settings.key.encode()
        names = ("127.0.0.1", "localhost", "[::1]")
        self._hosts = {f"{name}:{settings.port}" for name in names}
        self._headers = security_headers(settings.tiles)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        started = False

        async def send_guarded(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in self._headers.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        try:
            await self._answer(scope, receive, send_guarded)
        except Exception as error:  # whatever it is, the client is told nothing of it
            _log(error)
            if not started:
                await of_our_own()(scope, receive, send_guarded)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = Headers(scope=scope)
        refused = self._refusal(scope, headers)
        if refused is None:
            body = await _bounded_body(headers, receive)
            if body is not None:
                await self._app(scope, _replay(body, receive), send)
                return
            limit = f"{MOST_BODY_BYTES // 1024 // 1024} MB"
            refused = problem(
                413, f"Send at most {limit} at once.", headers={"Connection": "close"}
            )
        await refused(scope, receive, send)

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return problem(421, "This server answers under its own address only.")
        origins = headers.getlist("origin")
        if any(origin != f"http://{hosts[0]}" for origin in origins):
            return problem(403, "A page of another origin may not ask.")
        if headers.get("sec-fetch-site", "none") not in {"same-origin", "none"}:
            return problem(403, "A page of another site may not ask.")
        path = scope["path"]
        if path in OPEN_PATHS or path.startswith(OPEN_UNDER):
            return None
        client = self._client(headers)
        if client is None:
            return self._without_key(path, headers)
        scope.setdefault("state", {})["client"] = client
        return None

    def _client(self, headers: Headers) -> str | None:
        """Return which sort of client shows the key, or None if none does."""
        scheme, _, given = headers.get("authorization", "").partition(" ")
        shown: bytes | None = None
        if scheme.lower() == "bearer":
            shown, client = given.strip().encode(), BROWSER
        elif scheme.lower() == "basic" and "sec-fetch-site" not in headers:
            # A browser remembers a password and would send it for any page that asks.
            shown, client = _password(given), DESKTOP
        if shown is None or not hmac.compare_digest(shown, self._key):
            return None
        return client

    def _without_key(self, path: str, headers: Headers) -> Response:
        may_ask = path.startswith("/api") and not any(
            name.startswith("sec-fetch-") for name in headers
        )
        asks = {"WWW-Authenticate": 'Basic realm="turfmap", charset="UTF-8"'} if may_ask else {}
        said = "Show the key: turfmap prints the whole address when it starts."
        return problem(401, said, headers=asks)


def _password(given: str) -> bytes | None:
    try:
        return base64.b64decode(given.strip(), validate=True).partition(b":")[2]
    except (binascii.Error, ValueError):
        return None


async def _bounded_body(headers: Headers, receive: Receive) -> bytes | None:
    """Read the body whole, or return None if it is too long."""
    told = headers.get("content-length", "0")
    if not told.isdecimal() or int(told[:20]) > MOST_BODY_BYTES:
        return None
    parts: list[bytes] = []
    length, more = 0, True
    while more:
        message = await receive()
        if message["type"] == "http.disconnect":
            break
        parts.append(message.get("body", b""))
        length += len(parts[-1])
        more = message.get("more_body", False)
        if length > MOST_BODY_BYTES:
            return None
    return b"".join(parts)


def _replay(body: bytes, receive: Receive) -> Receive:
    """Return a source that gives a body that was read already, then what really follows."""
    given = False

    async def replayed() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replayed


def _log(error: Exception) -> None:
    """Say on stderr what failed: for the user's own terminal, never for the client."""
    if os.environ.get("TURFMAP_TRACEBACK"):
        traceback.print_exception(error)
        return
    sys.stderr.write(
        f"turfmap itself failed ({type(error).__name__}: {error}); set TURFMAP_TRACEBACK=1 to"
        " see where\n"
    )
