"""Drawings that come from outside this package are let into a page only if they are nothing but a drawing."""

from __future__ import annotations

from xml.etree import ElementTree

from proveout.errors import InputError

__all__ = ["checked_svg"]

SPACE = "{http://www.w3.org/2000/svg}"
TAGS = frozenset({"svg", "title", "desc", "rect", "text", "polyline", "polygon", "circle"})
ATTRIBUTES = frozenset(
    {
        *("width", "height", "viewBox", "role", "font-family", "font-size", "font-weight", "text-anchor", "x", "y"),
        *("cx", "cy", "r", "rx", "points", "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin"),
        *("stroke-linecap", "paint-order"),
    }
)

ElementTree.register_namespace("", SPACE.strip("{}"))


def checked_svg(text: str) -> str:
    """Return the drawing written anew, so that what stands in a page is what was checked.

    Raises
    ------
    InputError
        If it is not well-formed, or holds an element or attribute that a drawing of ours has not (a script, a link).
    """
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise InputError("the schematic declares a document type; give the text that the schematic's drawing returns")
    try:
        tree = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise InputError(
            f"the schematic is no well-formed SVG ({error}); give the text that the schematic's drawing returns"
        ) from error
    for element in tree.iter():
        tag = element.tag.removeprefix(SPACE)
        strange = [tag] if not element.tag.startswith(SPACE) or tag not in TAGS else []
        strange += [name for name in element.attrib if name not in ATTRIBUTES]
        if strange or any(":" in value or "url(" in value for value in element.attrib.values()):
            name = strange[0] if strange else tag
            raise InputError(
                f"the schematic holds '{name}', which no drawing needs; drawings hold only shapes and text"
            )
    return ElementTree.tostring(tree, encoding="unicode")
