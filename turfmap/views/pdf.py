"""Pages as PDF, tagged for those who do not see them; only what is in the page goes in."""

from turfmap.foundations.errors import input_fault

# PDF for everybody: tags, title, language (ISO 14289-1).
VARIANT = "pdf/ua-1"
# Stands near the end of the file, not packed: by it turfmap knows its own.
IDENTIFIER = "turfmap"


def printed(page: str) -> bytes:
    """Return a page as a tagged PDF; the same page gives the same bytes.

    Parameters
    ----------
    page
        HTML with everything in it: nothing but ``data:`` is read.

    Raises
    ------
    InputFaultsError
        If WeasyPrint, or a library that it needs, is not there.
    """
    try:
        from weasyprint import HTML  # noqa: PLC0415  (an extra: most people never print)
        from weasyprint.urls import URLFetcher  # noqa: PLC0415
    except (ImportError, OSError) as error:
        # Python's library without the system's Pango fails as OSError.
        raise input_fault(
            f"WeasyPrint, which makes PDFs, cannot be used here ({str(error).splitlines()[0]})",
            "install turfmap[pdf], or end the name in .html and print that from a browser",
        ) from None
    fetcher = URLFetcher(allowed_protocols=("data",))
    made: bytes = HTML(string=page, url_fetcher=fetcher).write_pdf(
        pdf_variant=VARIANT, pdf_identifier=IDENTIFIER.encode("ascii")
    )
    return made
