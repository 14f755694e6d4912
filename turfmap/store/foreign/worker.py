"""The process in which foreign files are parsed, so that a hostile one can only hurt itself.

Started by ``process``: ``python -m turfmap.store.foreign.worker FORMAT PATH [LAYER]``.
It answers in JSON lines: one that it is ready, one about the file, one a record, one that it is
done; or one line of faults. It never answers with anything that is run or unpickled.
"""

import json
import sys
from dataclasses import asdict
from importlib import import_module
from io import TextIOWrapper
from pathlib import Path
from typing import Any, TextIO

from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.bounded import answer_stream, hold_to
from turfmap.store.foreign.limits import (
    MAX_CRS_CHARACTERS,
    MAX_RECORDS,
    MAX_VERTICES,
    WORKER_MEMORY_BYTES,
    WORKER_WRITES_BYTES,
)
from turfmap.store.foreign.lines import Tally, encoded
from turfmap.store.foreign.records import Contents

READERS = {
    "csv": ("text_tables", "read"),
    "dxf": ("gdal_files", "read_dxf"),
    "flatgeobuf": ("gdal_files", "read_flatgeobuf"),
    "geojson": ("geojson_text", "read"),
    "geopackage": ("gdal_files", "read_geopackage"),
    "gpx": ("gpx_text", "read"),
    "kml": ("kml_text", "read"),
    "parquet": ("parquet_file", "read"),
    "shapefile": ("gdal_files", "read_shapefile"),
}


def main(arguments: list[str]) -> None:
    """Read one file and answer on what was standard output when we started."""
    hold_to(memory_bytes=WORKER_MEMORY_BYTES, writes_bytes=WORKER_WRITES_BYTES)
    answer = TextIOWrapper(answer_stream(), encoding="ascii")
    reader, path, *rest = arguments
    module, function = READERS[reader]
    read = getattr(import_module(f"turfmap.store.foreign.{module}"), function)
    _say(answer, {"ready": True})
    try:
        _tell(answer, read(Path(path), rest[0] if rest else None))
    except InputFaultsError as error:
        _say(answer, {"faults": [asdict(fault) for fault in error.faults]})
    except MemoryError:
        fault = Fault("", "", "it needs more memory than a map file may", "give it in parts")
        _say(answer, {"faults": [asdict(fault)]})
    except Exception as error:  # a parser that trips over a hostile file is no fault of ours
        told = f"it is damaged ({type(error).__name__}: {error})"
        _say(answer, {"faults": [asdict(Fault("", "", told, "export it again"))]})


def _say(answer: TextIO, told: dict[str, Any]) -> None:
    answer.write(json.dumps(told, allow_nan=False) + "\n")
    answer.flush()


def _tell(answer: TextIO, contents: Contents) -> None:
    if len(contents.crs) > MAX_CRS_CHARACTERS:
        raise input_fault("its coordinate reference system is too long to be one", "give it anew")
    about = {"crs": contents.crs, "stated": contents.stated, "may_close": contents.may_close}
    _say(answer, about)
    tally = Tally()
    for found in contents.records:
        answer.write(json.dumps(encoded(found, tally), allow_nan=False) + "\n")
        _check(tally)
    if tally.heights:
        contents.notes.append(f"Records whose heights were left out: {tally.heights}.")
    if tally.binary:
        contents.notes.append(f"Values left out, being neither text nor numbers: {tally.binary}.")
    _say(answer, {"done": tally.records, "notes": contents.notes})


def _check(tally: Tally) -> None:
    if tally.records > MAX_RECORDS:
        raise input_fault(f"it holds more than {MAX_RECORDS:,} records", "give it in parts")
    if tally.vertices > MAX_VERTICES:
        raise input_fault(f"it holds more than {MAX_VERTICES:,} corners", "give it in parts")


if __name__ == "__main__":
    main(sys.argv[1:])
