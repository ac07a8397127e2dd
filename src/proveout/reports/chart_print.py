"""The pages of a drawn chart as one PDF."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Literal, cast

import typst

from proveout.reports.print_font import in_print_font

__all__ = ["render_chart_pdf"]

SIZE = {"a4": "a4", "letter": "us-letter"}
LAYOUT = """#let data = json("data.json")
#set document(title: data.title)
#set page(paper: data.size, flipped: true, margin: 0pt)
#for k in range(data.pages) {
  if k > 0 { pagebreak() }
  image("page-" + str(k) + ".svg", width: 100%, height: 100%, fit: "contain")
}
"""


def render_chart_pdf(pages: Sequence[str], *, title: str, paper: Literal["a4", "letter"] = "a4") -> bytes:
    """Return drawn pages (SVG texts in landscape) as PDF; the same pages, the same bytes."""
    files = {f"page-{k}.svg": in_print_font(page) for k, page in enumerate(pages)}
    data = json.dumps({"title": title, "size": SIZE[paper], "pages": len(pages)})
    files |= {"main": LAYOUT.encode(), "data.json": data.encode()}
    # The wheel takes a mapping of file names to their bytes, which its stubs leave out.
    return cast(bytes, typst.compile(files, ignore_system_fonts=True, timestamp=0))  # type: ignore[call-overload]
