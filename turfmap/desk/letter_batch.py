"""A batch of letters: one a client, in every format asked for, written whole or not at all."""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from turfmap.desk.business import Business
from turfmap.foundations.checks import as_text
from turfmap.foundations.definitions import Row
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage
from turfmap.store.csv_text import csv_text
from turfmap.store.letter_files import write_folder
from turfmap.views.letter_page import PICTURE, letter_html, letter_pdf, picture_mark
from turfmap.views.letter_text import Letters
from turfmap.views.letter_words import LANGUAGES, Words, words

FORMATS = ("md", "html", "pdf")
LONGEST_STEM = 40


@dataclass(frozen=True)
class Client:
    """Whom a letter is for.

    Attributes
    ----------
    name
        Empty where nobody noted it.
    properties
        What they answer for, as rows of the layer property.
    """

    name: str
    properties: tuple[Row, ...]

    @property
    def title(self) -> str:
        """What the letter's file is called after."""
        return self.name or str(self.properties[0]["name"])


@dataclass(frozen=True)
class Draft:
    """What goes into one letter.

    Attributes
    ----------
    facts
        For the template, beside those that every letter has.
    picture
        An SVG drawing of ours, or None.
    sheet
        Rows of a table that goes with it, with its columns; none if empty.
    """

    client: Client
    facts: Mapping[str, Any]
    picture: str | None = None
    sheet: Sequence[Row] = ()
    columns: Sequence[str] = ()


@dataclass(frozen=True)
class Batch:
    """How a batch is written.

    Attributes
    ----------
    kind
        Of `turfmap.views.letter_text.KINDS`.
    language
        en or es, where a client did not ask for another; None: English.
    formats
        Of `FORMATS`.
    """

    kind: str
    out: Path
    business: Business
    language: str | None = None
    formats: tuple[str, ...] = ("md", "html")
    languages: Mapping[str, str] = field(default_factory=dict)


def clients_of(path: Path, property_name: str | None) -> list[Client]:
    """Return the clients of a place in its order, each with their properties.

    Raises
    ------
    InputFaultsError
        If there is no such property.
    """
    frame = geopackage.read_layer(path, "property")
    rows = frame.drop(columns=["geometry", "fid"]).to_dict("records")
    plain = [{str(name): as_text(value) for name, value in row.items()} for row in rows]
    found: dict[str, list[Row]] = {}
    for row in plain:
        if property_name in {None, row["name"]}:
            found.setdefault(row["client"] or f"\0{row['name']}", []).append(row)
    if property_name is not None and not found:
        few = ", ".join(sorted(row["name"] for row in plain)[:10]) or "none yet"
        raise input_fault(
            f"there is no property {property_name!r}",
            f"choose one that is there ({few})",
            file=str(path),
        )
    return [Client(mine[0]["client"], tuple(mine)) for mine in found.values()]


def languages_of(answers: Iterable[Row]) -> dict[str, str]:
    """Return the language that the client of each property asked for."""
    told = [row for row in answers if row["question"] == "letter_language"]
    told.sort(key=lambda row: as_text(row["answered_on"]))
    return {row["property"]: LANGUAGES[row["answer"]] for row in told if row["answer"] in LANGUAGES}


def language_of(client: Client, batch: Batch) -> str:
    """Return the language of a client's letter."""
    for row in client.properties:
        if row["name"] in batch.languages:
            return batch.languages[row["name"]]
    return batch.language or "en"


def write_letters(batch: Batch, drafts: Sequence[Draft], *, all_rows: str = "") -> list[Row]:
    """Compose every letter, then write them all.

    Parameters
    ----------
    batch
        How.
    drafts
        What, one a letter.
    all_rows
        A name for one table with the rows of every letter; none if empty.

    Returns
    -------
    list of dict
        ``client, properties, language, files`` of each letter.

    Raises
    ------
    InputFaultsError
        If a template is broken, nothing is to be written, or the folder cannot be; nothing has
        been written then.
    """
    if not drafts:
        raise input_fault("there is no letter to write", "choose other days or properties")
    contents: dict[str, bytes] = {}
    told: list[Row] = []
    faults: dict[str, Fault] = {}
    for number, draft in enumerate(drafts, start=1):
        language = language_of(draft.client, batch)
        stem = f"{number:03d}-{_slug(draft.client.title)}"
        try:
            files = _composed(batch, draft, words(language), stem)
        except InputFaultsError as error:
            faults |= {str(fault): fault for fault in error.faults}
            continue
        contents |= files
        told.append(
            {
                "client": draft.client.name,
                "properties": [row["name"] for row in draft.client.properties],
                "language": language,
                "files": list(files),
            }
        )
    if faults:
        raise InputFaultsError(list(faults.values()))
    if all_rows:
        rows = [row for draft in drafts for row in draft.sheet]
        contents[all_rows] = csv_text(drafts[0].columns, rows).encode("utf-8-sig")
    write_folder(batch.out, contents)
    return told


def _composed(batch: Batch, draft: Draft, said: Words, stem: str) -> dict[str, bytes]:
    letters = Letters(said.language, batch.business.templates, file=batch.business.folder)
    common = {
        "client": draft.client.name,
        "business": dict(batch.business.facts),
        "picture": picture_mark(said.gettext("Map of the zones")) if draft.picture else "",
    }
    text = letters.text(batch.kind, common | dict(draft.facts))
    files: dict[str, bytes] = {}
    page = letter_html(
        text, title=draft.client.title, language=said.language, picture=draft.picture
    )
    if "md" in batch.formats:
        own_name = f"{stem}-{PICTURE}"
        files[f"{stem}.md"] = text.replace(f"]({PICTURE})", f"]({own_name})").encode("utf-8")
        if draft.picture:
            files[own_name] = draft.picture.encode("utf-8")
    if "html" in batch.formats:
        files[f"{stem}.html"] = page.encode("utf-8")
    if "pdf" in batch.formats:
        files[f"{stem}.pdf"] = letter_pdf(page)
    if draft.sheet:
        files[f"{stem}-reply.csv"] = csv_text(draft.columns, draft.sheet).encode("utf-8-sig")
    return files


def _slug(text: str) -> str:
    """Return text as part of a file name: small letters and digits of ASCII, and hyphens."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:LONGEST_STEM] or "client"
