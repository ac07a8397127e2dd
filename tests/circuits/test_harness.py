"""The harness check: colours in the cavities against the sheet, before any probe goes in."""

from __future__ import annotations

import pytest

from circuits.small_circuit import SMALL
from proveout.circuits import compare_harness, expected_cavities, read_circuit
from proveout.errors import InputError

BASE = read_circuit(SMALL)
THREE = read_circuit(
    SMALL.replace(
        "  bead:\n",
        '  t_shield: {kind: terminal, nodes: [shield_s, gnd], connector: CS, cavity: "10"}\n'
        "  w_shield: {kind: wire, nodes: [shield_s, gnd], colour: [YE, BU]}\n"
        "  bead:\n",
    )
)


def test_the_sheet_says_what_is_in_each_cavity() -> None:
    one, two = expected_cavities(BASE, "CS")
    assert (one.cavity, one.part, one.wire, one.colours, one.function) == (
        "1",
        "t_feed",
        "w_feed",
        ("RD", "WH"),
        "Feed wire RD/WH",
    )
    assert (two.cavity, two.wire, two.colours) == ("2", "w_return", ("BN",))


def test_the_colour_is_that_of_the_harness_side_though_a_wire_is_on_both() -> None:
    inner = "  w_inner: {kind: wire, nodes: [sens_return, gnd], colour: [BK]}\nbridges:\n"
    with_points = SMALL.replace("bridges:\n", inner)
    without = "".join(
        line for line in with_points.splitlines(keepends=True) if "cs_2:" not in line and "pin_2:" not in line
    )
    without = "".join(line for line in without.splitlines(keepends=True) if "-ohms:" not in line)
    for text in (with_points, without):
        two = expected_cavities(read_circuit(text), "CS")[1]
        assert (two.wire, two.colours, two.others) == ("w_return", ("BN",), ())


def test_cavities_are_in_the_order_of_their_numbers() -> None:
    assert [item.cavity for item in expected_cavities(THREE, "CS")] == ["1", "2", "10"]


def test_a_harness_as_drawn_agrees() -> None:
    comparison = compare_harness(BASE, "CS", {"1": "red/white", "2": "braun"})
    assert comparison.agrees
    assert comparison.complete
    assert comparison.agree == ("1", "2")


def test_a_cavity_that_was_not_looked_at_leaves_the_check_incomplete() -> None:
    comparison = compare_harness(BASE, "CS", {"1": "RD/WH"})
    assert comparison.agrees
    assert not comparison.complete
    assert comparison.unseen == ("2",)


def test_exchanged_cavities_are_recognised() -> None:
    comparison = compare_harness(BASE, "CS", {"1": "BN", "2": "RD/WH"})
    assert comparison.swapped == (("1", "2"),)
    assert [m.fits for m in comparison.mismatches] == [("2",), ("1",)]
    assert str(comparison.mismatches[0]) == (
        "cavity 1: the sheet says RD/WH, the harness has BN; likely exchanged with cavity 2"
    )


def test_three_cavities_in_a_ring_name_where_each_fits_but_no_pair() -> None:
    comparison = compare_harness(THREE, "CS", {"1": "BN", "2": "YE/BU", "10": "RD/WH"})
    assert comparison.swapped == ()
    assert {m.cavity: m.fits for m in comparison.mismatches} == {"1": ("2",), "2": ("10",), "10": ("1",)}


def test_a_stripe_read_the_wrong_way_round_is_said_to_be_one() -> None:
    (mismatch,) = compare_harness(BASE, "CS", {"1": "WH/RD"}).mismatches
    assert "wrong way round" in mismatch.note


def test_a_colour_that_is_nowhere_on_the_sheet_disagrees() -> None:
    (mismatch,) = compare_harness(BASE, "CS", {"1": "GN", "2": "BN"}).mismatches
    assert (mismatch.cavity, mismatch.fits) == ("1", ())
    assert "nowhere in this connector" in mismatch.note


def test_an_empty_cavity_disagrees_and_the_wire_in_a_strange_one_is_found() -> None:
    comparison = compare_harness(BASE, "CS", {"1": "-", "2": "BN", "3": "RD/WH"})
    assert {m.cavity: m.fits for m in comparison.mismatches} == {"1": (), "3": ("1",)}
    assert comparison.beyond == ()


def test_a_cavity_of_another_circuit_is_no_mistake() -> None:
    comparison = compare_harness(BASE, "CS", {"1": "RD/WH", "2": "BN", "7": "PK"})
    assert comparison.complete
    assert comparison.beyond == ("7",)


def test_a_wire_without_a_colour_on_the_sheet_is_not_judged() -> None:
    bare = read_circuit(SMALL.replace("    colour: [BN]\n", ""))
    comparison = compare_harness(bare, "CS", {"1": "RD/WH", "2": "BN"})
    assert comparison.agrees
    assert comparison.uncoloured == ("2",)


def test_an_unknown_connector_and_an_unknown_colour_are_told() -> None:
    with pytest.raises(InputError, match="no connector 'CX'; there are: CS"):
        compare_harness(BASE, "CX", {})
    with pytest.raises(InputError, match="unknown colour 'mauve'"):
        compare_harness(BASE, "CS", {"1": "mauve"})
