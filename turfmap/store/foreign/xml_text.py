"""XML from strangers, as a tree of plain names: no document types, no entities, bounded depth."""

from pathlib import Path
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_XML_DEPTH, MAX_XML_ELEMENTS


def read_xml(path: Path, root: str) -> Element:
    """Return the root element of a file; names are without their namespaces.

    Parameters
    ----------
    path
        An XML file, small enough to be read whole.
    root
        The local name that the root element must have ("kml").

    Raises
    ------
    InputFaultsError
        For anything that is not well-formed, has a document type, or goes too deep.
    """
    builder = TreeBuilder()
    parser = _parser(builder)
    try:
        parser.Parse(path.read_bytes(), True)
    except expat.ExpatError as error:
        raise input_fault(
            f"the XML is damaged ({expat.ErrorString(error.code)})",
            "export it again",
            record=f"line {error.lineno}",
        ) from error
    tree = builder.close()
    if tree.tag != root:
        raise input_fault(f"its content is <{tree.tag[:40]}>, not <{root}>", "check the file")
    return tree


def _parser(builder: TreeBuilder) -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True
    depth = elements = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, elements
        depth += 1
        elements += 1
        if depth > MAX_XML_DEPTH or elements > MAX_XML_ELEMENTS:
            raise input_fault(
                f"its XML is nested deeper than {MAX_XML_DEPTH} or has more than"
                f" {MAX_XML_ELEMENTS:,} elements",
                "export a plainer file",
            )
        builder.start(_local(name), {_local(key): text for key, text in attributes.items()})

    def end(name: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(_local(name))

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = _refuse_document_type
    return parser


def _local(name: str) -> str:
    return name.rsplit("}", 1)[-1]


def _refuse_document_type(*_told: object) -> None:
    """Entities can only be declared there, and they are how XML bombs and thefts are made."""
    raise input_fault(
        "its XML declares a document type, which map files never need", "do not trust it"
    )
