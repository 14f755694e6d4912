"""A business's own name, wording and money: ``business.toml`` and templates in one folder."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from turfmap.days.money import Currency
from turfmap.foundations.checks import as_text
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store.letter_files import read_texts, write_folder
from turfmap.views.letter_text import KINDS, shipped_templates

SETTINGS = "business.toml"
LONGEST = 500

_EXAMPLE = """\
# Who writes the letters. Every line may be left out. Shown to clients as it stands.
name = "Your business"
phone = ""
email = ""
address = ""
licence = ""
closing = ""            # above the name, such as "With kind regards"
reply_by = ""           # how to answer, such as "Reply to this letter or call us."

# Money: a code of three letters (ISO 4217), and how many decimals it has. Left out, the machine's
# own settings say so (its locale).
currency = "USD"
decimals = 2
"""


@dataclass(frozen=True)
class Business:
    """Who writes, and how.

    Attributes
    ----------
    facts
        ``name, phone, email, address, licence, closing, reply_by``; empty where not given.
    currency
        Its code; None: not set.
    decimals
        How many decimals its money has; None: not set.
    templates
        Its own templates by file name.
    folder
        Where it all was read from; empty if nowhere.
    """

    facts: Mapping[str, str] = field(default_factory=dict)
    currency: str | None = None
    decimals: int | None = None
    templates: Mapping[str, str] = field(default_factory=dict)
    folder: str = ""

    def money_in(self, local: Currency) -> Currency:
        """Return the currency of this business: its own setting, else that of the machine."""
        code = self.currency or local.code
        decimals = local.decimals if code == local.code else Currency().decimals
        return Currency(code, decimals if self.decimals is None else self.decimals)


FACTS = ("name", "phone", "email", "address", "licence", "closing", "reply_by")


def read_business(folder: Path | None) -> Business:
    """Read a business's folder; None: nothing is known of it.

    Raises
    ------
    InputFaultsError
        With everything in its settings that is not understood.
    """
    if folder is None:
        return Business(dict.fromkeys(FACTS, ""))
    texts = read_texts(folder, [SETTINGS, *shipped_templates()])
    settings = _settings(texts.pop(SETTINGS, ""), file=str(folder / SETTINGS))
    facts = {name: as_text(settings.get(name)) for name in FACTS}
    return Business(facts, settings.get("currency"), settings.get("decimals"), texts, str(folder))


def _settings(text: str, *, file: str) -> dict[str, Any]:
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise input_fault(f"it is no TOML ({error})", "correct that line", file=file) from None
    faults = []
    for name, value in found.items():
        if name in FACTS:
            is_good = isinstance(value, str) and len(value) <= LONGEST
            mend = f"give a text of at most {LONGEST} characters"
        elif name == "currency":
            is_good = isinstance(value, str) and len(value) == 3 and value.isalpha()
            is_good = is_good and value.isupper() and value.isascii()
            mend = "give a code of three letters, such as USD"
        elif name == "decimals":
            is_good = type(value) is int and 0 <= value <= 4
            mend = "give a whole number from 0 to 4"
        else:
            is_good, mend = False, f"choose one of {', '.join((*FACTS, 'currency', 'decimals'))}"
        if not is_good:
            faults.append(Fault(file, name[:60], "it is not understood", mend))
    if faults:
        raise InputFaultsError(faults)
    return found


def write_templates(folder: Path) -> dict[str, Any]:
    """Write the templates that ship, and example settings, for a business to edit.

    Returns
    -------
    dict
        ``out`` and the ``files`` in it.

    Raises
    ------
    InputFaultsError
        If the folder holds something, or cannot be written.
    """
    contents = {SETTINGS: _EXAMPLE, **shipped_templates()}
    write_folder(folder, {name: text.encode("utf-8") for name, text in contents.items()})
    return {"out": str(folder), "files": list(contents), "kinds": list(KINDS)}
