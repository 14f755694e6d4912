"""Judgements in plain English: reasons, holds, sources, what to tell the client."""

from collections.abc import Iterable
from functools import lru_cache

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.active_words import active_lines
from turfmap.season.alternatives import ways_out
from turfmap.season.case import Moment
from turfmap.season.edge_words import edge_words, mark_of, marked
from turfmap.season.finding import ASK, Finding
from turfmap.season.judging import Judgement
from turfmap.season.rules import listed
from turfmap.season.task_words import task_lines

NO_WINDOW = (
    "No calendar is known for this ground at this place: ask the local extension service"
    " before anything is done."
)
LABEL_FIRST = (
    "The label in hand, local rules and a licensed applicator's judgement come before anything"
    " said here. What is not known never means go."
)


def reasons(found: Judgement, moment: Moment) -> list[str]:
    """Return why a task stands as it does, the window first."""
    lines = window_lines(found, moment)
    lines += active_lines(found, moment)
    lines += ways_out(found, moment)
    lines += undated_lines(found, moment)
    lines += minded_lines(found, moment)
    lines += task_lines(found, moment)
    if found.window is not None and not moment.case.known.has_record()[moment.place]:
        lines.append("No weather is known for this day: the calendar is used.")
    lines.append(found.task["caution"])
    return lines


def window_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return when the window opens and closes, and what decided it."""
    window, mark = found.window, mark_of(found.task)
    if window is None:
        return [NO_WINDOW]
    lines = [f"From {day_words(window.opens)} to {day_words(window.closes)}."]
    if found.done_on is not None:
        lines.append(f"Done on {day_words(found.done_on)}.")
    lines.append(f"Opens: {edge_words(window.opening, moment.as_of, mark)}.")
    lines.append(f"Closes: {edge_words(window.closing, moment.as_of, mark)}.")
    return lines


def undated_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return which answers let the task go on of which nobody knows the age."""
    lines = []
    for name in moment.rules.needs[found.task["task"]].questions:
        said, question = moment.answered(name), moment.rules.questions[name]
        if said.answered_on is None and said.answer in listed(question["permits"]):
            lines.append(
                f"Answered {said.answer} on a day that nobody wrote down: make sure that it is"
                f" meant for this season. {question['words']}"
            )
    return lines


def minded_lines(found: Judgement, moment: Moment) -> list[str]:
    """Return what the client told that holds nothing and must be minded."""
    return [
        row["mind_words"]
        for row in moment.rules.minded_of[found.task["task"]]
        if moment.answered(row["question"]).answer == row["mind_answer"]
    ]


def hold_words(finding: Finding, mark: str) -> str:
    """Return a hold as shown, with a mark beside a figure from memory."""
    has_mark = has_figure(finding.row["words"])
    return finding.words + (marked(finding.row, mark) if has_mark else "")


@lru_cache(maxsize=1024)
def has_figure(words: str) -> bool:
    """Whether a sentence gives a figure."""
    return any(character.isdigit() for character in words)


def told_client(found: Judgement, moment: Moment) -> str:
    """Return what to tell the client: what holds the task, what to ask, or what it is."""
    if found.state == "missed":
        return f"Its time has passed and we have no visit on record: {found.task['title'].lower()}."
    for finding in found.findings:
        # What a hold tells is not known to be so where it only asks for want of knowledge.
        if finding.row["tell_client"] and finding.effect == finding.row["effect"]:
            return str(finding.row["tell_client"])
        if finding.effect == ASK and finding.row["question"]:
            return str(moment.rules.questions[finding.row["question"]]["words"])
    if found.state in {"ask", "held"}:
        return f"We wait with this: {found.task['title'].lower()}."
    return str(found.task["tell_client"])


def sources(found: Judgement, moment: Moment) -> list[str]:
    """Return the titles of everything that the answer rests on, each once."""
    rows = [found.task, *(finding.row for finding in found.findings)]
    if found.window is not None:
        rows[1:1] = [found.window.opening.row, found.window.closing.row]
    if found.task["chemical"] and moment.case.turf_season:
        rows += [row for verdict in found.verdicts for row in verdict.rows]
    return titles(rows, moment.rules.titles)


def titles(rows: Iterable[Row], title_of: dict[str, str]) -> list[str]:
    """Return the titles that rows cite, in order, each once; our own definitions need none.

    What a user's own row cites is its own title.
    """
    cited = [source for row in rows for source in listed(row["source"]) if source != "own"]
    return [title_of.get(source, source) for source in dict.fromkeys(cited)]
