"""Answers on a reply sheet in the words of a letter's language, and back to what the map writes."""

import unicodedata
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from turfmap.foundations.checks import as_text
from turfmap.foundations.definitions import table
from turfmap.views.letter_words import LANGUAGES, Words, words


def choice_words(choice: str, said: Words) -> str:
    """Return an answer of the table question as a letter says it."""
    return said.gettext(choice.replace("_", " "))


def with_answers_as_written(raw: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Put the answer that the map writes in place of its words; what is not understood stays.

    Parameters
    ----------
    raw
        Rows with ``question`` and ``answer``, as a file gives them.
    """
    found = []
    for row in raw:
        known = _answers(as_text(row.get("question")).strip())
        answer = known.get(_plain(as_text(row.get("answer"))))
        found.append({**row, "answer": answer} if answer else dict(row))
    return found


@lru_cache(maxsize=64)
def _answers(question: str) -> dict[str, str]:
    """Return the answers to a question by their plain words; the map's own word comes first."""
    row = table("question").by("question").get(question)
    if row is None:
        return {}
    choices = str(row["answers"]).split(";")
    found: dict[str, str] = {}
    for said in map(words, LANGUAGES.values()):
        told = [_plain(choice_words(choice, said)) for choice in choices]
        # Two answers said alike are none: a guess could lift a hold.
        sure = {word: one for word, one in zip(told, choices, strict=True) if told.count(word) == 1}
        found = sure | found
    return found | {choice: choice for choice in choices}


def _plain(text: str) -> str:
    """Return words in small letters without accents, which people leave out on a phone."""
    parts = unicodedata.normalize("NFKD", " ".join(text.split()).casefold())
    return "".join(sign for sign in parts if not unicodedata.combining(sign))
