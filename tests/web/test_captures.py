"""The capture page: a file is received, read beside the pages, shown in any stretch, overruled, compared, attached."""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import pytest

from captures.synthetic import motion, recording, wheels
from proveout.cases.events import CaptureAttached, HarnessChecked
from proveout.circuits.colours import colour_text
from proveout.circuits.harness import expected_cavities
from proveout.web import Workbench
from web.visitor import HERE, Visitor

RATE = 10_000.0


def _crank(rpm: float = 200.0, lost: int = 2) -> recording.Recording:
    """Return a cranked 60-2 wheel (made: the truth is known)."""
    rng = np.random.default_rng(3)
    turning = motion.cranking(rpm, 6.0, ripple=0.2)
    wheel = wheels.missing_teeth(60, 2)
    return recording.record(wheel, turning, recording.HALL, rng, rate=RATE, noise_db=35, lost=lost)


def _csv(made: recording.Recording) -> bytes:
    rows = (f"{k / RATE * 1e3:.3f};{value:.4f}" for k, value in enumerate(made.samples))
    return ("Time;Crank sensor\n(ms);(V)\n" + "\n".join(rows) + "\n").replace(".", ",").encode()


def _send(visitor: Visitor, content: bytes, name: str = "crank.csv", **fields: str) -> str:
    answer = visitor.ask(
        "POST",
        "/captures",
        data={"token": visitor.token, **fields},
        files={"file": (name, content, "application/octet-stream")},
        headers={"origin": HERE},
    )
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def _arrived(visitor: Visitor, waiting: str) -> str:
    for _ in range(300):
        answer = visitor.see(waiting)
        if answer.status_code == 303:
            return str(answer.headers["location"])
        assert answer.status_code == 202, answer.text
        time.sleep(0.05)
    raise AssertionError("not read")


def _analysed(visitor: Visitor, address: str) -> Any:
    for _ in range(600):
        told = visitor.data(f"{address}.json")
        if told["analysed"]:
            return told
        time.sleep(0.1)
    raise AssertionError("not analysed")


@pytest.fixture
def made() -> recording.Recording:
    """Return the recording that most tests send."""
    return _crank()


def test_a_file_is_read_beside_the_pages_and_kept_unaltered(visitor: Visitor, made: recording.Recording) -> None:
    content = _csv(made)
    address = _arrived(visitor, _send(visitor, content))
    told = visitor.data(f"{address}.json")
    assert told["name"] == "crank.csv"
    assert told["channels"][0]["samples"] == made.samples.size
    assert {guess["what"] for guess in told["guesses"]} >= {"delimiter", "decimal sign"}
    assert visitor.see(f"{address}/file").content == content


def test_what_was_found_is_told_and_marked(visitor: Visitor, made: recording.Recording) -> None:
    address = _arrived(visitor, _send(visitor, _csv(made)))
    told = _analysed(visitor, address)
    found = {f["name"]: f for f in told["findings"]["findings"]}
    assert found["wheel"]["word"].startswith("60-2") or found["wheel"]["text"].startswith("60-2")
    assert found["lost teeth"]["value"] == 2
    page = visitor.see(address).text
    assert "lost tooth" in page
    assert page.count('class="paper wheel"') == 1
    assert told["speeds"] == ["Crank sensor"]


def test_any_stretch_comes_as_the_exact_extremes_of_its_columns(visitor: Visitor, made: recording.Recording) -> None:
    """Truth is numpy over the samples that were sent, as the file has them."""
    address = _arrived(visitor, _send(visitor, _csv(made)))
    begin, end, columns = 0.0, 0.5, 40
    query = f"channels=0&begin={begin - 0.00005}&end={end - 0.00005}&columns={columns}"
    answer = visitor.see(f"{address}/envelope?{query}")
    got = np.frombuffer(answer.content, "<f4").reshape(columns, 2)
    written = np.round(made.samples[: int(0.5 * RATE)].astype(float), 4).reshape(columns, -1)
    assert got[:, 0] == pytest.approx(written.min(axis=1), abs=1e-6)
    assert got[:, 1] == pytest.approx(written.max(axis=1), abs=1e-6)


def test_the_speed_is_that_of_the_wheel(visitor: Visitor, made: recording.Recording) -> None:
    address = _arrived(visitor, _send(visitor, _csv(made)))
    _analysed(visitor, address)
    times, speed = np.frombuffer(visitor.see(f"{address}/speed?channel=Crank%20sensor").content, "<f8").reshape(2, -1)
    assert np.all(np.diff(times) > 0)
    assert float(np.mean(speed)) * 60 == pytest.approx(200.0, rel=0.05)


