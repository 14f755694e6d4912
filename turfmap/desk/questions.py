"""What nobody has asked a client yet: what holds work up, and what has to be known before a visit.

An answer that is missing, says "not asked" or is too old is not known, and not known holds.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from turfmap.days.answers import UNKNOWN, answers_for
from turfmap.desk.season_inputs import season_inputs
from turfmap.desk.weather import Given
from turfmap.foundations.definitions import Row
from turfmap.season.answered import NOT_ASKED
from turfmap.season.board import Board
from turfmap.season.due import judged_for
from turfmap.season.finding import ASK
from turfmap.season.rules import rules_with

# Work that an answer would still change.
OPEN_STATES = frozenset({"due", "ask", "held", "soon"})
BLOCKING, VISIT = "blocking", "visit"


@dataclass(frozen=True)
class OpenQuestion:
    """A question to put to a client.

    Attributes
    ----------
    of
        The property.
    zone
        Empty where it is about the whole property.
    question
        The row of the table question.
    blocks
        Titles of the tasks that wait for the answer; empty where none does.
    """

    of: str
    zone: str
    question: Row
    blocks: tuple[str, ...]

    @property
    def choices(self) -> list[str]:
        """The answers that may be given."""
        return [one for one in str(self.question["answers"]).split(";") if one != NOT_ASKED]


def open_questions(
    path: Path, *, as_of: date, property_name: str | None = None
) -> tuple[list[OpenQuestion], list[str]]:
    """Return every question that is open on a day, and what the letters cannot ask.

    Parameters
    ----------
    path
        The place.
    as_of
        The day.
    property_name
        Only this property.

    Returns
    -------
    questions : list of OpenQuestion
        In the order of the map; of a property first those that hold work up.
    office : list of str
        What holds work up and is for the office or the crew to find out, in sentences.

    Raises
    ------
    InputFaultsError
        If the place needs mending, or the property is not there.
    """
    inputs = season_inputs(path, as_of=as_of, given=Given(None, None), property_name=property_name)
    known, more = inputs.known, inputs.more
    rules = rules_with(more["own_rows"])
    board = judged_for(
        known.zones,
        [as_of],
        answers=known.answers,
        visits=known.visits,
        weather=known.weather,
        **more,
    )
    asks = [_asked_by(board, number) for number in range(len(board.situations))]
    places = list(zip(known.zones["property"], known.zones["name"], board.which, strict=True))
    found: dict[str, list[OpenQuestion]] = {}
    office: dict[str, int] = {}
    for of, zone, which in places:
        mine = found.setdefault(of, [])
        for name, blocks in asks[which].by_question.items():
            question = rules.questions[name]
            if question["asked"] in {None, BLOCKING}:
                mine.append(OpenQuestion(of, zone, question, blocks))
            else:
                words = f"to be looked at on the day: {question['words']}"
                office[words] = office.get(words, 0) + 1
        for words in asks[which].other:
            office[words] = office.get(words, 0) + 1
    for of in dict.fromkeys(of for of, _, which in places if asks[which].has_work):
        found[of] += _before_a_visit(of, known.zones, rules.question.rows, known, as_of)
    told = [f"{count} zones: {words}" for words, count in office.items()]
    return [one for mine in found.values() for one in mine], told


@dataclass(frozen=True)
class _Asks:
    """What the work on a sort of zone waits for: questions, and what is no client's to answer."""

    by_question: Mapping[str, tuple[str, ...]]
    other: tuple[str, ...]
    has_work: bool


def _asked_by(board: Board, situation: int) -> _Asks:
    by_question: dict[str, list[str]] = {}
    other: list[str] = []
    has_work = False
    for judged in board.ranked(situation, 0):
        found = judged.at(0)
        if found.state not in OPEN_STATES or found.task["reminder"]:
            continue
        has_work = True
        for finding in found.findings:
            if finding.effect != ASK:
                continue
            name = finding.row["question"]
            if name and finding.row["basis"] == "not_asked":
                by_question.setdefault(name, []).append(found.task["title"])
            elif not name or finding.row["basis"] == "answer_is":  # answered, and not settled
                other.append(str(finding.row["words"]))
    asked = {name: tuple(dict.fromkeys(titles)) for name, titles in by_question.items()}
    return _Asks(asked, tuple(dict.fromkeys(other)), has_work)


def _before_a_visit(
    of: str,
    zones: Mapping[str, Sequence[Any]],
    questions: Sequence[Row],
    known: Any,
    as_of: date,
) -> list[OpenQuestion]:
    """Return what has to be known of a property before anybody comes, as far as it is not."""
    mine = answers_for({"property": of, "name": None}, known.answers, (), as_of)
    may_be_watered = any(
        watered is not False
        for place, watered in zip(zones["property"], zones["irrigated"], strict=True)
        if place == of
    )
    return [
        OpenQuestion(of, "", question, ())
        for question in questions
        if question["asked"] == VISIT
        and mine.get(question["question"], UNKNOWN).answer == NOT_ASKED
        and (may_be_watered or question["question"] != "irrigation_on")
    ]
