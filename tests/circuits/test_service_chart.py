"""A service chart is checked against its circuit."""

from __future__ import annotations

import pytest

from circuits.small_circuit import SMALL, SMALL_CHART, line_of
from proveout.circuits import read_chart, read_circuit
from proveout.errors import CircuitError

SLIPS = (
    ("circuit: small", "circuit: smal", "circuit", "'smal'", "Write 'small'"),
    ("first: feed", "first: fead", "first", "unknown step 'fead'", "Write 'feed'"),
    ("do: feed-v,", "do: fed-v,", "steps.feed.do", "unknown step to do 'fed-v'", "Write 'feed-v'"),
    ("low: look,", "lou: look,", "steps.feed.leads.lou", "unknown result 'lou'", "Write 'low'"),
    ("low: look,", "low: lock,", "steps.feed.leads.low", "unknown step 'lock'", "Write 'look'"),
    (
        "green: repair t_feed",
        "green: repair t_fead",
        "steps.look.leads.green",
        "unknown suspect 't_fead'",
        "repair t_feed",
    ),
    ("{clean: reseat, green: repair t_feed}", "{clean: reseat}", "steps.look.leads", "result 'green'", "Add 'green"),
    (", bad: repair sensor}", ", low: stop, open: stop}", "steps.sensor.leads", "result 'high'", "Add 'high"),
    ("cured: stop", "cured: feed", "steps.reseat.leads", "feed -> look -> reseat -> feed", "lead on"),
    (
        "do: sensor-ohms, leads: {",
        "do: sensor-ohms, good: {low: 5, high: 1}, leads: {",
        "steps.sensor.good",
        "low 5",
        "Exchange",
    ),
    ("source: invented\n", "", "source", "no 'source'", "Add 'source"),
)


@pytest.mark.parametrize(("old", "new", "place", "found", "instead"), SLIPS)
def test_a_slip_in_a_chart_is_told_with_its_place(old: str, new: str, place: str, found: str, instead: str) -> None:
    text = SMALL_CHART.replace(old, new)
    assert text != SMALL_CHART
    with pytest.raises(CircuitError) as caught:
        read_chart(text, read_circuit(SMALL), "chart.yaml")
    told = {m.place: m for m in caught.value.mistakes}
    assert found in told[place].found
    assert instead in told[place].instead


def test_the_chart_itself_is_sound() -> None:
    assert read_chart(SMALL_CHART, read_circuit(SMALL)).first == "feed"


def test_a_step_that_nothing_leads_to_is_told_on_its_line() -> None:
    text = SMALL_CHART + "  lost: {do: look-cs, leads: {clean: stop, green: stop}}\n"
    with pytest.raises(CircuitError) as caught:
        read_chart(text, read_circuit(SMALL))
    (mistake,) = caught.value.mistakes
    assert mistake.line == line_of(text, "  lost")
    assert mistake.found == "a step that nothing leads to"


def test_a_measurement_without_a_limit_needs_one_in_the_step() -> None:
    text = SMALL_CHART.replace("do: feed-v", "do: current")
    with pytest.raises(CircuitError, match="which has no limit"):
        read_chart(text, read_circuit(SMALL))
    limited = text.replace("do: current", "do: current, good: {low: 0.001, high: 0.01}")
    assert read_chart(limited, read_circuit(SMALL)).steps["feed"].good is not None


def test_the_chart_of_a_ready_circuit_serves_a_vehicles_own_sheet_too() -> None:
    own = read_circuit(SMALL.replace("name: small\n", "name: own\nbased_on: small\n"))
    assert read_chart(SMALL_CHART, own).circuit == "small"