def test_cursors_read_the_samples_and_their_differences_with_and_without_scripts(
    visitor: Visitor, made: recording.Recording
) -> None:
    address = _arrived(visitor, _send(visitor, _csv(made)))
    told = visitor.data(f"{address}/values.json?channels=0&a=0.1&b=0,2")["cursors"]
    assert told["apart"] == pytest.approx(0.1)
    assert told["per_second"] == pytest.approx(10.0)
    row = told["channels"][0]
    assert row["a"] == pytest.approx(made.samples[1000], abs=1e-3)
    assert row["difference"] == pytest.approx(made.samples[2000] - made.samples[1000], abs=1e-3)
    page = visitor.see(f"{address}?a=0.1&b=0.2").text
    assert "B − A" in page
    assert "0.1 s" in page


def test_a_guess_is_overruled_and_what_cannot_be_is_said(visitor: Visitor, made: recording.Recording) -> None:
    address = _arrived(visitor, _send(visitor, _csv(made)))
    assert visitor.send(address, {"attenuation.0": "10", "role.0": "cam sensor"}).status_code == 303
    told = _analysed(visitor, address)
    assert told["findings"]["roles"]["Crank sensor"]["role"] == "cam sensor"
    high = next(f["value"] for f in told["findings"]["findings"] if f["name"] == "high level")
    assert high == pytest.approx(50.0, rel=0.02)
    answer = visitor.send(address, {"rate": "-5"})
    assert answer.status_code == 422
    assert "rate" in answer.text
    assert visitor.send(address, {"rate": "abc"}).status_code == 422


def test_the_capture_after_is_laid_beside_the_one_before(visitor: Visitor, made: recording.Recording) -> None:
    before = _arrived(visitor, _send(visitor, _csv(made), "before.csv"))
    after = _arrived(visitor, _send(visitor, _csv(_crank(230.0, lost=0)), "after.csv"))
    number = before.rpartition("/")[2]
    for _ in range(300):
        told = visitor.data(f"{after}.json?beside={number}&shift=0.1")
        if told["comparison"]:
            break
        time.sleep(0.1)
    assert told["beside"] == int(number)
    verdicts = {row["name"]: row["verdict"] for row in told["comparison"]["rows"]}
    assert verdicts["lost teeth"] == "changed"
    assert verdicts["high level"] == "same"
    page = visitor.see(f"{after}?beside={number}").text
    assert "Over one turn of the wheel" in page
    assert "stroke-dasharray" in visitor.see(f"{after}/figure.svg?beside={number}").text


def test_a_capture_is_attached_to_a_case_as_evidence(bench: Workbench, visitor: Visitor) -> None:
    circuit = bench.desk.state(1).circuit
    for connector in circuit.connectors:
        seen = {c.cavity: colour_text(c.colours) for c in expected_cavities(circuit, connector) if c.colours}
        bench.desk.record(1, HarnessChecked(connector=connector, seen=seen, agrees=True))
    address = _arrived(visitor, _send(visitor, _csv(_crank(lost=0)), case="1"))
    _analysed(visitor, address)
    page = visitor.see(address).text
    assert 'name="measurement"' in page
    answer = visitor.send(f"{address}/attach", {"into": "1", "measurement": "signal_low_at_ce"})
    assert answer.status_code == 303, answer.text
    event = bench.desk.state(1).entries[-1].event
    assert isinstance(event, CaptureAttached)
    assert event.measurement == "signal_low_at_ce"
    assert visitor.see("/cases/1").status_code == 200


def test_what_may_not_be_attached_is_said(visitor: Visitor, made: recording.Recording) -> None:
    address = _arrived(visitor, _send(visitor, _csv(made)))
    _analysed(visitor, address)
    assert visitor.send(f"{address}/attach", {"into": "99", "measurement": "x"}).status_code == 422
    # The colours at the connector were not compared yet.
    answer = visitor.send(f"{address}/attach", {"into": "1", "measurement": "signal_low_at_ce"})
    assert answer.status_code == 422
    assert "colours" in answer.text


@pytest.mark.parametrize("content", [b"\x00\x01\x02\x03" * 64, b"{" * 50])
def test_a_file_that_cannot_be_read_leaves_nothing_and_says_why(
    bench: Workbench, visitor: Visitor, content: bytes
) -> None:
    waiting = _send(visitor, content, "../../<b>.bin")
    for _ in range(100):
        answer = visitor.see(waiting)
        if answer.status_code != 202:
            break
        time.sleep(0.05)
    assert answer.status_code == 422
    assert "<b>" not in answer.text
    assert bench.captures.shelf.all() == ()


def test_without_a_file_nothing_is_taken(visitor: Visitor) -> None:
    answer = visitor.send("/captures", {})
    assert answer.status_code == 422
    assert "No file was sent" in answer.text


def test_there_is_no_page_of_a_capture_that_is_not_there(visitor: Visitor) -> None:
    for path in ("/captures/4", "/captures/4/envelope?channels=0&begin=0&end=1&columns=3", "/captures/x"):
        assert visitor.see(path).status_code == 404
    assert visitor.see("/captures/arriving/none").headers["location"] == "/captures"
