"""A recording is what its bytes say, whatever its name; what is not said is guessed aloud."""

from __future__ import annotations

import gzip
import hashlib
import io
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from proveout.captures.readers import READERS, ChannelOverrule, Overrules, Reader, read
from proveout.captures.readers._reader import check
from proveout.errors import InputError

CSV = b"Time,Crank\n(ms),(mV)\n0.0,100\n0.5,-200\n1.0,300\n1.5,-400\n"


def wav(samples: np.ndarray[tuple[int], np.dtype[np.int16]], rate: int = 48_000) -> bytes:
    """Write a WAV file with scipy, which knows nothing of this program."""
    file = io.BytesIO()
    wavfile.write(file, rate, samples)
    return file.getvalue()


def test_what_a_file_is_follows_from_its_bytes_and_not_from_its_name(tmp_path: Path) -> None:
    path = tmp_path / "really.csv"
    path.write_bytes(wav(np.array([0, 16384, -16384, 0], dtype=np.int16)))
    capture = read(path)
    assert (capture.origin.format, capture.origin.name) == ("wav", "really.csv")
    np.testing.assert_allclose(capture.channels[0].samples, [0, 0.5, -0.5, 0])
    assert capture.channels[0].clock.rate == 48_000


def test_the_fingerprint_is_the_sha_256_of_the_file_as_it_lies_on_the_disk() -> None:
    packed = gzip.compress(CSV)
    capture = read(packed, name="a.gz")
    assert capture.origin.sha256 == hashlib.sha256(packed).hexdigest()
    assert capture.origin.size == len(packed)


def test_gzip_around_a_file_changes_nothing_of_it() -> None:
    plain, packed = read(CSV), read(gzip.compress(CSV))
    np.testing.assert_array_equal(plain.channels[0].samples, packed.channels[0].samples)
    assert packed.origin.format == "csv"
    assert plain.guesses == packed.guesses


def test_units_of_the_second_header_row_are_turned_into_si() -> None:
    crank = read(CSV).channel("Crank")
    assert (crank.unit, crank.clock.rate) == ("V", 2000.0)
    np.testing.assert_allclose(crank.samples, [0.1, -0.2, 0.3, -0.4], rtol=1e-6)


def test_what_is_said_by_the_user_goes_before_what_the_file_says() -> None:
    said = Overrules(
        rate=1e6,
        channels={"Crank": ChannelOverrule(name="starter", clamp=100.0, attenuation=2.0)},
    )
    capture = read(CSV, said)
    channel = capture.channel("starter")
    assert (channel.unit, channel.clock.rate) == ("A", 1e6)
    np.testing.assert_allclose(channel.samples, [20, -40, 60, -80], rtol=1e-6)


def test_a_channel_that_is_not_there_cannot_be_overruled() -> None:
    with pytest.raises(InputError, match=r"no channel 'Cam'.*Crank"):
        read(CSV, Overrules(channels={"Cam": ChannelOverrule(unit="V")}))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "0 bytes"),
        (b"\x89PNG\r\n\x1a\n" + bytes(64), "a PNG picture"),
        (b"PK\x03\x04" + bytes(64), "ZIP archive"),
        (b"\x00\x01\x02\x03" * 50, "none of the formats"),
        (b"hello\nworld\n", "no table of numbers"),
        (gzip.compress(gzip.compress(CSV)), "gzip twice"),
    ],
    ids=["empty", "picture", "archive", "unknown", "prose", "packed twice"],
)
def test_what_is_no_recording_is_named(content: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read(content)


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path / "none.csv")


def test_a_reader_is_checked_when_it_is_registered() -> None:
    with pytest.raises(ValueError, match="no other reader"):
        check(READERS[0], READERS)
    with pytest.raises(ValueError, match="no module"):
        check(Reader("other", "Other", lambda head: False, "proveout.captures.nowhere:decode"), READERS)
    with pytest.raises(ValueError, match="no bytes"):
        check(Reader("other", "Other", lambda head: True, READERS[0].place), READERS)
