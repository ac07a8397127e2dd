"""Reads YAML with the line of every entry, without the surprises of YAML 1.1.

`on`, `off`, `yes`, `no` without quotes are reported (YAML 1.1 reads them as true and false, YAML 1.2 as text); `1e9`
is a number; times, dates and hexadecimal numbers stay text; a key that stands twice is reported.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from proveout.circuits.finding import Finding, Path, where
from proveout.errors import CircuitError, Mistake

__all__ = ["MarkedYaml", "read_marked"]

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TAG = "tag:yaml.org,2002:"
_PLAIN_TAGS = frozenset(_TAG + kind for kind in ("str", "int", "float", "bool", "null", "timestamp", "value", "merge"))
_NUMBER = re.compile(r"[-+]?(\d[\d_]*\.?[\d_]*|\.\d[\d_]*)([eE][-+]?\d+)?")
_INFINITE = re.compile(r"([-+]?)\.(inf|Inf|INF)")
_SWITCH_WORDS = frozenset({"on", "off", "yes", "no"})
_MOST_ENTRIES = 200_000
_DEEPEST = 60
_MAY_BE_INFINITE = frozenset({"values", "faults", "bridges", "leakage"})


@dataclass
class MarkedYaml:
    """The data of a file, the nodes that know its lines, and what was wrong with the text itself."""

    data: Any
    root: yaml.Node | None
    findings: list[Finding] = field(default_factory=list)

    def line(self, path: Path) -> int:
        """Return the line, counted from 1, of the entry at `path` or of the nearest thing that contains it."""
        node, line = self.root, 1
        for step in path:
            key, node = _child(node, step)
            if key is None:
                break
            line = key.start_mark.line + 1
        return line

    def mistake(self, finding: Finding) -> Mistake:
        """Return the finding with its line."""
        return Mistake(self.line(finding.path), where(finding.path), finding.found, finding.expected, finding.instead)


def read_marked(text: str, name: str) -> MarkedYaml:
    """Parse `text`.

    Raises
    ------
    CircuitError
        The text is no YAML document, or too large to be a circuit; with the line.
    """
    try:
        root = yaml.compose(text, Loader=_LOADER)
    except yaml.YAMLError as error:
        raise CircuitError(name, [_syntax(error)]) from error
    except (UnicodeError, RecursionError) as error:
        raise CircuitError(name, [_broken(1, str(error), "Write plain UTF-8 text")]) from error
    reader = _Reader()
    marked = MarkedYaml(None, root, reader.findings)
    marked.data = reader.read(root, ()) if root is not None else None
    if reader.entries > _MOST_ENTRIES:
        raise CircuitError(name, [_broken(1, "anchors that unfold without end", "Write the entries out")])
    return marked


class _Reader:
    """Turns nodes into dicts, lists, texts and numbers; collects findings."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.entries = 0
        self._open: set[int] = set()

    def read(self, node: yaml.Node, path: Path) -> Any:
        self.entries += 1
        if self.entries > _MOST_ENTRIES:
            return None
        if isinstance(node, yaml.ScalarNode):
            return self._scalar(node, path)
        if len(path) > _DEEPEST:
            self._add(path[:_DEEPEST], "entries nested very deeply", "a few levels", "Remove the nesting")
            return None
        if id(node) in self._open:
            self._add(path, "an anchor that contains itself", "data without cycles", "Write the entry out")
            return None
        self._open.add(id(node))
        value = self._mapping(node, path) if isinstance(node, yaml.MappingNode) else self._list(node, path)
        self._open.discard(id(node))
        return value

    def _list(self, node: yaml.Node, path: Path) -> list[Any]:
        self._tag(node, path, "seq")
        return [self.read(item, (*path, place)) for place, item in enumerate(node.value)]

    def _mapping(self, node: yaml.Node, path: Path) -> dict[str, Any]:
        self._tag(node, path, "map")
        merged: dict[str, Any] = {}
        own: dict[str, Any] = {}
        lines: dict[str, int] = {}
        for key_node, value_node in node.value:
            if key_node.tag == f"{_TAG}merge":
                merged = {**self._merge(value_node, path), **merged}
                continue
            key = self._key(key_node, path)
            if key in lines:
                self._twice(path, key, key_node, lines[key])
            lines.setdefault(key, key_node.start_mark.line + 1)
            own[key] = self.read(value_node, (*path, key))
        return {**merged, **own}

    def _merge(self, node: yaml.Node, path: Path) -> dict[str, Any]:
        nodes = node.value if isinstance(node, yaml.SequenceNode) else [node]
        merged: dict[str, Any] = {}
        for item in reversed(nodes):
            value = self.read(item, path)
            if isinstance(value, dict):
                merged.update(value)
            else:
                self._add(path, "'<<' with something that is no mapping", "an anchored mapping", "Write '<<: *name'")
        return merged

    def _key(self, node: yaml.Node, path: Path) -> str:
        if not isinstance(node, yaml.ScalarNode):
            self._add(path, "a list or a mapping as a name", "a plain word as name", "Write a word before the colon")
            return f"line {node.start_mark.line + 1}"
        if _is_switch_word(node):
            self._add((*path, node.value), f"the name {node.value} without quotes", "a text", _quoted(node.value))
        return str(node.value)

    def _twice(self, path: Path, key: str, node: yaml.Node, first: int) -> None:
        self._add(
            (*path, key),
            f"'{key}' a second time on line {node.start_mark.line + 1} (first on line {first})",
            "every name once",
            "Rename or remove one of the two",
        )

    def _scalar(self, node: yaml.ScalarNode, path: Path) -> Any:
        text, tag = str(node.value), node.tag
        if tag == f"{_TAG}str":
            exponent = not node.style and "e" in text.casefold() and _NUMBER.fullmatch(text)
            return _number(text) if exponent and not _is_text(path) else text
        if tag not in _PLAIN_TAGS:
            self._add(path, f"the tag '{tag}'", "data without tags", "Remove the tag")
            return text
        if _is_switch_word(node):
            return self._switch_word(text, path)
        if _is_text(path) and tag != f"{_TAG}null":
            return text
        return self._plain(text, tag.removeprefix(_TAG), path)

    def _plain(self, text: str, tag: str, path: Path) -> Any:
        if tag == "null":
            return None
        if tag == "bool":
            return text.casefold() == "true"
        if tag not in {"int", "float"}:
            return text
        if text.casefold() == ".nan":
            self._add(path, "the value .nan", "a number", "Write a number or remove the entry")
            return 0.0
        if sign := _INFINITE.fullmatch(text):
            if _MAY_BE_INFINITE.isdisjoint(path):
                self._add(path, f"the value {text}", "a finite number", "Write a finite number")
                return 1.0
            return -math.inf if sign[1] == "-" else math.inf
        return _number(text) if _NUMBER.fullmatch(text) else text

    def _switch_word(self, text: str, path: Path) -> Any:
        found = f"{text} without quotes, which YAML may read as true or false"
        if _is_setting(path):
            self._add(path, found, "a text in quotes", _quoted(text))
            return text
        truth = text.casefold() in {"on", "yes"}
        self._add(
            path, found, "true or false, or a text in quotes", f"Write {str(truth).lower()}, or {_quoted(text)[6:]}"
        )
        return text if _is_text(path) else truth

    def _tag(self, node: yaml.Node, path: Path, kind: str) -> None:
        if node.tag != f"{_TAG}{kind}":
            self._add(path, f"the tag '{node.tag}'", "data without tags", "Remove the tag")

    def _add(self, path: Path, found: str, expected: str, instead: str) -> None:
        self.findings.append(Finding(path, found, expected, instead))


