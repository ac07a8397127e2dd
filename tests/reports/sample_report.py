"""An invented report for tests: a crank sensor that was not at fault."""

from __future__ import annotations

from proveout.circuits import ready_circuit
from proveout.reports.reading_strip import ReadingStrip, StripBand
from proveout.reports.report_data import (
    BeliefCourse,
    CautionKept,
    CostRow,
    EvidenceRow,
    Fact,
    HarnessRow,
    ProofRow,
    ReportData,
)
from proveout.reports.schematic import draw_schematic


def sample_report() -> ReportData:
    """Return a full report; vehicle, names and readings are invented."""
    strip = ReadingStrip(
        "Reference at CS cavity 1, CS unplugged",
        "V",
        0.02,
        "0.02 V",
        StripBand("computed, sound", 4.93, 5.06),
        StripBand("manual's limit", 4.8, 5.2),
        (StripBand("reference wire broken", 0.0, 0.1),),
    )
    ohms = ReadingStrip(
        "Reference wire end to end",
        "Ω",
        None,
        "OL",
        StripBand("computed, sound", 0.08, 0.35),
        StripBand("manual's limit", None, 1.0),
    )
    return ReportData(
        case="12",
        order="2031-0447",
        shop="Quay Lane Garage",
        technician="T. Marlow",
        customer="Ms Okonjo-Brandt",
        opened="3 March 2031, 09:10",
        closed="3 March 2031, 11:45",
        vehicle=(Fact("Vehicle", "Invented Heron 1.6, 2024"), Fact("Distance", "88 412 km"), Fact("Plate", "TEST 12")),
        circuit="Crank sensor, three-wire Hall on a 5 V reference",
        meter="general purpose, 10 MΩ",
        concern="Starts late, after some ten turns; warning lamp is on.",
        codes=("P0335",),
        cause="Reference wire (RD/GY) of the crank sensor broken at the bulkhead clip.",
        cause_note="99.1 % by the readings below; the break was then seen.",
        correction="New reference wire laid beside the loom, code cleared. The sensor was good and stays.",
        schematic=draw_schematic(ready_circuit("crank-hall-5v"), fault="w_ref.open"),
        evidence=(
            EvidenceRow(1, "09:14", "Complaint: starts late", "so", ruled_out=("Engine control unit, dead",)),
            EvidenceRow(
                2,
                "09:31",
                "Reference at the control unit, back-probed",
                "4.99 V",
                "key on, engine at rest",
                "red: CE cavity 12; black: battery negative post",
                "4.80 to 5.20 V",
                "4.94 to 5.06 V",
                "good",
                ("5 V reference of the control unit",),
            ),
            EvidenceRow(
                3, "09:40", "Reference at CS cavity 1", "49.9 V", note="typed wrongly, corrected by 4", counted=False
            ),
            EvidenceRow(
                4,
                "09:41",
                "Reference at CS cavity 1, CS unplugged",
                "0.02 V",
                "key on, CS unplugged",
                "red: CS cavity 1; black: battery negative post",
                "4.80 to 5.20 V",
                "4.93 to 5.06 V",
                "bad",
                ("Crank sensor", "Target wheel and air gap"),
                strip=strip,
            ),
            EvidenceRow(
                5,
                "09:55",
                "Reference wire end to end",
                "OL",
                "both unplugged",
                "red: CE 12; black: CS 1",
                "below 1 Ω",
                "0.08 to 0.35 Ω",
                "bad",
                ("Terminal CE 12",),
                strip=ohms,
            ),
        ),
        belief=BeliefCourse(
            ("start", "starts late", "reference 4.99 V", "reference 0.02 V", "wire OL"),
            (
                ("Crank sensor", (0.30, 0.38, 0.40, 0.01, 0.0)),
                ("Reference wire", (0.08, 0.11, 0.13, 0.80, 0.991)),
                ("Terminal CE 12", (0.05, 0.06, 0.07, 0.15, 0.005)),
                ("Engine control unit", (0.20, 0.15, 0.05, 0.01, 0.001)),
            ),
            0.97,
        ),
        costs=(
            CostRow("Cover and bracket off the control unit", 7.0, 0.0, 6.0),
            CostRow("Readings", 14.0, 0.0, 11.5),
            CostRow("New reference wire", 25.0, 6.0, 25.0, 6.0),
            CostRow("Extra: clip replaced", 2.0, 1.2),
        ),
        labour_rate=96.0,
        currency="EUR",
        authorised_minutes=90.0,
        authorised_money=250.0,
        cautions=(
            CautionKept("Disconnect the battery before unplugging the control unit.", "unplugging CE"),
            CautionKept("Keep clear of rotating parts while cranking."),
        ),
        proofs=(ProofRow("Cranking until the engine starts", "starts late", "starts at once", True),),
        harness=(
            HarnessRow("CE", "12", "RD/GY", "RD/GY", True),
            HarnessRow("CE", "27", "YE/BU", "YE/BU", True),
        ),
        unproven=("The terminals of CS were looked at but not measured under load.",),
        invented=True,
        record="27 events, last 5f0c2d",
    )
