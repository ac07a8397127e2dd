"""What is attached is kept as it came, opens at once, and survives a full disk and a stranger's hand."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from proveout.captures.archive import Archive
from proveout.captures.archive.described import LONG
from proveout.captures.readers import ChannelOverrule, Overrules, read
from proveout.errors import InputError, StoreError

CSV = b"Time [ms],A [mV],State\n" + b"".join(b"%.1f,%d,%d\n" % (k**1.01 / 10, k * 7 % 50, k % 2) for k in range(300))
SHA256 = hashlib.sha256(CSV).hexdigest()


def contents(folder: Path) -> dict[str, tuple[int, int]]:
    return {
        str(path.relative_to(folder)): (path.stat().st_size, path.stat().st_mtime_ns)
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_the_original_is_kept_unaltered_under_its_fingerprint(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    capture = archive.attach(CSV, name="a.csv")
    assert (capture.origin.sha256, capture.origin.name) == (SHA256, "a.csv")
    assert archive.checked(SHA256).read_bytes() == CSV


def test_what_is_opened_is_what_was_read_and_is_mapped(tmp_path: Path) -> None:
    archive, fresh = Archive(tmp_path), read(CSV, name="a.csv")
    archive.attach(CSV, name="a.csv")
    kept = archive.open(SHA256)
    assert (kept.origin, kept.guesses, kept.notes, kept.details) == (
        fresh.origin,
        fresh.guesses,
        fresh.notes,
        fresh.details,
    )
    for ours, theirs in zip(kept.channels, fresh.channels, strict=True):
        assert isinstance(ours.samples, np.memmap)
        assert isinstance(ours.clock.times, np.memmap)
        assert (ours.name, ours.unit, ours.clock.holds) == (theirs.name, theirs.unit, theirs.clock.holds)
        np.testing.assert_array_equal(ours.samples, theirs.samples)
        np.testing.assert_array_equal(ours.clock.times, np.asarray(theirs.clock.times))
    assert kept.channels[0].clock.times is kept.channels[1].clock.times


def test_the_same_bytes_a_second_time_change_nothing(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    archive.attach(CSV, name="a.csv")
    before = contents(tmp_path)
    assert archive.attach(CSV, name="other.csv").origin.sha256 == SHA256
    assert contents(tmp_path) == before


def test_one_original_can_be_read_in_two_ways(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    plain = archive.attach(CSV)
    said = Overrules(channels={"A": ChannelOverrule(attenuation=10.0)})
    scaled = archive.open(SHA256, said)
    np.testing.assert_allclose(scaled.channels[0].samples, 10 * plain.channels[0].samples, rtol=1e-6)
    assert len(list((tmp_path / "originals").rglob("*"))) == 2  # one folder, one file
    assert archive.open(SHA256).channels[0].samples[1] == plain.channels[0].samples[1]


def test_a_file_that_cannot_be_read_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        Archive(tmp_path / "new").attach(b"hello\nworld\n")
    assert not (tmp_path / "new").exists()


def test_an_original_that_was_altered_is_found_out(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    archive.attach(CSV)
    path = archive.original(SHA256)
    path.chmod(0o644)
    path.write_bytes(CSV.replace(b"7", b"8"))
    with pytest.raises(StoreError, match="was altered"):
        archive.checked(SHA256)


def test_samples_that_were_damaged_are_told_and_can_be_made_anew(tmp_path: Path) -> None:
    archive = Archive(tmp_path)
    archive.attach(CSV)
    (folder,) = (tmp_path / "samples").iterdir()
    (folder / "0000.npy").write_bytes(b"")
    with pytest.raises(StoreError, match="delete the folder"):
        archive.open(SHA256)
    for file in folder.iterdir():
        file.unlink()
    folder.rmdir()
    assert archive.open(SHA256).channels[0].samples.size == 300


def test_what_was_never_attached_is_said(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="attach its file"):
        Archive(tmp_path).open(SHA256)
    with pytest.raises(InputError, match="no SHA-256"):
        Archive(tmp_path).open("../../etc/passwd")


def test_a_full_disk_keeps_nothing_by_halves_and_says_so(tmp_path: Path) -> None:
    """The operating system refuses files beyond a size, as a full disk would."""
    archive = Archive(tmp_path)
    archive.attach(CSV)
    before = contents(tmp_path)
    path = tmp_path.parent / "long.npy"
    np.save(path, np.random.default_rng(6).normal(size=20_000))
    code = (
        "import resource, signal, sys, pathlib\n"
        "from proveout.captures.archive import Archive\n"
        "from proveout.errors import StoreError\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))\n"
        "try: Archive(pathlib.Path(sys.argv[1])).attach(sys.argv[2])\n"
        "except StoreError as error: print(error)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path), str(path)], capture_output=True, text=True, check=True
    )
    assert "the disk of" in done.stdout
    assert "make room and attach it again" in done.stdout
    assert contents(tmp_path) == before
    assert archive.attach(path).channels[0].samples.size == 20_000


def test_a_long_channel_keeps_its_extremes_beside_it(tmp_path: Path) -> None:
    samples = np.random.default_rng(7).normal(size=LONG + 17).astype(np.float32)
    np.save(tmp_path / "long.npy", samples)
    archive = Archive(tmp_path / "archive")
    said = Overrules(rate=1e6)
    capture = archive.attach(tmp_path / "long.npy", said)
    pyramid = archive.pyramid(capture, "channel 1", said)
    assert isinstance(pyramid.extremes, np.memmap)
    assert pyramid.envelope(0, samples.size, 1).tolist() == [[samples.min(), samples.max()]]
    short = archive.attach(CSV)
    np.testing.assert_allclose(archive.pyramid(short, "A").envelope(0, 300, 1), [[0, 0.049]], rtol=1e-6)
