"""The harness check: the colours in a connector's cavities against the sheet, before any probe goes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from proveout.circuits.colours import Colours, colour_text, parse_colours
from proveout.circuits.consistency.network import touched_nodes
from proveout.circuits.consistency.places import terminals_by_cavity
from proveout.circuits.finding import closest
from proveout.circuits.schema import Circuit, Part
from proveout.errors import InputError

__all__ = ["ExpectedCavity", "HarnessComparison", "Mismatch", "compare_harness", "expected_cavities"]

_EMPTY = frozenset({"", "-", "empty", "none", "leer"})


@dataclass(frozen=True)
class ExpectedCavity:
    """What the sheet says of one cavity: its terminal, the wire at it, the wire's colours, what the wire is for.

    `others` holds the colours of further wires on the harness side (a splice, or both halves of an in-line connector
    that the sheet does not tell apart).
    """

    cavity: str
    part: str
    wire: str
    colours: Colours
    function: str
    others: tuple[Colours, ...] = ()

    def accepts(self, seen: Colours) -> bool:
        """Say whether these colours are what the sheet expects."""
        return seen == self.colours or seen in self.others


@dataclass(frozen=True)
class Mismatch:
    """A cavity that is not as the sheet says; `fits` names the cavities in which the seen colours are expected."""

    cavity: str
    expected: Colours
    seen: Colours
    fits: tuple[str, ...]
    note: str

    def __str__(self) -> str:
        """Return the mismatch as one sentence."""
        expected = colour_text(self.expected) or "no wire"
        seen = colour_text(self.seen) or "no wire"
        return f"cavity {self.cavity}: the sheet says {expected}, the harness has {seen}{self.note}"


@dataclass(frozen=True)
class HarnessComparison:
    """The outcome of a harness check of one connector.

    `agree` the cavities that are as the sheet says; `mismatches` those that are not; `swapped` pairs whose colours are
    exchanged; `unseen` the sheet's cavities that were not looked at; `uncoloured` those whose wire has no colour on
    the sheet; `beyond` cavities that the sheet does not have (other circuits share the connector).
    """

    connector: str
    agree: tuple[str, ...]
    mismatches: tuple[Mismatch, ...]
    swapped: tuple[tuple[str, str], ...]
    unseen: tuple[str, ...]
    uncoloured: tuple[str, ...]
    beyond: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether nothing that was seen disagrees with the sheet."""
        return not self.mismatches

    @property
    def complete(self) -> bool:
        """Whether every cavity of the sheet was looked at and agrees."""
        return self.agrees and not self.unseen


def expected_cavities(circuit: Circuit, connector: str) -> tuple[ExpectedCavity, ...]:
    """Return what the sheet says of a connector, in the order of its cavities.

    Raises
    ------
    InputError
        There is no such connector.
    """
    if connector not in circuit.connectors:
        near = closest(connector, circuit.connectors)
        advice = f"did you mean '{near}'?" if near else "choose one of these"
        raise InputError(f"no connector '{connector}'; there are: {', '.join(circuit.connectors)}; {advice}")
    cavities = terminals_by_cavity(circuit).get(connector, {})
    return tuple(_expected(circuit, cavity, cavities[cavity]) for cavity in sorted(cavities, key=_cavity_order))


def compare_harness(circuit: Circuit, connector: str, seen: Mapping[str, str]) -> HarnessComparison:
    """Compare what was seen at a connector with the sheet.

    Parameters
    ----------
    seen : mapping
        Cavity: colours as typed; `-` or nothing for a cavity without a wire.

    Raises
    ------
    InputError
        An unknown connector, or a colour that is not known, with the list of those that are.
    """
    expected = {item.cavity: item for item in expected_cavities(circuit, connector)}
    found = {cavity.strip(): _seen(text) for cavity, text in seen.items()}
    judged = {cavity: item for cavity, item in expected.items() if item.colours and cavity in found}
    agree = [cavity for cavity, item in judged.items() if item.accepts(found[cavity])]
    wrong = [cavity for cavity in judged if cavity not in agree]
    unseen = [cavity for cavity in expected if cavity not in found]
    swapped = _swapped(expected, found, wrong)
    strays = [c for c in found if c not in expected and _fits(expected, found[c], c, [*wrong, *unseen])]
    mismatches = [_mismatch(expected, found, cavity, swapped) for cavity in wrong]
    mismatches += [_stray(expected, found, cavity, [*wrong, *unseen]) for cavity in strays]
    return HarnessComparison(
        connector=connector,
        agree=tuple(agree),
        mismatches=tuple(mismatches),
        swapped=swapped,
        unseen=tuple(unseen),
        uncoloured=tuple(cavity for cavity, item in expected.items() if not item.colours),
        beyond=tuple(cavity for cavity in found if cavity not in expected and cavity not in strays),
    )


