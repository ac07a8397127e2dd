"""The strings of the page that are to be translated, taken from templates and modules; prints what a language lacks.

Run by hand: `python -m web.words es` in the folder of the tests prints the missing entries for a .po file.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from babel.messages.extract import extract_from_dir

from proveout.web.languages import words_of

PAGE = Path(__file__).parents[2] / "src" / "proveout" / "web"
METHODS = [("**.py", "python"), ("templates/**.html", "jinja2.ext.babel_extract")]
KEYWORDS = {"_": None, "gettext": None, "mark": None, "ngettext": (1, 2)}
# Trans blocks trim as the page's templates do.
OPTIONS = {"templates/**.html": {"trimmed": "false", "silent": "false", "newstyle_gettext": "true"}}


def used() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield each string with the file it stands in; where a number counts, its singular and its plural."""
    seen = set()
    for file, _, words, _, _ in extract_from_dir(PAGE, METHODS, OPTIONS, KEYWORDS):
        text = words if isinstance(words, tuple) else (words,)
        if text not in seen:
            seen.add(text)
            yield file, text


def missing(code: str) -> list[tuple[str, tuple[str, ...]]]:
    """Return the strings that a language does not have."""
    known = words_of(code).known
    return [(file, text) for file, text in used() if (text[0], len(text) - 1) not in known]


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def _main(code: str) -> None:
    for _, text in missing(code):
        print(f"\nmsgid {_quoted(text[0])}")
        if len(text) == 1:
            print('msgstr ""')
        else:
            print(f'msgid_plural {_quoted(text[1])}\nmsgstr[0] ""\nmsgstr[1] ""')


if __name__ == "__main__":
    _main(sys.argv[1])
