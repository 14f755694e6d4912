"""A place served in this process, for tests of the web door."""

import base64
from collections.abc import AsyncIterator, Mapping
from pathlib import Path
from typing import Any

import anyio
import httpx

from turfmap.doors.web.app import make_app
from turfmap.doors.web.settings import Settings

KEY, PORT = "the-key-of-this-test", 8427
ADDRESS = f"http://127.0.0.1:{PORT}"
BEARER = {"Authorization": f"Bearer {KEY}"}
BASIC = {"Authorization": "Basic " + base64.b64encode(f"me:{KEY}".encode()).decode()}
GEOJSON = {"Content-Type": "application/geo+json"}


class Client:
    """Asks an application in this process; shows the key as a browser's page does."""

    def __init__(self, place: Path, key: Mapping[str, str], **settings: Any) -> None:
        self.app = make_app(Settings(place=place, key=KEY, port=PORT, **settings))
        self._key = key

    def get(self, url: str, headers: Mapping[str, str] | None = None) -> httpx.Response:
        """Send a GET."""
        return self.ask("GET", url, headers=headers)

    def ask(
        self,
        method: str,
        url: str,
        *,
        headers: Mapping[str, str] | None = None,
        content: bytes | str | AsyncIterator[bytes] | None = None,
        json: Any = None,
    ) -> httpx.Response:
        """Send a request."""

        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url=ADDRESS) as asking:
                shown = {**self._key, **(headers or {})}
                return await asking.request(method, url, headers=shown, content=content, json=json)

        return anyio.run(send)


def client(place: Path, *, key: Mapping[str, str] | None = None, **settings: Any) -> Client:
    """Return a client of a served place."""
    return Client(place, BEARER if key is None else key, **settings)
