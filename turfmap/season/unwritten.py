"""Visits of which nobody wrote down, or knows, what they put down."""

from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import Row
from turfmap.season.case import Case, Moment
from turfmap.season.finding import Hold, Work, always, asking
from turfmap.season.finding import with_detail as detailed
from turfmap.season.visits import Visit


def unwritten(row: Row, work: Work, case: Case) -> Hold:
    """Ask what was put down at visits that may have put down what serves the task."""
    serving, days = case.rules.needs[work.task].actives, int(row["days"])
    titles = case.rules.task.by("task")
    found = [
        (visit, str(titles[task]["title"]))
        for task, done in case.visits.items()
        for visit in done
        if serving.intersection(visit.may_hold)
    ]
    flags = always(case, flag=False)
    for visit, _ in found:
        age_d = case.days - visit.day.toordinal()
        flags = flags | ((age_d >= 0) & (age_d < days))

    def words(moment: Moment) -> str:
        asked = [
            _question(visit, title)
            for visit, title in sorted(found, key=lambda one: (one[0].day, one[1]))
            if 0 <= (moment.as_of - visit.day).days < days
        ]
        return " ".join(dict.fromkeys(asked))

    return asking(row, flags, detailed(row, words))


def _question(visit: Visit, title: str) -> str:
    day = f"{day_words(visit.day)} ({title[:1].lower()}{title[1:]})"
    if visit.product:
        return (
            f"What does {visit.product!r} hold, put down on {day}? Enter it in the product book by"
            " active ingredients that turfmap lists."
        )
    return f"What was put down on {day}? Correct the record: the product and its amount."
