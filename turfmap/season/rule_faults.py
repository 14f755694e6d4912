"""What is wrong with rows of the season's tables: the shipped ones in tests, a user's on import."""

from collections.abc import Iterator, Mapping, Sequence

from turfmap.foundations.definitions import Row
from turfmap.season.rules import Rules, listed
from turfmap.season.window_rows import grouped

# The columns that each basis cannot do without.
WINDOW_NEEDS: Mapping[str, tuple[str, ...]] = {
    "date": (),
    "soil_temperature": ("value", "sensor", "days", "direction"),
    "air_minimum": ("value", "sensor", "days", "direction"),
    "air_mean": ("value", "sensor", "days", "direction"),
    "freeze": ("value", "sensor", "days", "direction"),
    "cooling_front": ("value", "rain_in"),
    "degree_days": ("value", "unit", "base_f"),
    "after_task": ("value", "after_task"),
}
HOLD_NEEDS: Mapping[str, tuple[str, ...]] = {
    "answer_is": ("question", "answer"),
    "not_asked": ("question",),
    "species_unknown": (),
    "species_is": ("species",),
    "species_not_tolerant": (),
    "bed_type_unknown": (),
    "bed_type_is": ("bed_types",),
    "irrigation_unknown": (),
    "interval": ("days", "other_tasks"),
    "no_visit": ("days", "other_tasks"),
    "reseed_interval": ("days", "other_tasks"),
    "unwritten": ("days",),
    "season": ("from", "until"),
    "drought": ("question", "value", "days"),
    "too_hot": ("value", "days"),
    "too_cold": ("value", "days"),
    "wet_enough": ("value", "days"),
}
NEEDS = {"window": WINDOW_NEEDS, "hold": HOLD_NEEDS}


def faults_of(name: str, rows: Sequence[Row], rules: Rules) -> list[str | None]:
    """Return what is wrong with each row of a table; None where nothing is.

    Parameters
    ----------
    name
        The table.
    rows
        Its rows, checked by themselves.
    rules
        The rules with these rows among them.
    """
    lists = _lists(rules)
    whole = _windows_without_an_edge(rules) if name == "window" else set()
    return [next(_problems(name, row, lists, rules, whole), None) for row in rows]


def _problems(
    name: str,
    row: Row,
    lists: Mapping[str, frozenset[str]],
    rules: Rules,
    broken: set[tuple[str, str]],
) -> Iterator[str]:
    for column in NEEDS.get(name, {}).get(row.get("basis") or "", ()):
        if row[column] is None:
            yield f"basis {row['basis']} needs a {column}"
    for column, known in lists.items():
        unknown = sorted(set(listed(row.get(column))) - known)
        if unknown:
            yield f"{column} names {unknown[0]!r}, which is not known"
    question, answer = row.get("question"), row.get("answer")
    if question and answer and answer not in listed(rules.questions[question]["answers"]):
        yield f"{answer!r} is not an answer to {question}"
    for column in ("permits", "standing"):
        strange = sorted(set(listed(row.get(column))) - set(listed(row.get("answers"))))
        if strange:
            yield f"{column} names {strange[0]!r}, which is not among its answers"
    if (row.get("task"), row.get("window")) in broken:
        yield "the window has no row that opens it, or none that closes it"


def _lists(rules: Rules) -> Mapping[str, frozenset[str]]:
    tasks = frozenset(rules.task.by("task"))
    return {
        "tasks": tasks,
        "other_tasks": tasks,
        "bed_types": frozenset(rules.bed_type.by("bed_type")),
        "species": frozenset(rules.species) | {"overseeded_ryegrass"},
    }


def _windows_without_an_edge(rules: Rules) -> set[tuple[str, str]]:
    return {
        (rows.task, rows.name)
        for task in grouped(rules.window.rows).values()
        for rows in task
        if not rows.opens or not rows.closes
    }
