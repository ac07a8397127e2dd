"""The job from an opened case to a closed one, as it is typed."""

import json
import re

import pytest

from cli.running import LAMP, Garage

# What a lamp reads whose feed wire has some resistance; from the circuit by Kirchhoff, as in the tests of cases.
READINGS = {
    "battery_volts": "12.54",
    "fuse_volts": "12.51",
    "panel_volts": "12.46",
    "lamp_volts": "8.27",
    "ground_drop": "0.146",
    "ground_ohms": "0.05",
}
SEEN = {"light": "dim", "b1234": "set", "look_c1": "clean", "swap_fuse": "same"}
COLOURS = {"C1": ("1=RD/WH", "2=BN"), "C2": ("1=RD/WH",)}


def _follow(garage: Garage) -> str:
    """Do what is advised until a repair is, and return the suspect."""
    for _ in range(20):
        action = garage.twin("next")
        for connector in action["harness"]:
            garage.ok("harness", connector["connector"], *COLOURS[connector["connector"]])
        best = action["advice"]["best"]
        if best["kind"] == "repair":
            return str(best["name"])
        if best["kind"] == "measure":
            garage.ok("reading", READINGS[best["name"]])
        else:
            garage.ok("saw", SEEN[best["name"]])
    raise AssertionError("the advice does not come to an end")


def test_following_the_advice_finds_the_feed_wire_and_proves_it(garage: Garage) -> None:
    garage.lamp("--code", "B1234")
    assert _follow(garage) == "w_feed"
    garage.ok("finding")
    assert garage.twin("repair", "--minutes", "22", "--parts", "7.5")["phase"] == "repaired"
    assert "Prove the repair: How the lamp burns" in garage.ok("next")
    garage.ok("reading", "lamp_volts", "11.9")
    assert "After the repair: burns brightly. Cured." in garage.ok("proof", "bright")
    assert "The repair is proven" in garage.ok("next")
    garage.ok("close")
    state = garage.twin("show")
    assert (state["phase"], state["suspects"][0]["suspect"]) == ("closed", "w_feed")
    assert "Case 1 is closed" in garage.ok("next")


def test_a_repair_that_does_not_help_is_evidence_and_the_job_goes_on(garage: Garage) -> None:
    garage.lamp()
    garage.ok("repair", "lamp")
    before = {o["suspect"]: o["probability"] for o in garage.twin("show")["suspects"]}
    assert "Not cured." in garage.ok("proof", "dim")
    after = {o["suspect"]: o["probability"] for o in garage.twin("show")["suspects"]}
    assert after["lamp"] < 0.1 * before["lamp"]
    assert garage.twin("next")["do"] in ("step", "harness")


def test_next_says_the_action_first_and_how_to_answer(garage: Garage) -> None:
    garage.lamp()
    lines = garage.ok("next").splitlines()
    assert lines[0].split(":")[0] in ("Measure", "Look", "Watch", "Try", "First compare the colours at C2")
    assert lines[-1].startswith("  Then type  proveout ")
    assert max(len(line) for line in lines) <= 79


def test_the_harness_check_stands_before_the_first_probe(garage: Garage) -> None:
    garage.lamp()
    says = garage.refused("reading", "lamp_volts", "12.1")
    assert "no probing at C1 before its colours were compared" in says
    assert "proveout harness C1 1=RD/WH 2=BN" in says


def test_a_mismatch_is_said_with_both_ways_out_and_the_sheet_can_be_put_right(garage: Garage) -> None:
    garage.lamp()
    says = garage.ok("harness", "C1", "1=GN", "2=brown")
    assert "MISMATCH   cavity 1: the sheet says RD/WH, the harness has GN" in says
    assert "proveout sheet --set wire.w_feed.colour=GN" in says
    assert "the harness disagrees" in garage.refused("reading", "lamp_volts", "12.1")
    garage.ok("sheet", "--set", "wire.w_feed.colour=GN")
    assert "Limit      inside" in garage.ok("reading", "lamp_volts", "12.1")