def _expected(circuit: Circuit, cavity: str, terminal: str) -> ExpectedCavity:
    part = circuit.parts[terminal]
    nodes = _harness_nodes(circuit, part)
    wires = [(name, other) for name, other in circuit.parts.items() if other.kind == "wire" and nodes & {*other.nodes}]
    coloured = [(name, wire) for name, wire in wires if wire.colour] or wires
    if not coloured:
        return ExpectedCavity(cavity, terminal, "", (), part.title or terminal)
    (name, wire), *more = coloured
    others = tuple(dict.fromkeys(tuple(other.colour) for _, other in more if other.colour != wire.colour))
    return ExpectedCavity(cavity, terminal, name, tuple(wire.colour), wire.title or part.title or name, others)


def _harness_nodes(circuit: Circuit, terminal: Part) -> set[str]:
    """Return the terminal's node on the harness side, or both where nothing tells them apart.

    The points at the cavity say which side is which; failing them, the node at which fewer parts meet is the wire's.
    """
    nodes = set(terminal.nodes) - {circuit.ground}
    at = [p for p in circuit.points.values() if (p.connector, p.cavity) == (terminal.connector, terminal.cavity)]
    harness = nodes & {point.node for point in at if point.side == "harness"}
    component = {point.node for point in at if point.side == "component"}
    if harness or component:
        return harness or nodes - component
    touched = touched_nodes(circuit)
    wired = {node for node in nodes if any(circuit.parts[name].kind == "wire" for name in touched[node])}
    fewest = min((len(touched[node]) for node in wired), default=0)
    return {node for node in wired if len(touched[node]) == fewest}


def _seen(text: str) -> Colours:
    return () if text.strip().casefold() in _EMPTY else parse_colours(text)


def _fits(expected: Mapping[str, ExpectedCavity], colours: Colours, cavity: str, among: list[str]) -> tuple[str, ...]:
    if not colours:
        return ()
    return tuple(other for other in among if other != cavity and expected[other].accepts(colours))


def _swapped(
    expected: Mapping[str, ExpectedCavity], found: Mapping[str, Colours], wrong: list[str]
) -> tuple[tuple[str, str], ...]:
    return tuple(
        (one, other)
        for place, one in enumerate(wrong)
        for other in wrong[place + 1 :]
        if found[one] and found[other] and expected[one].accepts(found[other]) and expected[other].accepts(found[one])
    )


def _mismatch(
    expected: Mapping[str, ExpectedCavity],
    found: Mapping[str, Colours],
    cavity: str,
    swapped: tuple[tuple[str, str], ...],
) -> Mismatch:
    item, seen = expected[cavity], found[cavity]
    fits = _fits(expected, seen, cavity, list(expected))
    partners = [other for pair in swapped if cavity in pair for other in pair if other != cavity]
    if partners:
        note = f"; likely exchanged with cavity {partners[0]}"
    elif fits:
        note = f", which the sheet has in cavity {' or '.join(fits)}"
    elif len(seen) > 1 and tuple(reversed(seen)) == item.colours:
        note = "; base colour and stripe may have been read the wrong way round"
    else:
        note = ", which the sheet has nowhere in this connector" if seen else ""
    return Mismatch(cavity, item.colours, seen, fits, note)


def _stray(
    expected: Mapping[str, ExpectedCavity], found: Mapping[str, Colours], cavity: str, among: list[str]
) -> Mismatch:
    fits = _fits(expected, found[cavity], cavity, among)
    note = f", which the sheet has in cavity {' or '.join(fits)}"
    return Mismatch(cavity, (), found[cavity], fits, note)


def _cavity_order(cavity: str) -> tuple[int, str]:
    return len(cavity), cavity
