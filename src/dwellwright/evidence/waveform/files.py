"""Sound files as a stream of blocks, with every way a file can be wrong said in one sentence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from dwellwright.errors import InputFault

LOWEST_RATE, HIGHEST_RATE = 200.0, 10e6
"""Sample rates that make sense for a 5-20 Hz pulse. [Hz]"""
MOST_CHANNELS = 16
BLOCK = 1 << 18
"""Samples per block at least; fits the second-level cache as 16-bit. [samples]"""
BLOCK_TIME = 4.0
"""A block holds at least this much, so that every block shows some pulses. [s]"""
OVERLAP_TIME = 0.02
"""Repeated at the seam of two blocks, so that no step falls between them. [s]"""
SIXTEEN_BIT = ("PCM_16", "PCM_S8", "PCM_U8")
"""Samples that are read as 16-bit numbers; all others as a share of full scale."""
OPEN_SIZES = {0, 0x7FFFFFFF, 0x7FFFF000, 0xFFFFFFFF, 0xFFFFFFF7}
"""Sizes that a recorder leaves in the header while it is still recording: not a claim."""


@dataclass(frozen=True)
class Block:
    """Consecutive samples of every channel.

    Args:
        start: index of the first sample in the recording.
        seam: samples at the beginning that the block before has already shown.
        channels: one contiguous row per channel, shape (channels, n).
        last: nothing follows.
    """

    start: int
    seam: int
    channels: NDArray[Any]
    last: bool


@dataclass(frozen=True)
class Recording:
    """Something that can be streamed.

    Args:
        source: what to call it in messages.
        sample_rate: [Hz]
        channels: how many.
        frames: samples per channel as the header says.
        blocks: the stream, to be consumed once.
        notes: sentences for the reader.
        volts: True if the samples are volts with their true zero.
        full_scale: of the samples as delivered, where they are not volts. [sample unit]
    """

    source: str
    sample_rate: float
    channels: int
    frames: int
    blocks: Iterator[Block]
    notes: tuple[str, ...] = ()
    volts: bool = False
    full_scale: float = 1.0


def sound_recording(path: Path) -> Recording:
    """The stream of a WAV, FLAC or other sound file.

    Raises:
        InputFault: not a sound file, truncated, or a header that cannot be true.
    """
    notes = _checked_riff(path)
    try:
        file = soundfile.SoundFile(path)
    except (soundfile.SoundFileError, RuntimeError, TypeError, ValueError, OSError) as error:
        raise InputFault(
            "this is not a sound file that can be read",
            where=path.name,
            wanted="WAV, FLAC or similar sound",
            got=_reason(error),
            remedy="Export it again from the recorder as 16-bit WAV.",
        ) from error
    rate, channels = float(file.samplerate), int(file.channels)
    fault = None
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        fault = (
            "the header's sample rate cannot be true",
            f"{LOWEST_RATE:.0f} Hz to {HIGHEST_RATE:.0e} Hz",
            f"{rate:.0f} Hz",
        )
    elif not 1 <= channels <= MOST_CHANNELS:
        fault = ("the header's number of channels cannot be true", f"1 to {MOST_CHANNELS}", str(channels))
    if fault:
        file.close()
        raise InputFault(fault[0], where=path.name, wanted=fault[1], got=fault[2], remedy="Export it again.")
    return Recording(
        path.name, rate, channels, int(file.frames), _sound_blocks(file, path.name, bool(notes)), notes,
        full_scale=32768.0 if file.subtype in SIXTEEN_BIT else 1.0,
    )  # fmt: skip


def _reason(error: Exception) -> str:
    text = str(error).split(": ")[-1].strip().rstrip(".")
    return text[:120] or type(error).__name__


def _checked_riff(path: Path) -> tuple[str, ...]:
    """Hold a WAV header's claimed length against the file's; other formats pass.

    Raises:
        InputFault: the file ends before the sound its header promises.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        if file.read(4) != b"RIFF" or size < 44:
            return ()
        file.seek(12)
        while len(head := file.read(8)) == 8:
            length = int.from_bytes(head[4:], "little")
            if head[:4] == b"data":
                return _checked_length(path.name, length, size - file.tell())
            file.seek(length + length % 2, 1)
    return ()


def _checked_length(name: str, claimed: int, there: int) -> tuple[str, ...]:
    if claimed in OPEN_SIZES and claimed != there:
        return ("The recorder never finished the file's header; everything that is in the file was read.",)
    if claimed > there:
        raise InputFault(
            "the recording is cut short",
            where=name,
            wanted=f"{claimed} bytes of sound, as its header says",
            got=f"{there} bytes",
            remedy="Copy the file again from the recorder, or open it in a sound editor and save it anew.",
        )
    return ()


def _sound_blocks(file: Any, name: str, open_ended: bool) -> Iterator[Block]:
    """Blocks of a sound file, each beginning with the end of the one before.

    One thread: a second one that reads ahead gains a fifth on an idle machine and loses threefold on a busy one.
    """
    rate, channels, frames = file.samplerate, file.channels, file.frames
    dtype = "int16" if file.subtype in SIXTEEN_BIT else "float32"
    length = min(max(BLOCK, int(BLOCK_TIME * rate)), max(int(frames), 1024))
    seam = int(OVERLAP_TIME * rate)
    buffer = np.zeros((seam + length, channels), dtype)
    done, kept = 0, 0
    with file:
        while True:
            count = _filled(file, buffer[seam:], name, frames)
            samples = buffer[seam - kept : seam + count].T
            yield Block(done - kept, kept, np.ascontiguousarray(samples), count < length)
            done += count
            kept = min(seam, done)
            if count < length:
                break
            buffer[:seam] = buffer[count : count + seam].copy()
    if done < frames and not open_ended:
        raise InputFault(
            "the recording is cut short",
            where=name,
            wanted=f"{frames} samples, as its header says",
            got=f"{done}",
            remedy="Copy the file again from the recorder.",
        )


def _filled(file: Any, part: NDArray[Any], name: str, frames: int) -> int:
    """How many samples per channel could be read into `part`."""
    try:
        return len(file.read(out=part))
    except (soundfile.SoundFileError, RuntimeError) as error:
        raise InputFault(
            "the sound breaks off",
            where=name,
            wanted=f"{frames} samples",
            got=_reason(error),
            remedy="Copy the file again from the recorder.",
        ) from error