def test_harness_without_colours_shows_the_sheet(garage: Garage) -> None:
    garage.lamp()
    assert "RD/WH  Feed wire" in garage.ok("harness", "C1")
    assert garage.twin("log")["events"][-1]["kind"] == "circuit-chosen"


def test_a_reading_without_a_name_is_the_one_advised_last(garage: Garage) -> None:
    garage.lamp()
    assert "no measurement was advised last" in garage.refused("reading", "12.5")
    for _ in range(10):
        best = garage.twin("next")["advice"]["best"]
        if best["kind"] == "measure":
            break
        garage.ok("saw", SEEN[best["name"]])
    for connector, colours in COLOURS.items():
        garage.ok("harness", connector, *colours)
    twin = garage.twin("reading", READINGS[best["name"]])
    assert best["title"] in twin["text"]


@pytest.mark.parametrize(
    ("typed", "value"),
    [(("-0.3",), -0.3), (("-0.3 V",), -0.3), (("12.5", "V"), 12.5), (("350", "mV"), 0.35), (("-",), None)],
)
def test_a_reading_is_typed_as_the_display_shows_it(
    garage: Garage, typed: tuple[str, ...], value: float | None
) -> None:
    garage.lamp()
    garage.ok("reading", "battery_volts", *typed)
    payload = garage.twin("log")["events"][-1]["payload"]
    assert payload["value"] == value
    assert payload["typed"] == " ".join(typed)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("reading", "battery_volt", "12"), r"did you mean 'battery_volts'"),
        (("reading", "battery_volts"), r"has no value"),
        (("reading", "battery_volts", "12 ohm"), r"ohm"),
        (("reading", "battery_volts", "99999"), r"outside what"),
        (("reading", "battery_volts", "twelve"), r"not a number"),
        (("saw", "light", "dimm"), r"did you mean 'dim'"),
        (("saw", "lihgt", "dim"), r"did you mean 'light'"),
        (("saw", "dim"), r"name it: 'proveout saw NAME OUTCOME'"),
        (("saw", "light", "dim", "now"), r"type one name and one outcome"),
        (("access", "gaurd"), r"did you mean 'guard'"),
        (("setup", "lamp_onn"), r"did you mean 'lamp_on'"),
        (("cannot", "lamp_volts"), r"--because"),
        (("finding", "lamp"), r"a finding needs 97 %"),
        (("repair",), r"no finding and no advised repair"),
        (("repair", "lamp", "--minutes", "-5"), r"--minutes.*-5.*range x>=0"),
        (("proof", "bright"), r"no repair to prove"),
        (("close",), r"no repair is proven"),
        (("undo",), r"nothing to take back"),
        (("correct", "9", "--withdraw"), r"there is no entry 9 in this case"),
        (("correct", "999", "--value", "3"), r"there is no entry 999 in this case"),
        (("correct", "999", "--set", "minutes=3"), r"there is no entry 999 in this case"),
        (("correct", "1", "--withdraw"), r"without which there is no case"),
        (("correct", "1"), r"--value, --set or --withdraw"),
        (("correct", "1", "--set", "labour_rate=dear"), r"labour_rate"),
        (("correct", "1", "--value", "3"), r"is no reading"),
        (("sheet",), r"give a FILE"),
        (("sheet", "--set", "wire.w_fed.colour=GN"), r"did you mean 'wire.w_feed.colour'"),
        (("sheet", "--set", "wire.w_feed.colour"), r"is not KEY=VALUE"),
        (("harness", "C1", "1=RD", "1=BN"), r"'1' is given twice"),
        (("show", "7"), r"no case 7; the last one is 1"),
        (("show", "RO-1"), r"no case of a job 'RO-1'"),
        (("use", "7"), r"no case 7"),
    ],
)
def test_a_mistake_is_one_message_and_changes_nothing(garage: Garage, words: tuple[str, ...], says: str) -> None:
    garage.lamp()
    before = garage.ok("log")
    message = garage.refused(*words)
    assert re.search(says, message), message
    assert garage.ok("log") == before


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--circuit", "crank-hall-5"), "did you mean 'crank-hall-5v'"),
        (("--circuit", "nowhere.yaml"), "nowhere.yaml: cannot be read"),
        (("--circuit", str(LAMP), "--complaint", "light"), "is not BEHAVIOUR=OUTCOME"),
        (("--circuit", str(LAMP), "--complaint", "light=dull"), "no outcome of 'light' 'dull'"),
        (("--circuit", str(LAMP), "--code", "335"), "335 is no trouble code; write it like P0335"),
        (("--circuit", str(LAMP), "--vin", "1M8GDM9A1KP042788"), "position 9"),
        (("--circuit", str(LAMP), "--rate", "-5"), "range x>=0"),
        (("--circuit", str(LAMP), "--meter", str(LAMP)), "the meter's description has mistakes"),
        ((), "Missing option '--circuit'"),
    ],
)
def test_a_case_that_cannot_be_opened_is_not(garage: Garage, options: tuple[str, ...], says: str) -> None:
    assert says in garage.refused("open", *options)
    assert garage.twin("cases")["cases"] == []


