"""Every text of a letter is there in Spanish, and all of them read easily."""

import re
from collections.abc import Iterable

import pytest

from turfmap.foundations.definitions import table
from turfmap.views.letter_text import shipped_templates
from turfmap.views.letter_words import catalogue

# Flesch (1948): 60 and more is plain English. Fernandez Huerta (1959) set his own scale for Spanish
# by the same classes. Both from memory.
PLAIN = 60.0


def of_templates() -> set[str]:
    texts = "\n".join(shipped_templates().values())
    return set(re.findall(r'_\("([^"]*)"', texts))


def of_tables() -> set[str]:
    questions, tasks, holds = (table(name).rows for name in ("question", "task", "hold"))
    found = {row[name] for row in questions for name in ("words", "why")}
    found |= {row[name] for row in tasks for name in ("title", "tell_client")}
    found |= {row["tell_client"] for row in holds if row["tell_client"]}
    return found | {
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


def test_letters_read_easily_in_both_languages() -> None:
    spanish = catalogue("es")
    for texts in (of_templates(), {row["words"] for row in table("question").rows}):
        assert flesch(texts) >= PLAIN
        assert fernandez_huerta(spanish[text] for text in texts) >= PLAIN
