"""What is on its way into a place: a file to read, then its records and their faults."""

from dataclasses import dataclass, field
from pathlib import Path

from turfmap.desk.import_columns import Columns
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault
from turfmap.foundations.shapes import Shapes


@dataclass(frozen=True)
class Source:
    """A file to bring in and how to read it."""

    file: Path
    columns: Columns = field(default_factory=Columns)
    crs: str | None = None
    layer: str | None = None


@dataclass(frozen=True)
class Batch:
    """Records on their way in: checked rows, shapes, and what is wrong with each."""

    rows: list[Row]
    shapes: Shapes | None
    records: list[str]
    faults: list[list[Fault]]
    answers: list[tuple[int, Row]]
    notes: list[str]
    repairs: list[dict[str, object]] = field(default_factory=list)
