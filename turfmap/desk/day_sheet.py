"""The day sheet of properties, as PDF or as HTML that prints."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from turfmap.desk.crew_page import title_of, told, visit_plans
from turfmap.desk.protected import Overrides
from turfmap.desk.visit_plan import PlanAsked
from turfmap.foundations.errors import input_fault
from turfmap.store.written_files import HTML_MARK, PDF_MARK, write_whole, write_whole_bytes
from turfmap.views.day_sheet import day_sheet
from turfmap.views.pdf import printed


def day_sheet_file(
    path: Path,
    properties: Sequence[str],
    asked: PlanAsked,
    *,
    out: Path,
    overrides: Overrides,
) -> dict[str, Any]:
    """Write the day sheet of properties; the ending of its name tells what it is.

    Returns
    -------
    dict
        As `turfmap.desk.crew_page.crew_file`.

    Raises
    ------
    InputFaultsError
        If the ending is another, PDF cannot be made here, or something in the file needs mending;
        nothing has been written.
    """
    ending = out.suffix.lower()
    if ending not in {".pdf", ".html"}:
        mend = "give it a name that ends in .pdf or .html"
        raise input_fault("its ending is not that of what is written", mend, file=str(out))
    plans = visit_plans(path, properties, asked, overrides=overrides)
    page = day_sheet(plans, title=title_of(plans))
    content = page.encode("utf-8")
    if ending == ".html":
        write_whole(out, page, mark=HTML_MARK, endings=(".html",))
    else:
        content = printed(page)
        write_whole_bytes(out, content, mark=PDF_MARK, endings=(".pdf",))
    return {"out": str(out), "bytes": len(content), **told(plans)}
