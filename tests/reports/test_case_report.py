"""The report says what the case says, and no more."""

from functools import cache

from cases.lamps import C1, C2, a_desk, harness, lamp_model, lamp_opened, reading, seen
from proveout.cases.desk import Desk
from proveout.cases.events import CannotDo, Closed, Correction, Event, FindingAccepted, RepairNoted, RepairProven
from proveout.cases.history import believe
from proveout.diagnosis.chances import chance_text
from proveout.reports.case_report import report_data
from proveout.reports.report_data import EvidenceRow, ProofRow, ReportData
from proveout.reports.report_view import view

FOUND: tuple[Event, ...] = (
    reading("battery_volts", "12.54"),
    C2,
    reading("panel_volts", "1.246"),
    Correction(corrects=5, payload=reading("panel_volts", "12.46").model_dump(mode="json")),
    C1,
    reading("lamp_volts", "8.27"),
    reading("ground_drop", "0.146"),
    seen("look_c1", "clean"),
)
REPAIRED = (
    FindingAccepted(suspect="w_feed", probability=0.9987),
    RepairNoted(suspect="w_feed", minutes=22, parts=7.5, note="chafed at the hinge"),
    reading("lamp_volts", "11.9"),
    RepairProven(suspect="w_feed", behaviour="light", before="dim", after="bright", cured=True),
    Closed(proven=True),
)


def _data(desk: Desk, case: int) -> ReportData:
    return report_data(case, desk.state(case), desk.events(case), lamp_model())


@cache
def _whole() -> ReportData:
    opened = lamp_opened(order="RO-7", shop="Shop", customer="Customer", codes=("B1234",), authorised_minutes=60)
    return _data(*a_desk(*FOUND, *REPAIRED, opened=opened))


def test_concern_cause_and_correction_are_the_three_sentences_of_the_trade() -> None:
    data = _whole()
    assert data.concern == "lamp dim. How the lamp burns: burns dimly."
    assert data.cause.startswith("Feed wire")
    assert data.correction == "Lay a new wire. Note of the technician: chafed at the hinge"
    assert data.repaired == "Feed wire. Note of the technician: chafed at the hinge"
    assert "Proven: the vehicle behaves after the repair" in data.cause_note
    assert "probability 99.8 % when it was taken as the cause" in data.cause_note
    assert data.unproven == ()


def test_every_reading_stands_with_its_limit_its_verdict_and_what_it_ruled_out() -> None:
    rows = {row.number: row for row in _whole().evidence if row.counted}
    lamp = rows[8]
    assert lamp.title == "Voltage at the lamp"
    assert lamp.reading == "8.27 V"
    assert lamp.setup == "Lamp switched on, all plugged"
    assert lamp.leads == "red C1 cavity 1, feed, black C1 cavity 2, ground"
    assert lamp.limit == "11.4 V to 12.9 V"
    assert lamp.verdict == "bad"
    assert "Feed terminal, C1 cavity 1" in lamp.ruled_out
    assert lamp.strip is not None
    assert lamp.strip.reading == 8.27


def test_a_corrected_reading_stands_struck_beside_the_one_that_counts() -> None:
    rows = [row for row in _whole().evidence if row.number == 5]
    assert [(row.reading, row.counted) for row in rows] == [("1.246 V", False), ("12.46 V", True)]
    assert rows[0].note == "corrected by entry 6"


def test_a_reading_after_the_repair_says_so() -> None:
    (after,) = [row for row in _whole().evidence if row.number == 13]
    assert after.reading == "11.9 V"
    assert "shows the repair" in after.note
    assert after.ruled_out == ()


def test_the_proof_stands_before_and_after() -> None:
    (proof,) = _whole().proofs
    assert (proof.before, proof.after, proof.cured) == ("burns dimly", "burns brightly", True)


def test_minutes_and_parts_add_up_to_those_of_the_case() -> None:
    desk, case = a_desk(*FOUND, *REPAIRED)
    state, data = desk.state(case), _whole()
    assert sum(row.minutes for row in data.costs) == state.minutes
    assert sum(row.parts for row in data.costs) == 7.5
    repair = next(row for row in data.costs if row.what.startswith("Lay a new wire"))
    # Planned: 25 minutes for the wire; the guard is off by then.
    assert (repair.minutes, repair.planned_minutes, repair.planned_parts) == (22, 25, 6)


def test_the_belief_has_a_value_for_each_step_and_suspect_and_sums_to_one() -> None:
    course = _whole().belief
    assert course is not None
    assert course.labels[0] == "start"
    assert all(len(chances) == len(course.labels) for _, chances in course.suspects)
    for step in zip(*(chances for _, chances in course.suspects), strict=True):
        assert abs(sum(step) - 1.0) < 1e-9


def test_the_schematic_marks_the_fault() -> None:
    assert "FAULT" in _whole().schematic


def test_the_record_can_be_compared_with_the_store() -> None:
    desk, case = a_desk(*FOUND)
    events = desk.events(case)
    assert _data(desk, case).record == f"{len(events)} events, last seal {events[-1].seal}"