def test_without_a_case_the_way_to_one_is_said(garage: Garage) -> None:
    assert "no case yet: open one with 'proveout open'" in garage.refused("next")


def test_an_entry_is_taken_back_and_put_right(garage: Garage) -> None:
    garage.lamp()
    garage.ok("reading", "battery_volts", "1.25")
    garage.ok("correct", "3", "--value", "12.5", "--because", "misread")
    log = garage.twin("log")["events"]
    assert log[2]["payload"]["value"] == 1.25
    assert log[2]["corrected_by"] == 4
    assert log[3]["payload"]["payload"]["shown"] == "12.5 V"
    garage.ok("note", "going", "on")
    garage.ok("undo")
    assert garage.twin("log")["events"][4]["corrected_by"] == 6
    garage.ok("correct", "1", "--set", "labour_rate=120")
    assert garage.twin("show")["spent"]["labour"] == pytest.approx(1.3 * 2)


def test_cases_are_listed_and_chosen_by_number_or_by_the_jobs_own_number(garage: Garage) -> None:
    garage.lamp("--order", "RO-1")
    garage.lamp("--order", "RO-2")
    assert [row["current"] for row in garage.twin("cases")["cases"]] == [False, True]
    garage.ok("use", "RO-1")
    garage.ok("note", "here")
    assert garage.twin("log", "1")["events"][-1]["kind"] == "note"
    assert garage.twin("show", "RO-2")["case"] == 2
    assert garage.twin("log", "--case", "2")["case"] == 2


def test_the_vehicle_as_it_stands_can_be_noted(garage: Garage) -> None:
    garage.lamp("--authorised-minutes", "60")
    garage.ok("access", "guard", "--minutes", "20")
    garage.ok("setup", "lamp_on")
    garage.ok("cannot", "ground_ohms", "--because", "meter fuse blown")
    state = garage.twin("show")
    assert state["opened_access"] == ["Take the lamp guard off"]
    assert state["setup"] == "Lamp switched on, all plugged"
    assert state["cannot"] == {"ground_ohms": "meter fuse blown"}
    assert state["left"]["minutes"] == pytest.approx(60 - 20.3)


def test_steps_lists_every_name_that_can_be_typed(garage: Garage) -> None:
    garage.lamp()
    says = garage.ok("steps")
    for name in ("lamp_volts", "look_c1", "swap_fuse", "light", "guard", "dead", "w_feed", "no-fault-now"):
        assert f"  {name}  " in says.replace("\n", "  \n") or f"  {name} " in says
    assert "lamp_volts" not in garage.ok("steps", "--only", "look")


def test_advice_is_kept_once_while_nothing_changes(garage: Garage) -> None:
    garage.lamp()
    garage.ok("next")
    garage.ok("next", "--others", "--why")
    assert [event["kind"] for event in garage.twin("log")["events"]].count("advice-shown") == 1


