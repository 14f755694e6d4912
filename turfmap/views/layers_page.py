"""The page that tells what the map's layers and the reference tables hold, in Markdown."""

from collections.abc import Iterable, Mapping

from turfmap.foundations.definitions import Column, Layer, Table

_HEAD = """\
# What turfmap knows

Made from the files beside it by `turfmap layers --page`; change those, not this page.

A `.toml` file says what the columns mean. With a `.csv` beside it, it is a reference table that
ships with turfmap, every row with its source and how it was read: *read* in print, *second hand*,
*derived* from such a figure, from *memory*, or our *own* definition. Figures that are not read are
shown as unverified: confirm them on the label and with local rules. Without a `.csv`, it is a
layer of your place, whose rows you bring.
"""


def layers_page(layers: Mapping[str, Layer], tables: Mapping[str, Table]) -> str:
    """Return the page for ``layers/README.md``."""
    parts = [_HEAD, "## Map layers\n"]
    parts += [_section(layer, _shapes(layer)) for layer in layers.values()]
    parts.append("## Reference tables\n")
    parts += [
        _section(table, f"{len(table.rows)} rows. {_how(table)}") for table in tables.values()
    ]
    return "\n".join(parts)


def _section(layer: Layer, about: str) -> str:
    heads = ("Column", "Type", "Unit", "Must have", "What it means")
    rows = [_cells(column) for column in layer.columns.values()]
    table = _table(heads, rows)
    return f"### {layer.name}: {layer.title}\n\n{layer.plain} {about}\n\n{table}\n"


def _shapes(layer: Layer) -> str:
    shapes = {
        "area": "Drawn as areas.",
        "point": "Drawn as points.",
        "any": "Drawn as points, lines or areas.",
        None: "A table without shapes.",
    }
    return shapes[layer.geometry]


def _how(table: Table) -> str:
    counts: dict[str, int] = {}
    for row in table.rows:
        how = row.get("how_read", "")
        counts[how] = counts.get(how, 0) + 1
    return (
        "How known: " + ", ".join(f"{count} {how}" for how, count in sorted(counts.items())) + "."
    )


def _cells(column: Column) -> tuple[str, ...]:
    choices = f" One of: {', '.join(column.one_of)}." if column.one_of else ""
    unit = "" if column.unit == "1" else column.unit
    must = "yes" if column.required else ""
    return (column.name, column.type.replace("_", " "), unit, must, column.plain + choices)


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [heads, ["---"] * len(list(heads)), *rows]
    escaped = ([cell.replace("|", "\\|") for cell in line] for line in lines)
    return "\n".join(f"| {' | '.join(line)} |" for line in escaped)
