"""The definition of the API holds, and nothing made from it brings the server down."""

import os
from pathlib import Path
from typing import Any

import anyio
import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.core.result import Ok

from tests.doors.web.served import ADDRESS, BASIC, client
from turfmap.doors.web.openapi import document
from turfmap.foundations.definitions import map_layer

SCHEMA = schemathesis.openapi.from_dict(document(f"{ADDRESS}/api"))
OPERATIONS = {
    f"{found.method.upper()} {found.path}": found
    for found in (result.ok() for result in SCHEMA.get_all_operations() if isinstance(result, Ok))
}
# Each layer has the same routes; made requests go to some of them, with a bound on their number;
# in the long form to all of them.
LONG = bool(os.environ.get("TURFMAP_LONG"))
TRIED = [name for name in OPERATIONS if LONG or "collections/" not in name or "/water" in name]
EXAMPLES = 40 if LONG else 8


def test_it_says_what_the_declarations_say() -> None:
    """Columns, units' ranges and choices come from ``layers/map``."""
    zone = document("x")["components"]["schemas"]["zone"]["properties"]["properties"]
    layer = map_layer("zone")
    assert zone["required"] == ["name", "kind"]
    assert set(zone["properties"]) == set(layer.columns)
    assert zone["properties"]["kind"]["enum"] == list(layer.columns["kind"].one_of)
    assert zone["properties"]["sun_hours"]["maximum"] == 24


def test_it_is_a_definition_of_the_version_that_part_1_asks_for() -> None:
    """OGC 17-069r4, clause 9, requirements class oas30; schemathesis reads every operation."""
    assert document("x")["openapi"] == "3.0.3"
    assert len(OPERATIONS) == 4 + 7 * (1 + 2 + 4)


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
@pytest.mark.parametrize("name", TRIED)
def test_no_request_made_from_it_fails_inside(
    name: str, mode: GenerationMode, made_once: Path, tmp_path: Path
) -> None:
    """Schemathesis makes requests that fit the definition, and ones that do not."""
    place = tmp_path / "place.gpkg"
    place.write_bytes(made_once.read_bytes())
    asked = client(place)
    app = asked.app
    (pond,) = asked.get("/api/collections/water/items").json()["features"]
    operation = OPERATIONS[name]

    async def send(wanted: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport) as asking:
            return await asking.request(**wanted)

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case: Any) -> None:
        if "featureId" in case.path_parameters:
            case.path_parameters["featureId"] = pond["id"]  # or it would only meet "not there"
        wanted = case.as_transport_kwargs(base_url=f"{ADDRESS}/api", headers=BASIC)
        wanted.pop("cookies", None)
        headers = wanted["headers"].items()
        wanted["headers"] = [(name.encode(), value.encode()) for name, value in headers]
        if isinstance(wanted.get("data"), str | bytes):
            wanted["content"] = wanted.pop("data")
        got = anyio.run(send, wanted)
        assert got.status_code < 500, got.text
        assert str(got.status_code) in operation.definition.raw["responses"], got.text
        if not got.is_success and got.content:
            assert got.headers["content-type"] == "application/problem+json"

    ask()
