"""Two faults at once, from the evidence through finding and repair to the proof."""

import pytest

from cases.lamps import C1, C2, a_desk, lamp, lamp_model, reading
from proveout.cases.events import Event, RepairNoted
from proveout.cases.findings import accept, prove
from proveout.cases.history import believe, histories
from proveout.cases.repair_work import suspect_of
from proveout.errors import BlockedError, InputError

# A feed wire and a ground wire that each lose about 3 V, read twice: no single fault does both.
BOTH: tuple[Event, ...] = (
    reading("battery_volts", "12.54"),
    C2,
    reading("panel_volts", "12.48"),
    C1,
    reading("lamp_volts", "6.10"),
    reading("ground_drop", "3.05"),
    reading("lamp_volts", "6.10"),
    reading("ground_drop", "3.05"),
)
PAIR = "w_feed+w_gnd"


def test_a_pair_that_leads_is_the_finding_its_repair_is_both_and_a_failed_proof_rules_both_out() -> None:
    desk, case = a_desk(*BOTH)
    belief = believe(lamp_model(), desk.state(case))
    assert belief.suspects()[0].suspect == PAIR
    finding = accept(belief, desk.state(case), None, "both wires chafed, seen")
    assert (finding.suspect, finding.probability) == (PAIR, belief.probability(PAIR))
    desk.record(case, finding)
    entry = desk.record(case, RepairNoted(suspect=PAIR)).after.entries[-1]
    # Two wires of 25 minutes and 6 of parts each, behind a guard that is open already.
    assert (entry.minutes, entry.parts) == (50.0, 12.0)
    desk.record(case, prove(desk.state(case), "dim"))
    after = {o.suspect: o.probability for o in histories(lamp_model(), desk.state(case))[-1].suspects}
    # A new part that is bad is possible, so that the odds against all that was not repaired fall and do not vanish;
    # they fall alike for the pair and for each of its two, which were repaired with it.
    for name in (PAIR, "w_feed", "w_gnd"):
        fallen = (after[name] / after["none-of-these"]) / (
            belief.probability(name) / belief.probability("none-of-these")
        )
        assert fallen < 0.1


def test_a_pair_that_the_evidence_never_called_for_is_no_finding_without_a_reason() -> None:
    desk, case = a_desk(reading("battery_volts", "12.54"))
    state = desk.state(case)
    belief = believe(lamp_model(), state)
    with pytest.raises(BlockedError, match="a finding needs 97"):
        accept(belief, state, PAIR, "")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("w_feed+w_gn", "did you mean 'w_gnd'"),
        ("w_feed+w_feed", "one suspect twice"),
        ("w_feed+none-of-these", "no suspect 'none-of-these'"),
    ],
)
def test_a_pair_is_of_two_suspects_that_can_be_repaired(name: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        suspect_of(lamp(), name)


def test_a_pair_is_the_same_whichever_is_named_first() -> None:
    assert suspect_of(lamp(), "w_gnd+w_feed") == suspect_of(lamp(), PAIR)
