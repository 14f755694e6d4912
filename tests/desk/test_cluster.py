"""Work in parts on worker processes: equal to the single process to the last bit, whoever dies."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import shapely
from distributed import LocalCluster

from tests.bench import scale, spray_town
from turfmap.days.plan import regions
from turfmap.days.plan.search import Effort
from turfmap.desk import cluster
from turfmap.desk.area import measured
from turfmap.desk.cluster import dask_engine
from turfmap.desk.demo import AS_OF, demo
from turfmap.desk.due import due_by
from turfmap.desk.engine import Engine, Found, Part
from turfmap.desk.place import read_place
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.foundations.errors import InputFaultsError

ROOT = Path(__file__).parents[2]
PROPERTIES = 120
WORKERS = 2


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Start a real scheduler with worker processes, on loopback."""
    with LocalCluster(
        n_workers=WORKERS,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        silence_logs=50,
    ) as running:
        yield running.scheduler_address


@pytest.fixture(scope="module")
def engine(address: str) -> Iterator[Engine]:
    with dask_engine(address, None) as found:
        yield found


@pytest.fixture(scope="module")
def region(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("region") / "region.gpkg"
    scale.make(path, PROPERTIES)
    return path


@pytest.fixture(scope="module")
def demo_place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "out"
    demo(folder)
    return folder / "demo.gpkg"


@pytest.fixture(params=["region", "demo_place"])
def place(request: pytest.FixtureRequest) -> Path:
    found: Path = request.getfixturevalue(request.param)
    return found


def same_ground(path: Path, engine: Engine) -> None:
    """All that is said, and all that is drawn, is equal to the last bit."""
    read = read_place(path, **scale.WHOLE)
    (told, alone), (told_there, there) = measured(read), measured(read, engine=engine)
    assert told_there == told
    assert len(told["zones"]) > 2 * engine.size_of_a_part(len(told["zones"])), "several parts"
    assert any(len(zone["causes"]) > 1 for zone in told["zones"]), "something to cut"
    assert shapely.equals_identical(there.flat, alone.flat).all()
    assert shapely.equals_identical(there.losses.flat, alone.losses.flat).all()
    assert there.treatable_m2.tobytes() == alone.treatable_m2.tobytes()


def test_area_is_the_same(place: Path, engine: Engine) -> None:
    same_ground(place, engine)


def test_due_is_the_same(place: Path, engine: Engine) -> None:
    inputs = season_inputs(place, as_of=AS_OF, given=Given())
    assert len(inputs.known.zones["name"]) > 2 * engine.size_of_a_part(PROPERTIES)
    alone = due_by(inputs, as_of=AS_OF)
    assert due_by(inputs, as_of=AS_OF, engine=engine) == alone


def test_the_plan_of_days_is_the_same(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(regions, "STOPS_OF_A_REGION", 12)
    monkeypatch.setattr(regions, "TRUCKS_OF_A_REGION", 1)
    problem = spray_town.town(48, seed=3)
    effort = Effort(60, 1)
    assert len(regions.regions(problem)) > 1
    alone = regions.planned(problem, effort)
    assert regions.planned(problem, effort, each=engine.each) == alone


@dataclass(frozen=True)
class Killing:
    """An engine of which a worker is killed while it is busy with the first part it gets."""

    inner: Engine
    mark: Path

    @property
    def workers(self) -> int:
        return self.inner.workers

    def size_of_a_part(self, count: int) -> int:
        return self.inner.size_of_a_part(count)

    def each(self, work: Callable[[Part], Found], parts: Sequence[Part]) -> list[Found]:
        found: list[Found] = self.inner.each(partial(killed_once, work, self.mark), parts)
        return found


def killed_once(work: Callable[[Any], Any], mark: Path, part: Any) -> Any:
    found = work(part)
    try:
        mark.touch(exist_ok=False)
    except FileExistsError:
        return found
    mark.write_text(str(os.getpid()))
    os.kill(os.getpid(), signal.SIGKILL)
    return found


def test_a_worker_killed_at_work_changes_nothing(
    region: Path, engine: Engine, tmp_path: Path
) -> None:
    mark = tmp_path / "killed"
    same_ground(region, Killing(engine, mark))
    assert int(mark.read_text()) != os.getpid()
    with pytest.raises(ProcessLookupError):
        os.kill(int(mark.read_text()), 0)


def test_what_a_worker_finds_wrong_is_told_here(engine: Engine) -> None:
    with pytest.raises(ZeroDivisionError):
        engine.each(one_over, [1, 0, 2])


def one_over(number: int) -> float:
    return 1 / number


def test_parts_come_back_in_their_order(engine: Engine) -> None:
    wanted = list(range(40))
    assert engine.each(abs, [-n for n in wanted]) == wanted


@pytest.mark.parametrize("where", ["tcp://127.0.0.1:1", "nowhere", "ftp://127.0.0.1:1"])
def test_a_scheduler_that_does_not_answer_is_one_sentence(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "SECONDS_TO_REACH_A_SCHEDULER", 1)
    with pytest.raises(InputFaultsError) as told, dask_engine(where, None):
        pass
    (fault,) = told.value.faults
    assert f"--scheduler {where}" in str(fault)
    assert "\n" not in str(fault)


def test_the_command_prints_the_same_bytes(demo_place: Path) -> None:
    """Through processes of its own, behind certificates; nothing else on either stream."""
    command = [sys.executable, "-W", "error", "-m", "turfmap", "area", str(demo_place), "--json"]
    alone, there = (
        subprocess.run([*command, *more], cwd=ROOT, capture_output=True, check=True)
        for more in ([], ["--engine", "dask", "--workers", "2"])
    )
    assert there.stdout == alone.stdout
    assert there.stderr == b""
