"""Letters that ask what holds work up and what a visit needs, each with a sheet for replies."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.desk.letter_batch import Batch, Client, Draft, language_of
from turfmap.desk.questions import OpenQuestion, open_questions
from turfmap.desk.reply_words import choice_words
from turfmap.foundations.definitions import Row
from turfmap.views.letter_words import Words, words

# The first columns are those of a reply sheet as import takes it; the others help the reader.
SHEET = (
    "property",
    "zone",
    "question",
    "answer",
    "date",
    "answered_on",
    "told_by",
    "asked",
    "choose_from",
)
ALL_REPLIES = "all-replies.csv"


def asking(
    path: Path,
    clients: Sequence[Client],
    batch: Batch,
    *,
    as_of: date,
    property_name: str | None,
) -> tuple[list[Draft], list[str]]:
    """Return a draft for each client who is to be asked something, and what is for the office."""
    found, office = open_questions(path, as_of=as_of, property_name=property_name)
    drafts = []
    for client in clients:
        names = {row["name"] for row in client.properties}
        mine = [one for one in found if one.of in names]
        if mine:
            drafts.append(_draft(client, mine, words(language_of(client, batch)), as_of))
    return drafts, office


def _draft(client: Client, found: Sequence[OpenQuestion], said: Words, as_of: date) -> Draft:
    several = len(client.properties) > 1
    holding = _together([one for one in found if one.blocks], said, several=several)
    visit = _together([one for one in found if not one.blocks], said, several=several)
    sheet = [_row(one, said, as_of) for one in found]
    facts = {
        "holding": holding,
        "visit": visit,
        "day": said.day(as_of),
        "properties": [row["name"] for row in client.properties],
    }
    return Draft(client, facts, sheet=sheet, columns=SHEET)


def _together(found: Sequence[OpenQuestion], said: Words, *, several: bool) -> list[dict[str, Any]]:
    """Return each question once, with the ground that it is about."""
    asked: dict[str, dict[str, Any]] = {}
    for one in found:
        row = one.question
        entry = asked.setdefault(
            row["question"],
            {
                "words": said.gettext(row["words"]),
                "why": said.gettext(row["why"]),
                "choices": [choice_words(choice, said) for choice in one.choices],
                "where": [],
                "blocks": [],
            },
        )
        entry["where"] += [_where(one, several=several)] if one.zone or several else []
        entry["blocks"] += [said.gettext(title) for title in one.blocks]
    for entry in asked.values():
        entry["where"] = list(dict.fromkeys(entry["where"]))
        entry["blocks"] = list(dict.fromkeys(entry["blocks"]))
    return list(asked.values())


def _where(one: OpenQuestion, *, several: bool) -> str:
    place = [one.of] if several else []
    return ": ".join([*place, *([one.zone] if one.zone else [])])


def _row(one: OpenQuestion, said: Words, as_of: date) -> Row:
    row = one.question
    return {
        "property": one.of,
        "zone": one.zone,
        "question": row["question"],
        "answer": "",
        "date": "",
        "answered_on": "",
        "told_by": f"letter of {as_of.isoformat()}",
        "asked": said.gettext(row["words"]),
        "choose_from": "; ".join(choice_words(choice, said) for choice in one.choices),
    }
