"""Letters as Markdown: templates that a business may edit, filled in a sandbox with inert text.

Whatever comes from a file is text and nothing else: it is made inert for Markdown before a template
sees it, so that no name can be a heading, a link, a tag or a line of its own.

References
----------
CommonMark 0.31, section 2.4: a backslash before any ASCII punctuation makes it plain text. From
memory.
"""

import re
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any

from jinja2 import BaseLoader, ChoiceLoader, DictLoader, StrictUndefined, TemplateError
from jinja2.exceptions import SecurityError, TemplateSyntaxError, UndefinedError
from jinja2.filters import do_format
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from turfmap.foundations.checks import as_text
from turfmap.foundations.errors import Fault, InputFaultsError
from turfmap.views.letter_words import words

KINDS = ("questions", "before", "after", "season", "estimate")
PARTS = ("footer",)  # what letters share
BREAKS = (
    TemplateError,
    TypeError,
    ValueError,
    ArithmeticError,
    LookupError,
    RecursionError,
    MemoryError,
)
# A letter needs no larger number; a width, a power or a count of copies could fill the memory.
MOST_IN_A_SUM = 10_000
_WIDTH = re.compile(r"\d{5,}")
_SIGNS = re.compile(r"([\\`*_\[\]<>|~@])")
_ENTITY = re.compile(r"&(?=#|\w+;)")
_LINK = re.compile(r"(?i)(?<=[a-z])(:)(?=//)|(?<=www)(\.)")
_START = re.compile(r"^([-+=#])")
_NUMBERED = re.compile(r"^(\d{1,9})([.)])(?=\s|$)")


def inert_text(text: object) -> Markup:
    """Return text as Markdown that shows it on one line and does nothing else."""
    plain = " ".join(as_text(text).split())
    plain = _SIGNS.sub(r"\\\1", plain)
    plain = _ENTITY.sub(r"\\&", plain)
    plain = _LINK.sub(lambda found: f"\\{found[0]}", plain)
    plain = _START.sub(r"\\\1", plain)
    return Markup(_NUMBERED.sub(r"\1\\\2", plain))  # noqa: S704  (made inert above)


def inert(value: Any) -> Any:
    """Return data with every text in it made inert; what is `Markup` already stays."""
    if isinstance(value, Markup):
        return value
    if isinstance(value, str):
        return inert_text(value)
    if isinstance(value, Mapping):
        return {key: inert(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [inert(part) for part in value]
    return value


def shipped_templates() -> dict[str, str]:
    """Return the templates that ship with turfmap, by file name."""
    folder = files("turfmap.views") / "templates"
    return {f"{kind}.md": (folder / f"{kind}.md").read_text("utf-8") for kind in (*KINDS, *PARTS)}


class Letters:
    """Fills in letters.

    Parameters
    ----------
    language
        en or es.
    own
        A business's own templates by file name; they stand in for the shipped ones.
    file
        What `own` was read from, for the sentences that refuse it.
    """

    def __init__(self, language: str, own: Mapping[str, str], *, file: str = "") -> None:
        self.words = words(language)
        self._file = file
        self._own = set(own)
        self._environment = _environment(
            ChoiceLoader([DictLoader(dict(own)), DictLoader(shipped_templates())])
        )
        translate: Any = self._environment
        translate.install_gettext_callables(self.words.gettext, self.words.ngettext, newstyle=True)

    def text(self, kind: str, facts: Mapping[str, Any]) -> str:
        """Return one letter as Markdown.

        Raises
        ------
        InputFaultsError
            If a template is broken: which one, the line, and what is wrong.
        """
        name = f"{kind}.md"
        given = {"language": self.words.language, "listed": self._listed, **inert(facts)}
        try:
            found = self._environment.get_template(name).render(given)
        except BREAKS as error:
            if name not in self._own and not self._own:
                raise
            raise InputFaultsError([self._fault(error, name)]) from None
        return _tidy(found)

    def _listed(self, parts: list[str]) -> Markup:
        return Markup(self.words.listed(parts))  # noqa: S704  (its parts are inert)

    def _fault(self, error: Exception, name: str) -> Fault:
        line = error.lineno if isinstance(error, TemplateSyntaxError) else _line_of(error)
        where = f"{getattr(error, 'name', None) or name}, line {line or 1}"
        is_name = isinstance(error, UndefinedError) and not isinstance(error, SecurityError)
        what = "it uses a name that letters do not have" if is_name else "it is broken"
        return Fault(
            self._file,
            where,
            f"{what}: {error}",
            "correct the template; turfmap notice --templates-into writes those that ship",
        )


def _line_of(error: BaseException) -> int | None:
    """Return the line of the template in which an error arose."""
    trace, line = error.__traceback__, None
    while trace is not None:
        if trace.tb_frame.f_code.co_filename == "<template>":
            line = trace.tb_lineno
        trace = trace.tb_next
    return line


class _Sandbox(ImmutableSandboxedEnvironment):
    """The sandbox, in which no sum, width or count is large."""

    intercepted_binops = frozenset({"*", "**", "%"})

    def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
        """Work out a product, a power or a format of numbers and texts that are small."""
        _refuse_large(left, right)
        return super().call_binop(context, operator, left, right)

    def call(self, context: Any, called: Any, *args: Any, **kwargs: Any) -> Any:
        """Call with whole numbers that are small: a width or a count is one, an area is not."""
        _refuse_large(*(one for one in (*args, *kwargs.values()) if isinstance(one, int)))
        return super().call(context, called, *args, **kwargs)


def _refuse_large(*values: Any) -> None:
    for value in values:
        if isinstance(value, int | float) and abs(value) > MOST_IN_A_SUM:
            raise SecurityError(f"{value:.6g} is more than a letter needs")


def _formatted(pattern: str, *values: Any, **named: Any) -> str:
    """Return what jinja2's own filter does, but for widths that would fill the memory."""
    if _WIDTH.search(pattern):
        raise SecurityError("a width in it is more than a letter needs")
    return do_format(pattern, *values, **named)


def _environment(loader: BaseLoader) -> ImmutableSandboxedEnvironment:
    made = _Sandbox(
        loader=loader,
        autoescape=True,  # what is not inert text of ours is escaped
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["format"] = _formatted
    return made


@lru_cache(maxsize=1)
def _blank_lines() -> "re.Pattern[str]":
    return re.compile(r"\n{3,}")


def _tidy(text: str) -> str:
    lines = "\n".join(line.rstrip() for line in text.splitlines())
    return _blank_lines().sub("\n\n", lines).strip() + "\n"
