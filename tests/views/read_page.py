"""Reads a page back with Python's own HTML parser, as a judge that is not ours."""

from html.parser import HTMLParser


class PageReader(HTMLParser):
    """What a page holds: its elements, the text of its scripts and of its headings."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.scripts: list[str] = []
        self.data: dict[str, str] = {}
        self.heading = ""
        self.cautions: list[str] = []
        self._open: list[tuple[str, dict[str, str]]] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = (tag, {name: value or "" for name, value in attrs})
        self.elements.append(element)
        self._open.append(element)
        if tag == "script" and "type" not in element[1]:
            self.scripts.append("")

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        tag, attributes = self._open[-1] if self._open else ("", {})
        if tag == "script" and "type" in attributes:
            self.data[attributes["id"]] = self.data.get(attributes["id"], "") + data
        elif tag == "script":
            self.scripts[-1] += data
        elif tag == "h1":
            self.heading += data
        elif tag == "li":
            self.cautions.append(data.strip())

    def attributes(self, name: str) -> list[str]:
        """Return every value of an attribute in the page."""
        return [element[name] for _, element in self.elements if name in element]