def test_the_harness_check_is_shown_cavity_by_cavity() -> None:
    rows = {(row.connector, row.cavity): row for row in _whole().harness}
    assert (rows["C1", "1"].sheet, rows["C1", "1"].seen, rows["C1", "1"].agrees) == ("RD/WH", "RD/WH", True)
    desk, case = a_desk(harness("C1", _1="GN", _2="-"))
    wrong = {row.cavity: (row.seen, row.agrees) for row in _data(desk, case).harness}
    assert wrong == {"1": ("GN", False), "2": ("no wire", False)}


def test_cautions_stand_once_with_the_step_they_were_given_before() -> None:
    desk, case = a_desk(C1, reading("ground_ohms", "0.1"), reading("ground_ohms", "0.1"))
    (caution,) = _data(desk, case).cautions
    assert caution.before == "Ground wire by ohms"


def test_an_open_case_names_no_cause_and_says_what_is_not_ruled_out() -> None:
    desk, case = a_desk(*FOUND[:2], CannotDo(name="ground_ohms", because="x"))
    data = _data(desk, case)
    assert (data.cause, data.correction, data.closed, data.proofs) == ("", "", "", ())
    assert data.unproven[0] == "No repair has been proven in this case."
    assert any(sentence.startswith("Not ruled out: ") for sentence in data.unproven)


def test_a_repair_without_its_proof_is_said_to_be_unproven() -> None:
    desk, case = a_desk(RepairNoted(suspect="lamp"))
    data = _data(desk, case)
    assert data.cause_note.startswith("Not proven yet")
    assert "proof is still to come" in data.unproven[0]


def test_an_entry_that_does_not_count_is_listed_with_its_reason() -> None:
    desk, case = a_desk(C1, reading("lamp_volts", "12.1"), Correction(corrects=3))
    data = _data(desk, case)
    assert any(sentence.startswith("Entry 4 does not count: no probing at C1") for sentence in data.unproven)
    assert [row.counted for row in data.evidence if row.number == 4] == [False]


def test_a_fault_that_is_not_settled_is_neither_named_as_the_cause_nor_marked() -> None:
    guessed = (FindingAccepted(suspect="lamp", probability=0.1, because="customer's wish"),)
    data = _data(*a_desk(*guessed, opened=lamp_opened(complaint={})))
    assert data.cause.startswith("Work lamp. Which fault of it is not settled: ")
    assert " %) or " in data.cause
    assert "FAULT" not in data.schematic
    assert "FAULT" in _whole().schematic


def test_a_repair_without_a_finding_is_said_with_the_probability_it_had_then() -> None:
    guess = RepairNoted(suspect="lamp")
    proof = RepairProven(suspect="lamp", behaviour="light", before="dim", after="bright", cured=True)
    desk, case = a_desk()
    before = believe(lamp_model(), desk.state(case)).probability("lamp")
    desk.record(case, guess)
    desk.record(case, proof)
    told = " ".join(_data(desk, case).unproven)
    chance = chance_text(before)
    assert f"Repaired without an accepted finding: Work lamp; its probability was {chance} then." in told
    assert not any("without an accepted finding" in sentence for sentence in _whole().unproven)


def test_a_doubted_reading_is_said_until_it_is_taken_again() -> None:
    odd = (C1, reading("lamp_volts", "12.3"), reading("ground_drop", "0.03"), reading("battery_volts", "3.0"))
    says = "The reading 'Battery voltage' was doubted"
    assert any(sentence.startswith(says) for sentence in _data(*a_desk(*odd)).unproven)
    again = (*odd, reading("battery_volts", "12.5"))
    assert not any(sentence.startswith(says) for sentence in _data(*a_desk(*again)).unproven)


def test_evidence_that_nothing_explains_is_not_passed_over() -> None:
    impossible = (C1, reading("lamp_volts", "3.0"), reading("ground_drop", "12.5"))
    told = _data(*a_desk(*impossible, *impossible[1:])).unproven
    assert any("No explanation fits the evidence well" in sentence for sentence in told)


def test_the_customers_page_is_in_plain_sentences_and_counts_what_the_workshop_did() -> None:
    proofs = (ProofRow("Is the pump heard at key on?", "not heard", "heard", True),)
    told = EvidenceRow(1, "", "What the customer says", "no start", complaint=True)
    did = EvidenceRow(2, "", "Battery voltage", "12.5 V")
    asked = "Is the pump heard at key on? not heard"
    page = " ".join(view(ReportData("1", asked, cause="Fuse", evidence=(told, did), proofs=proofs))["plain"])
    assert "You told us: Is the pump heard at key on? Not heard." in page
    assert "we took 1 reading or look on your vehicle" in page
    checked = "How we checked the repair: Is the pump heard at key on? Before the repair: not heard. After it: heard."
    assert f"{checked} The repair worked." in page
    assert [row.number for row in _whole().evidence if row.complaint] == [1]