def test_a_replayed_case_shows_the_same(garage: Garage) -> None:
    garage.lamp()
    garage.ok("reading", "battery_volts", "12.5")
    assert garage.ok("show", "--json") == garage.ok("show", "--json")
    assert json.loads(garage.ok("next", "--json")) == json.loads(garage.ok("next", "--json"))


def test_what_was_wiggled_meanwhile_is_noted_and_stays_noted_when_the_value_is_corrected(garage: Garage) -> None:
    garage.lamp()
    garage.ok("reading", "battery_volts", "1.25", "--wiggled")
    number = len(garage.twin("log")["events"])
    garage.ok("correct", str(number), "--value", "12.5", "--because", "misread")
    garage.ok("saw", "light", "dim", "--wiggled")
    log = garage.twin("log")["events"]
    assert [e["payload"]["disturbed"] for e in log if e["kind"] in {"reading-taken", "outcome-seen"}] == [True, True]
    assert log[number]["payload"]["payload"]["disturbed"] is True


def test_a_repair_that_is_no_finding_is_warned_of_in_one_line(garage: Garage) -> None:
    garage.lamp()
    says = [line for line in garage.ok("repair", "lamp").splitlines() if "Warning" in line]
    assert len(says) == 1
    assert re.fullmatch(r"  Warning +no accepted finding; Work lamp has \d+ %", says[0])
    garage.ok("undo")
    garage.ok("finding", "lamp", "--because", "seen")
    assert "Warning" not in garage.ok("repair")


def test_the_vehicle_of_its_own_sheet_comes_into_the_case_where_the_command_gives_none(garage: Garage) -> None:
    sheet = str(garage.folder / "own.yaml")
    named = ("vehicle.make=Invented", "vehicle.model=Example", "vehicle.year=2019", "vehicle.engine=1.6")
    garage.ok("circuits", "new", str(LAMP), sheet, *(word for key in named for word in ("--set", key)))
    garage.ok("open", "--circuit", sheet, "--complaint", "light=dim", "--engine", "2.0")
    vehicle = garage.twin("show")["vehicle"]
    assert [vehicle[key] for key in ("make", "model", "year", "engine")] == ["Invented", "Example", 2019, "2.0"]


def test_a_correction_answers_with_the_name_the_old_and_the_new_value_and_the_belief_after(garage: Garage) -> None:
    garage.lamp()
    garage.ok("reading", "battery_volts", "1.25")
    says = garage.ok("correct", "3", "--value", "12.5", "--because", "misread")
    told = "Entry 3 corrected: was Battery voltage: 1.25 V; now Battery voltage: 12.5 V (misread)"
    assert told in says
    assert told in garage.ok("log")
    now = garage.twin("show")["suspects"]
    assert f"Now        {now[0]['title']}" in says
    again = garage.ok("correct", "3", "--value", "12.4")
    assert "was Battery voltage: 12.5 V; now Battery voltage: 12.4 V" in again
    assert "labour_rate was 60.0, now 75.0" in garage.ok("correct", "1", "--set", "labour_rate=75")
    garage.ok("saw", "light", "dark")
    says = garage.ok("undo")
    assert "Entry 7 taken back: How the lamp burns: does not burn" in says
    assert "Now  " in says
    assert garage.twin("log")["events"][-1]["text"] == "Entry 7 taken back: How the lamp burns: does not burn"


def test_an_access_operation_that_cannot_be_done_bars_every_step_that_needs_it(garage: Garage) -> None:
    garage.lamp()
    assert "Cannot be done: Take the lamp guard off (riveted)" in garage.ok("cannot", "guard", "--because", "riveted")
    barred = garage.twin("show")["cannot"]
    assert "lamp_volts" in barred
    assert "battery_volts" not in barred
    assert "did you mean 'guard'" in garage.refused("cannot", "gaurd", "--because", "x")


def test_a_cavity_not_looked_at_yet_is_asked_for_with_the_whole_command(garage: Garage) -> None:
    garage.lamp()
    assert "Then type  proveout harness C1 2=BN" in garage.ok("harness", "C1", "1=RD/WH")
    assert "Then type" not in garage.ok("harness", "C1", "2=BN")
