"""The records as a sheet to print: one HTML page with everything in it, and no script."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from string import Template
from typing import Any

from turfmap.foundations.checks import as_text
from turfmap.foundations.dates import day_words
from turfmap.foundations.definitions import table
from turfmap.foundations.units import METRES_PER_SECOND_PER_MPH, area_words, fahrenheit
from turfmap.views.offline_page import escaped

_PAGE = Template("""\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="generator" content="turfmap">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; \
base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Records of work</title>
<style>
body { font: 11pt/1.4 system-ui, sans-serif; color: #111; margin: 2rem auto; max-width: 48rem;
  padding: 0 1rem; overflow-wrap: anywhere; }
article { border-top: 2px solid #111; padding: .5rem 0 1rem; break-inside: avoid; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; margin: .3rem 0; }
dl { display: grid; grid-template-columns: 13rem 1fr; gap: .1rem 1rem; margin: .5rem 0; }
dt { color: #444; } dd { margin: 0; }
table { border-collapse: collapse; width: 100%; } th, td { text-align: left; padding: .1rem .6rem;
  border-bottom: 1px solid #bbb; } td.number, th.number { text-align: right; }
.gone dl, .gone table { color: #555; text-decoration: line-through; }
.status { font-weight: bold; border: 1px solid; padding: 0 .4rem; }
.missing { border: 2px solid #111; padding: .3rem .6rem; font-weight: bold; }
@media (max-width: 34rem) { dl { grid-template-columns: 1fr; } dd { margin-bottom: .4rem; } }
@media print { body { margin: 0; max-width: none; } }
</style>
</head>
<body>
<h1>Records of work</h1>
<p>$count. A record is never changed: one that was corrected stays here, struck through, and the
record that took its place names it. The label, local rules and a licensed person decide what a
record must hold.</p>
$records
</body>
</html>
""")

# In the order of the sheet: the column and what it is called there.
_FACTS = {
    "date": "Date",
    "start_time": "Began at",
    "end_time": "Ended at",
    "customer": "Customer",
    "customer_address": "Customer's address",
    "location": "Location",
    "site": "Site",
    "product": "Product",
    "registration_number": "Registration number",
    "applicator": "Applicator",
    "licence_number": "Licence number",
    "supervised": "Supervised applicator",
    "equipment": "Equipment",
    "photo": "Picture",
    "notes": "Notes",
    "corrects": "Takes the place of",
    "reason": "Why",
    "recorded_at": "Written down at (UTC)",
}
_FOUND_BY = {
    "given": "as given",
    "treatable": "treatable ground",
    "drawn": "as drawn, less no-spray ground",
}


@dataclass(frozen=True)
class RecordOnPaper:
    """One record for the sheet.

    Attributes
    ----------
    name
        What it is called.
    status
        stands, corrected or cancelled.
    rows
        Its rows of the layer visit, one a zone.
    missing
        What a rule asks for and it lacks, in words.
    duties
        Deadlines and signs, in sentences.
    """

    name: str
    status: str
    rows: Sequence[Mapping[str, Any]]
    missing: Sequence[str]
    duties: Sequence[str]


def record_sheet(records: Sequence[RecordOnPaper]) -> str:
    """Return the records as one HTML page that fetches nothing and runs nothing.

    Text may hold anything: it is shown. The same records give the same page, to the byte.
    """
    count = f"{len(records):,} {'record' if len(records) == 1 else 'records'}"
    return _PAGE.substitute(count=count, records="\n".join(map(_article, records)))


def _article(record: RecordOnPaper) -> str:
    first = record.rows[0]
    titles = {row["task"]: row["title"] for row in table("task").rows}
    title = titles.get(first["task"], as_text(first["task"]))
    gone = "" if record.status == "stands" else f' <span class="status">{escaped(record.status)}'
    lacking = f"Unfinished: {'; '.join(record.missing)}." if record.missing else ""
    return "\n".join(
        [
            f'<article class="{"gone" if gone else "counts"}">',
            f"<h2>{escaped(as_text(first['property']))}: {escaped(title)}"
            f"{gone + '</span>' if gone else ''}</h2>",
            f'<p class="missing">{escaped(lacking)}</p>' if lacking else "",
            _facts(record),
            _ground(record.rows),
            *(f"<p>{escaped(line)}</p>" for line in record.duties),
            "</article>",
        ]
    )


def _facts(record: RecordOnPaper) -> str:
    first = record.rows[0]
    facts = {"Record": record.name}
    for column, words in _FACTS.items():
        # A location for each zone; the others are the same in all rows.
        said = dict.fromkeys(as_text(row.get(column)) for row in record.rows)
        facts[words] = "; ".join(text for text in said if text)
    facts["Date"] = _day(first["date"])
    facts["Weather"] = _weather(first)
    lines = [
        f"<dt>{escaped(words)}</dt><dd>{escaped(text)}</dd>"
        for words, text in facts.items()
        if text
    ]
    return f"<dl>{''.join(lines)}</dl>"


def _day(value: Any) -> str:
    try:
        return day_words(date.fromisoformat(as_text(value)))
    except ValueError:  # another program wrote something else
        return as_text(value)


def _weather(row: Mapping[str, Any]) -> str:
    words = []
    if row["wind_m_per_s"] is not None:
        speed_mph = row["wind_m_per_s"] / METRES_PER_SECOND_PER_MPH
        words.append(f"wind {speed_mph:.0f} mph {as_text(row['wind_from'])}".strip())
    if row["air_c"] is not None:
        words.append(f"air {fahrenheit(row['air_c']):.0f} °F ({row['air_c']:.0f} °C)")
    return ", ".join(words)


def _ground(rows: Sequence[Mapping[str, Any]]) -> str:
    lines = [
        f"<tr><td>{escaped(as_text(row['zone']) or 'whole property')}</td>"
        f'<td class="number">{escaped(_area(row))}</td>'
        f'<td class="number">{escaped(_amount(row["amount"], row["amount_unit"]))}</td></tr>'
        for row in rows
    ]
    if len(rows) > 1:
        total = {
            name: sum(row[name] or 0.0 for row in rows) for name in ("area_treated_m2", "amount")
        }
        amount = _amount(total["amount"] or None, rows[0]["amount_unit"])
        area = area_words(total["area_treated_m2"]) if total["area_treated_m2"] else ""
        lines.append(
            f'<tr><th scope="row">Together</th><td class="number">{escaped(area)}</td>'
            f'<td class="number">{escaped(amount)}</td></tr>'
        )
    right = '<th scope="col" class="number">'
    heads = f'<th scope="col">Zone</th>{right}Treated</th>{right}Product</th>'
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(lines)}</tbody></table>"


def _area(row: Mapping[str, Any]) -> str:
    if row["area_treated_m2"] is None:
        return ""
    found_by = _FOUND_BY.get(row["area_found_by"] or "", "")
    return f"{area_words(row['area_treated_m2'])} {found_by}".strip()


def _amount(amount: float | None, unit: str | None) -> str:
    return "" if amount is None else f"{amount:.6g} {as_text(unit)}".strip()
