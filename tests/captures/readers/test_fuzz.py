"""Whatever the bytes are, a reader gives a capture or one clear sentence, soon."""

from __future__ import annotations

import gzip
import io
import time
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from asammdf import MDF, Signal
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyarrow import parquet
from scipy.io import wavfile
from vcd import VCDWriter

from proveout.captures.readers import read
from proveout.errors import ProveoutError

COUNT = 60
TIMES = np.arange(COUNT) / 100
WAVE = np.sin(TIMES * 30)
MOST_SECONDS = 10.0  # the libraries are imported on the way, on a busy machine


def valid_files(folder: Path) -> dict[str, bytes]:
    """Return one small file of each format, written by the library that everybody uses."""
    files = {name: io.BytesIO() for name in ("wav", "npy", "npz", "parquet", "stream", "arrow")}
    wavfile.write(files["wav"], 100, (WAVE * 1000).astype(np.int16))
    np.save(files["npy"], np.stack([TIMES, WAVE], axis=1))
    np.savez_compressed(files["npz"], time=TIMES, crank=WAVE)
    table = pa.table({"time": TIMES, "A [mV]": WAVE, "B": [None if k % 9 == 0 else k for k in range(COUNT)]})
    parquet.write_table(table, files["parquet"])
    with pa.ipc.new_stream(files["stream"], table.schema) as stream:
        stream.write_table(table)
    options = pa.ipc.IpcWriteOptions(compression="zstd")
    with pa.ipc.new_file(files["arrow"], table.schema, options=options) as file:
        file.write_table(table)
    text = io.StringIO()
    with VCDWriter(text, timescale="1 us") as writer:
        level = writer.register_var("top", "level", "wire", size=1, init=0)
        for k in range(1, 20):
            writer.change(level, k * 7, k % 2)
    with MDF(version="4.10") as mdf:
        mdf.append([Signal(WAVE, TIMES, unit="V", name="Crank"), Signal(TIMES, TIMES, name="Ramp")])
        mdf.save(folder / "a.mf4", compression=2)
    csv = "Instrument,Invented\nInterval,1e-3,s\n\nTime;A;B\n".replace(",", ";") + "".join(
        f"{k / 1000:.3f};{value:.3f};{'∞' if k % 9 == 0 else k};\n" for k, value in enumerate(WAVE)
    )
    edges = b"Time [s],D0\n" + b"".join(b"%.4f,%d\n" % (k**1.5, k % 2) for k in range(30))
    return {name: file.getvalue() for name, file in files.items()} | {
        "vcd": text.getvalue().encode(),
        "mdf": (folder / "a.mf4").read_bytes(),
        "csv": csv.replace(".", ",").encode("utf-8-sig"),
        "utf-16": csv.encode("utf-16"),
        "edges": edges,
        "gzip": gzip.compress(edges),
    }


NAMES = ("arrow", "csv", "edges", "gzip", "mdf", "npy", "npz", "parquet", "stream", "utf-16", "vcd", "wav")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return valid_files(tmp_path_factory.mktemp("valid"))


def read_or_refuse(data: bytes) -> None:
    begin = time.monotonic()
    try:
        capture = read(data)
    except ProveoutError as error:
        assert 10 < len(str(error)) < 1000
    else:
        assert capture.channels
        for channel in capture.channels:
            assert channel.samples.ndim == 1
            assert channel.samples.size
            if channel.clock.times is not None:
                assert channel.clock.times.shape == channel.samples.shape
                assert np.all(np.diff(channel.clock.times) > 0)
    assert time.monotonic() - begin < MOST_SECONDS


@pytest.mark.parametrize("name", NAMES)
def test_the_files_to_be_damaged_are_sound(name: str, files: dict[str, bytes]) -> None:
    assert set(files) == set(NAMES)
    read(files[name])


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_damaged_file_is_read_or_refused(name: str, files: dict[str, bytes], data: st.DataObject) -> None:
    content = bytearray(files[name])
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, max(0, len(content) - 1)))
        match data.draw(st.sampled_from(["change", "extreme", "insert", "delete", "cut", "repeat"])):
            case "change":
                content[place : place + 1] = data.draw(st.binary(min_size=1, max_size=1))
            case "extreme":
                content[place : place + 4] = data.draw(st.sampled_from([b"\xff" * 4, b"\x00" * 4, b"\xff\xff\xff\x7f"]))
            case "insert":
                content[place:place] = data.draw(st.binary(min_size=1, max_size=8))
            case "delete":
                del content[place : place + data.draw(st.integers(1, 20))]
            case "cut":
                del content[max(place, 1) :]
            case _:
                content[place : place + 8] = content[: min(8, len(content))]
    read_or_refuse(bytes(content) or b"x")


@settings(max_examples=200, deadline=None)
@given(st.binary(min_size=1, max_size=400))
def test_random_bytes_are_read_or_refused(data: bytes) -> None:
    read_or_refuse(data)


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="0123456789.,;:\t -+eE\"'\r\n#aTimeVs[]()∞*", min_size=1, max_size=300))
def test_random_tables_are_read_or_refused(text: str) -> None:
    read_or_refuse(text.encode())


@pytest.mark.slow
@settings(max_examples=3000, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_many_damaged_files_are_read_or_refused(files: dict[str, bytes], data: st.DataObject) -> None:
    content = bytearray(files[data.draw(st.sampled_from(NAMES))])
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), min_size=1, max_size=12)):
        content[place] = data.draw(st.integers(0, 255))
    read_or_refuse(bytes(content))
