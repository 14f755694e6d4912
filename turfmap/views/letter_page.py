"""A letter's Markdown as an HTML page that fetches nothing, and as PDF."""

import re
from string import Template

from markdown_it import MarkdownIt
from markupsafe import Markup

from turfmap.foundations.errors import input_fault
from turfmap.views.letter_text import inert_text
from turfmap.views.offline_page import escaped

# The name that a letter's Markdown gives to its picture, and what becomes of it in HTML.
PICTURE = "map.svg"
_IMAGE = re.compile(rf'<img src="{re.escape(PICTURE)}" alt="([^"<>]*)" />')

_PAGE = Template("""\
<!DOCTYPE html>
<html lang="$language">
<head>
<meta charset="utf-8">
<meta name="generator" content="turfmap">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; \
style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>
@page { size: letter; margin: 20mm 18mm; }
body { font: 11pt/1.45 system-ui, "DejaVu Sans", sans-serif; color: #1a1a1a; margin: 2rem auto;
  max-width: 42rem; padding: 0 1rem; overflow-wrap: anywhere; }
h1 { font-size: 1.45rem; line-height: 1.2; } h2 { font-size: 1.12rem; margin-top: 1.4rem; }
h1, h2, h3 { break-after: avoid; } li, tr { break-inside: avoid; } li { margin: .25rem 0; }
table { border-collapse: collapse; width: 100%; font-size: .95em; }
th, td { text-align: left; padding: .25rem .5rem; border-bottom: 1px solid #bbb;
  vertical-align: top; }
th { border-bottom: 2px solid #444; }
figure { margin: .8rem 0; } figure svg { display: block; width: 100%; height: 90mm; }
hr { border: 0; border-top: 1px solid #999; margin: 1.2rem 0; }
@media print { body { margin: 0; max-width: none; padding: 0; } }
</style>
</head>
<body>
$body
</body>
</html>
""")


def picture_mark(words: str) -> Markup:
    """Return what stands in a letter's Markdown for its picture."""
    return Markup(f"![{inert_text(words)}]({PICTURE})")  # noqa: S704  (made inert here)


def letter_html(markdown: str, *, title: str, language: str, picture: str | None = None) -> str:
    """Return a letter as one HTML page.

    Parameters
    ----------
    markdown
        As `turfmap.views.letter_text.Letters` gives it. HTML within it is shown, never read.
    title
        What the page is called.
    language
        en or es.
    picture
        An SVG drawing of ours that takes the place of the picture named `PICTURE`.
    """
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    body = str(reader.render(markdown))
    if picture is not None:
        body = _IMAGE.sub(
            lambda found: f'<figure role="img" aria-label="{found[1]}">{picture}</figure>', body
        )
    return _PAGE.substitute(body=body.strip(), title=escaped(title), language=language)


def letter_pdf(page: str) -> bytes:
    """Return a letter's page as PDF; nothing that it may name is fetched.

    Raises
    ------
    InputFaultsError
        If the library that prints is not there.
    """
    try:
        import weasyprint  # noqa: PLC0415  (an extra, and slow to import)
    except (ImportError, OSError):
        raise input_fault(
            "PDF needs the library weasyprint, which is not there",
            "install turfmap[pdf], or leave --format pdf out",
        ) from None
    pdf: bytes = weasyprint.HTML(string=page, url_fetcher=_nothing).write_pdf()
    return pdf


def _nothing(url: str, *args: object, **named: object) -> object:
    """Fetch nothing, not even a file."""
    raise ValueError("letters fetch nothing")
