"""A case that waits for its vehicle, and the page asked for where it must not be."""

from cli.running import Garage


def test_a_case_waits_for_its_vehicle_and_is_listed_so(garage: Garage) -> None:
    garage.lamp()
    said = garage.ok("vehicle", "away", "--because", "comes on Thursday")
    assert "Waiting for the vehicle; comes on Thursday" in said
    assert "waiting" in garage.ok("cases")
    garage.ok("vehicle", "here")
    assert "waiting" not in garage.ok("cases")


def test_the_page_is_not_served_to_other_machines(garage: Garage) -> None:
    done = garage.process("serve", "--host", "0.0.0.0", "--demo")
    assert done.returncode == 2
    assert "no accounts yet" in done.stderr
    assert "No cases yet" in garage.ok("cases")