def _child(node: yaml.Node | None, step: str | int) -> tuple[yaml.Node | None, yaml.Node | None]:
    """Return the node that marks the place of `step` and the node of its value."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if isinstance(key, yaml.ScalarNode) and key.value == step:
                return key, value
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return node.value[step], node.value[step]
    return None, None


def _is_switch_word(node: yaml.ScalarNode) -> bool:
    return not node.style and node.tag == f"{_TAG}bool" and node.value.casefold() in _SWITCH_WORDS


def _is_setting(path: Path) -> bool:
    """Say whether a condition's setting stands at `path`."""
    if path[0] == "conditions":
        return path[-1] == "default" or "values" in path
    return "set" in path or (path[0] == "parts" and "when" in path) if path else False


def _is_text(path: Path) -> bool:
    """Say whether what stands at `path` is text however it looks: cavity 4, engine 2.0."""
    if len(path) == 3 and path[0] in {"parts", "points"}:
        return path[2] == "cavity"
    return len(path) == 2 and path[0] == "vehicle" and path[1] != "year"


def _number(text: str) -> int | float:
    plain = text.replace("_", "")
    return int(plain) if len(plain) < 16 and plain.lstrip("+-").isdigit() else float(plain)


def _quoted(text: str) -> str:
    return f'Write "{text}" in quotes'


def _syntax(error: yaml.YAMLError) -> Mistake:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or "unreadable text"
    line = mark.line + 1 if mark is not None else 1
    return _broken(line, str(problem), "Check indentation, colons, quotes and brackets on this line and the one before")


def _broken(line: int, found: str, instead: str) -> Mistake:
    return Mistake(line, "the file", found, "a YAML document", instead)
