"""Every text of a letter is there in Spanish, and all of them read easily."""

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path

import pytest

from turfmap.foundations.definitions import table
from turfmap.views.letter_text import shipped_templates
from turfmap.views.letter_words import catalogue

# Flesch (1948): 60 and more is plain English. Fernandez Huerta (1959) set his own scale for Spanish
# by the same classes. Both from memory.
PLAIN = 60.0
WORDS = Path(__file__).parents[2] / "turfmap" / "views" / "words"


def of_templates() -> set[str]:
    texts = "\n".join(shipped_templates().values())
    return set(re.findall(r'_\("([^"]*)"', texts))


def of_tables() -> set[str]:
    questions, tasks, holds = (table(name).rows for name in ("question", "task", "hold"))
    found = {row[name] for row in questions for name in ("words", "why")}
    found |= {row[name] for row in tasks for name in ("title", "tell_client")}
    found |= {row["tell_client"] for row in holds if row["tell_client"]}
    signs = {row["wording"] for row in table("posting").rows if row["wording"]}
    return (found | signs) | {
        choice.replace("_", " ")
        for row in questions
        for choice in row["answers"].split(";")
        if choice != "not_asked"
    }


def test_every_text_stands_in_spanish_with_the_same_places() -> None:
    spanish = catalogue("es")
    wanted = of_templates() | of_tables()
    assert sorted(wanted - spanish.keys()) == []
    for english, there in spanish.items():
        places = re.findall(r"%\(\w+\)s", english)
        assert sorted(places) == sorted(re.findall(r"%\(\w+\)s", there)), english


def syllables(word: str, vowels: str) -> int:
    """Count groups of vowels; in English a last e that is not heard is left out."""
    groups = re.findall(f"[{vowels}]+", word)
    silent = vowels == "aeiouy" and re.search(r"[^aeiouyl]e$", word) and len(groups) > 1
    return max(len(groups) - bool(silent), 1)


def measures(texts: Iterable[str], vowels: str) -> tuple[float, float]:
    """Return words a sentence and syllables a word."""
    text = " ".join(f"{one.rstrip('.:;,')}." for one in texts).lower()
    text = re.sub(r"%\(\w+\)s", "one", text)
    sentences = len([part for part in re.split(r"[.!?:;]+", text) if part.strip()])
    words = re.findall(r"[a-záéíóúüñ]+", text)
    return len(words) / sentences, sum(syllables(word, vowels) for word in words) / len(words)


def flesch(texts: Iterable[str]) -> float:
    """Flesch reading ease: 206.835 - 1.015 words a sentence - 84.6 syllables a word."""
    length, weight = measures(texts, "aeiouy")
    return 206.835 - 1.015 * length - 84.6 * weight


def fernandez_huerta(texts: Iterable[str]) -> float:
    """Fernandez Huerta: 206.84 - 60 syllables a word - 1.02 words a sentence."""
    length, weight = measures(texts, "aeiouáéíóúü")
    return 206.84 - 60.0 * weight - 1.02 * length


def test_the_formula_gives_what_is_printed_of_it() -> None:
    """Often printed: "The cat sat on the mat" is 116; the platypus, of 24 syllables, 37.5 (memory).

    Our count of syllables is a rule of thumb: within some points of the second.
    """
    assert flesch(["The cat sat on the mat."]) == pytest.approx(116.145, abs=0.01)
    hard = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
    assert flesch([hard]) == pytest.approx(37.5, abs=10.0)
    assert flesch([hard]) < PLAIN


def of_crew(language: str) -> set[str]:
    texts = tomllib.loads((WORDS / f"crew_{language}.toml").read_text("utf-8"))
    parts = [part.values() if isinstance(part, dict) else part for part in texts.values()]
    return {one for part in parts for one in part}


def told(table_name: str, column: str) -> set[str]:
    return {row[column] for row in table(table_name).rows if row[column]}


# What a client gets, in letters and on the map, and what stands on the crew's page.
CLIENT = {
    "templates": of_templates(),
    "questions": told("question", "words"),
    "reasons to ask": told("question", "why"),
    "work": told("task", "tell_client"),
    "waiting work": told("hold", "tell_client"),
}
GROUPS = {
    **{f"{name}, English": (texts, flesch) for name, texts in CLIENT.items()},
    **{
        f"{name}, Spanish": ({catalogue("es")[text] for text in texts}, fernandez_huerta)
        for name, texts in CLIENT.items()
    },
    "crew, English": (of_crew("en"), flesch),
    "crew, Spanish": (of_crew("es"), fernandez_huerta),
    "holds, English": (told("hold", "words"), flesch),
}
# The formulas are for running text: of single texts only those of so many words are judged, and
# the words of holds, which name the trade's own things to the trade, as a whole alone.
RUNNING = 8


@pytest.mark.parametrize("name", GROUPS)
def test_what_people_get_reads_easily(name: str) -> None:
    texts, ease = GROUPS[name]
    assert ease(sorted(texts)) >= PLAIN
    if not name.startswith("holds"):
        hard = {text for text in texts if len(text.split()) >= RUNNING and ease([text]) < PLAIN}
        assert hard == set()
