"""A damaged, mislabelled or hostile file ends in one clear sentence or a note, never in a crash or a wrong number."""

from __future__ import annotations

import gzip
import io
import resource
import struct
import time
import zipfile
import zlib

import numpy as np
import pytest

from proveout.captures.readers import ChannelOverrule, Overrules, read
from proveout.captures.readers.unpacking import Bounds, gunzip
from proveout.errors import InputError

CSV = b"Time [s],A [V]\n" + b"".join(b"%.3f,%.3f\n" % (k / 1000, k % 7 / 10) for k in range(500))


def test_one_sample_is_read_and_told() -> None:
    capture = read(b"time,v\n0.5,2\n")
    assert capture.channels[0].samples.tolist() == [2.0]
    assert any("one sample only" in note for note in capture.notes)


def test_headings_without_a_row_hold_nothing() -> None:
    with pytest.raises(InputError):
        read(b"Time [s],A [V]\n")


def test_a_constant_channel_is_told() -> None:
    capture = read(b"time [s],A [V]\n" + b"".join(b"%d,2.5\n" % k for k in range(10)))
    assert "channel 'A' is constant at 2.5 V" in capture.notes


def test_a_channel_without_any_number_is_told() -> None:
    capture = read(b"time [s],A [V],B [V]\n" + b"".join(b"%d,NaN,1\n" % k for k in range(10)))
    assert any("'A' has no usable sample" in note for note in capture.notes)
    assert np.isnan(capture.channel("A").samples).all()


def test_zeros_behind_the_last_row_are_told() -> None:
    capture = read(CSV + bytes(5000))
    assert capture.channels[0].samples.size == 500
    assert any("5000 zero bytes" in note for note in capture.notes)


def test_a_gzip_file_cut_short_gives_what_can_be_read_and_says_so() -> None:
    packed = gzip.compress(CSV)
    capture = read(packed[: len(packed) // 2])
    assert 10 < capture.channels[0].samples.size < 500
    assert any("cut short" in note for note in capture.notes)


def test_a_damaged_gzip_file_says_so() -> None:
    packed = bytearray(gzip.compress(CSV, 1))
    packed[len(packed) // 2] ^= 0x55
    try:
        notes = read(bytes(packed)).notes
    except InputError:
        return
    assert any("damaged" in note or "cut short" in note for note in notes)


def test_several_gzip_members_are_one_file() -> None:
    assert read(gzip.compress(CSV[:3000]) + gzip.compress(CSV[3000:]) + bytes(100)).channels[0].samples.size == 500


def test_a_gzip_bomb_is_stopped_early_in_time_and_memory() -> None:
    engine = zlib.compressobj(6, wbits=31)
    packed = b"".join(engine.compress(bytes(1 << 20)) for _ in range(160)) + engine.flush()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.monotonic()
    with pytest.raises(InputError, match="more than 200 times its size"):
        read(packed)
    assert time.monotonic() - begin < 10
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 150_000  # KiB, of 160 MiB inside


def test_a_file_may_not_unpack_beyond_a_size_either() -> None:
    with pytest.raises(InputError, match="unpacks to more than"):
        gunzip(memoryview(gzip.compress(np.random.default_rng(1).bytes(1 << 20))), Bounds(size=1 << 19))


def test_an_archive_of_arrays_that_tells_of_too_much_is_refused_unopened() -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("a.npy", "w") as member:
        np.lib.format.write_array_header_1_0(member, {"descr": "<f8", "fortran_order": False, "shape": (100 << 17,)})
        for _ in range(100):
            member.write(bytes(1 << 20))
    with pytest.raises(InputError, match="more than 200 times"):
        read(file.getvalue())


def test_an_array_whose_head_tells_of_more_than_there_is_reserves_no_memory() -> None:
    file = io.BytesIO()
    np.lib.format.write_array_header_1_0(file, {"descr": "<f8", "fortran_order": False, "shape": (10**12, 10**3)})
    with pytest.raises(InputError, match="cut short"):
        read(file.getvalue() + bytes(64))


def test_a_wav_file_whose_head_tells_of_a_gigabyte_is_read_as_far_as_it_goes() -> None:
    samples = np.arange(100, dtype="<i2").tobytes()
    head = struct.pack(
        "<4sI4s4sIHHIIHH4sI", b"RIFF", 2**30, b"WAVE", b"fmt ", 16, 1, 1, 1000, 2000, 2, 16, b"data", 2**30
    )
    capture = read(head + samples)
    assert capture.channels[0].samples.size == 100
    assert any("cut short" in note for note in capture.notes)


def test_two_channels_may_not_be_given_one_name() -> None:
    said = Overrules(channels={"A": ChannelOverrule(name="C"), "B": ChannelOverrule(name="C")})
    with pytest.raises(InputError, match="two channels are called 'C'"):
        read(b"time,A,B\n0,1,2\n1,2,3\n2,1,3\n", said)


def test_channels_of_one_name_are_told_apart() -> None:
    capture = read(b"time,A,A,\n0,1,2,3\n1,2,3,4\n2,1,3,5\n")
    assert [channel.name for channel in capture.channels] == ["A", "A (2)", "channel 3"]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"rate": 0.0}, "rate is 0.0 Hz"),
        ({"rate": float("nan")}, "positive and finite"),
        ({"time_unit": "fortnight"}, "time-unit is 'fortnight'; choose one of s, ms"),
        ({"delimiter": ";;"}, "delimiter is ';;'"),
        ({"decimal": "x"}, "decimal is 'x'"),
        ({"blanks": "maybe"}, "blanks is 'maybe'"),
    ],
)
def test_an_overrule_that_cannot_be_is_refused(said: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Overrules(**said)  # type: ignore[arg-type]


def test_a_time_column_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(InputError, match=r"no column 'When'.*Time, A"):
        read(CSV, Overrules(time_column="When"))


def test_a_clamp_on_a_channel_in_amperes_is_refused() -> None:
    with pytest.raises(InputError, match="leave it out"):
        read(b"time,I [A]\n0,1\n1,2\n2,1\n", Overrules(channels={"I": ChannelOverrule(clamp=100.0)}))
