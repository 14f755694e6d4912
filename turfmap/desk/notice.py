"""Letters to clients: questions, what is to be done, what was done, what a season brings."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.business import read_business
from turfmap.desk.letter_batch import Batch, Draft, clients_of, languages_of, write_letters
from turfmap.desk.notice_done import after_work
from turfmap.desk.notice_questions import ALL_REPLIES, asking
from turfmap.desk.notice_work import Period, before_work, season
from turfmap.desk.product_book import read_rows
from turfmap.foundations.errors import input_fault

LABEL_FIRST = (
    "Read every letter before it goes out. The label in hand, local rules and a licensed"
    " applicator's judgement come before anything that it says."
)


@dataclass(frozen=True)
class Wish:
    """Which letters are wanted.

    Attributes
    ----------
    kind
        questions, before, after or season.
    as_of
        The day to judge by.
    out
        A new folder for the letters.
    period
        What they are about; questions need none.
    style
        A folder with a business's own settings and templates.
    """

    kind: str
    as_of: date
    out: Path
    period: Period | None = None
    property_name: str | None = None
    style: Path | None = None
    language: str | None = None
    formats: tuple[str, ...] = ("md", "html")


def notice(path: Path, wish: Wish) -> dict[str, Any]:
    """Write one letter a client; all of them, or none.

    Returns
    -------
    dict
        ``kind, out``; ``letters`` (client, properties, language, files); ``office``: what holds
        work up and is no question for a client; ``cautions``.

    Raises
    ------
    InputFaultsError
        If the place, the settings or a template need mending, no letter is to be written, or the
        folder holds something. Nothing has been written then.
    """
    batch = Batch(wish.kind, wish.out, read_business(wish.style), wish.language, wish.formats)
    batch = replace(batch, languages=languages_of(read_rows(path, "client_answer")))
    drafts, office = _drafts(path, wish, batch)
    sheet = ALL_REPLIES if wish.kind == "questions" else ""
    letters = write_letters(batch, drafts, all_rows=sheet)
    return {
        "kind": wish.kind,
        "out": str(wish.out),
        "letters": letters,
        "office": office,
        "cautions": [LABEL_FIRST],
    }


def _drafts(path: Path, wish: Wish, batch: Batch) -> tuple[list[Draft], list[str]]:
    clients = clients_of(path, wish.property_name)
    if wish.kind == "questions":
        return asking(path, clients, batch, as_of=wish.as_of, property_name=wish.property_name)
    if wish.period is None:
        raise input_fault("the days that the letters are about are not given", "give --from")
    if wish.kind == "before":
        return before_work(path, clients, batch, wish.period, as_of=wish.as_of), []
    if wish.kind == "after":
        return after_work(path, clients, batch, wish.period), []
    return season(path, clients, batch, wish.period, as_of=wish.as_of), []
