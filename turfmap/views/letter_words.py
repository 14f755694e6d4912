"""The languages of letters: texts by gettext, dates and lists as each language writes them."""

import gettext
import tomllib
from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from importlib.resources import files

from turfmap.foundations.dates import day_words

# By the answer to the question letter_language.
LANGUAGES = {"English": "en", "Spanish": "es"}


class Words(gettext.NullTranslations):
    """What letters say in one language; what it has no words for stays English.

    Parameters
    ----------
    language
        en or es.
    """

    def __init__(self, language: str) -> None:
        super().__init__()
        self.language = language
        self.texts = catalogue(language)

    def gettext(self, message: str) -> str:
        """Return an English text in this language."""
        return self.texts.get(message, message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """Return the text for one, or for several."""
        return self.gettext(msgid1 if n == 1 else msgid2)

    def day(self, day: date | None) -> str:
        """Return a date as it is written in a letter; nothing for none."""
        if day is None:
            return ""
        if self.language == "en":
            return day_words(day)
        month = self.gettext(f"{day:%B}")
        return f"{day.day} de {month} de {day.year}"

    def listed(self, parts: Sequence[str]) -> str:
        """Return parts with commas and an "and"."""
        if len(parts) < 2:
            return "".join(parts)
        return f"{', '.join(parts[:-1])} {self.gettext('and')} {parts[-1]}"


@lru_cache(maxsize=8)
def words(language: str) -> Words:
    """Return the words of a language (en or es)."""
    return Words(language)


@lru_cache(maxsize=8)
def catalogue(language: str) -> dict[str, str]:
    """Return what stands for each English text in a language."""
    if language == "en":
        return {}
    file = files("turfmap.views") / "words" / f"letters_{language}.toml"
    texts: dict[str, str] = tomllib.loads(file.read_text("utf-8"))["texts"]
    return texts
