"""Records and signs as the rules print them.

Sources
-------
7 CFR 110.3(a), records of restricted-use pesticides (print of 2006): its five elements.
40 CFR 171.303(b)(7), records of commercial applicators: its elements, as summarised.
State rules on signs for treated lawns: Maryland Agriculture 5-208; the Georgia sign rule; New York
Environmental Conservation Law 33-1003; Indiana's lawn posting; Michigan R 285.637.11; Florida
chapter 482. All were read in part.
"""

import pytest

from turfmap.desk.record_duties import missing_elements, posting
from turfmap.foundations.definitions import map_layer, table

FEDERAL = "7 CFR 110.3(a)"
COMMERCIAL = "40 CFR 171.303(b)(7)"

# The words of each rule, and where our record keeps them.
ELEMENTS = {
    FEDERAL: {
        "(1) brand or product name": "product",
        "(1) EPA registration number": "registration_number",
        "(2) total amount": "amount",
        "(3) location": "location",
        "(3) size of area": "area_treated_m2",
        "(3) crop, commodity or site": "site",
        "(4) month, day and year": "date",
        "(5) name": "applicator",
        "(5) certification number": "licence_number",
    },
    COMMERCIAL: {
        "name of the customer": "customer",
        "address of the customer": "customer_address",
        "location": "location",
        "size of area": "area_treated_m2",
        "time": "start_time",
        "date": "date",
        "product": "product",
        "EPA registration number": "registration_number",
        "total amount per location per application": "amount",
        "name of the applicator": "applicator",
        "certification of the applicator": "licence_number",
        "any supervised noncertified person": "supervised",
    },
}
# What 40 CFR 171 asks for and 7 CFR 110 does not.
ONLY_COMMERCIAL = {"start_time", "customer", "customer_address", "supervised"}


@pytest.mark.parametrize("rule", ELEMENTS)
def test_the_elements_are_those_of_the_rule(rule: str) -> None:
    ours = {row["element"] for row in table("record_rule").rows if row["rule"] == rule}
    assert ours == set(ELEMENTS[rule].values())
    assert ours <= map_layer("visit").columns.keys()


def test_the_record_asks_for_the_union_of_both() -> None:
    """An empty record of a spraying lacks everything but a helper that there need not be."""
    empty = dict.fromkeys(map_layer("visit").columns) | {"task": "broadleaf_post_emergent"}
    lacking = {one["element"]: one["rules"] for one in missing_elements([empty])}
    union = set(ELEMENTS[FEDERAL].values()) | set(ELEMENTS[COMMERCIAL].values())
    assert lacking.keys() == union - {"supervised"}
    assert union - set(ELEMENTS[FEDERAL].values()) == ONLY_COMMERCIAL
    assert lacking["start_time"] == [COMMERCIAL]
    assert lacking["site"] == [FEDERAL]
    assert lacking["amount"] == [FEDERAL, COMMERCIAL]


# State: least width and height [in], letters [in], lower edge from and to [in], stay [h].
SIGNS = {
    "MD": (None, None, None, None, None, 48),
    "GA": (5, 4, None, 8, 12, None),
    "NY": (5, 4, 3 / 8, 12, None, 24),
    "IN": (5, 4, 3 / 8, 6, 18, None),
    "MI": (5, 4, None, 12, None, 24),
    "FL": (None, None, None, None, None, None),
}
MEASURES = (
    "width_in",
    "height_in",
    "letters_in",
    "above_ground_from_in",
    "above_ground_to_in",
    "stays_h",
)


@pytest.mark.parametrize("state", SIGNS)
def test_signs_are_as_the_state_prints_them(state: str) -> None:
    row = table("posting").by("place")[state]
    assert tuple(row[name] for name in MEASURES) == SIGNS[state]


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("GA", ("CAUTION / PESTICIDE APPLICATION / KEEP OFF", "72 point", "8 to 12 in")),
        ("MD", ("48 hours",)),
        ("NY", ("24 hours", "at least 12 in", "perimeter")),
        ("IN", ("next day", "not of metal", "6 to 18 in")),
        ("MI", ("green on white", "24 hours")),
        ("FL", ("conspicuous place", "at the time of the application", "not golf")),
        ("nc", ("check your state",)),
        (None, ("check your state",)),
    ],
)
def test_what_is_said_of_signs(state: str | None, words: tuple[str, ...]) -> None:
    """Where nothing was read the answer is a question, never "no sign needed"."""
    said = " ".join(posting(state))
    for one in words:
        assert one in said
    assert "check your state" in said
