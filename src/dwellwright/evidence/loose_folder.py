"""A folder of loose files, any of them missing: recording, waveform, gas and bench sheet become one evidence."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime

if TYPE_CHECKING:
    from dwellwright.evidence.gas import GasReading
    from dwellwright.evidence.gauge import GaugeSheet
    from dwellwright.evidence.trace import TraceSummary
    from dwellwright.evidence.waveform import Waveform
    from dwellwright.physics.fuel import Fuel

NAMES = {
    "log": (".csv", ".tsv", ".txt", ".parquet", ".mf4"),
    "drive": (".wav", ".flac", ".csv"),
    "gas": (".csv", ".tsv"),
    "bench": (".csv", ".tsv"),
}
"""What a file must be called, in any letter case, the first ending preferred."""

WAVEFORM_REGIME = Regime.IDLE
"""A loose waveform is taken to be recorded at hot idle, which is when people clip on the lead (assumed)."""

ETHANOL_WORTH_SEEING = 0.02
"""An ethanol test below this is no ethanol: the tube cannot tell (assumed). [-]"""


@dataclass(frozen=True)
class FolderEvidence:
    """What a folder holds.

    Args:
        folder: its name.
        waveform: solenoid waveform, if there was a usable one.
        trace: drive recording summed up, if there was a usable one.
        gas: exhaust gas readings; empty if none.
        gauges: bench sheet, if there was a usable one.
        observations: everything above as observations.
        warnings: sentences on what is missing, unusable or doubtful, each naming its file.
    """

    folder: str
    waveform: Waveform | None
    trace: TraceSummary | None
    gas: tuple[GasReading, ...]
    gauges: GaugeSheet | None
    observations: tuple[Observation, ...]
    warnings: tuple[str, ...]


@dataclass
class _Gathered:
    """What has been read so far."""

    waveform: Waveform | None = None
    trace: TraceSummary | None = None
    gas: list[GasReading] = field(default_factory=list)
    gauges: GaugeSheet | None = None
    observations: list[Observation] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    faults: list[InputFault] = field(default_factory=list)


def _found(folder: Path, warnings: list[str]) -> dict[str, Path]:
    """Files by their part: the preferred ending wins, and the others are named in a warning."""
    try:
        entries = sorted(entry for entry in folder.iterdir() if entry.is_file())
    except OSError as error:
        raise InputFault(
            "the folder cannot be read",
            where=folder.name or str(folder),
            wanted="a folder of evidence files",
            got=error.strerror or "an error",
        ) from error
    chosen: dict[str, Path] = {}
    for part, endings in NAMES.items():
        fits = [one for one in entries if one.stem.lower() == part and one.suffix.lower() in endings]
        fits.sort(key=lambda one: endings.index(one.suffix.lower()))
        if fits:
            chosen[part] = fits[0]
        if len(fits) > 1:
            others = ", ".join(one.name for one in fits[1:])
            warnings.append(
                f"{fits[0].name} was read; {others} was left aside because it holds the same part."
            )
    return chosen


def _read_gauges(path: Path, so_far: _Gathered) -> None:
    from dwellwright.evidence.gauge import observations, read_gauges

    so_far.gauges = read_gauges(path)
    so_far.observations += observations(so_far.gauges)
    so_far.warnings += [fault.message for fault in so_far.gauges.findings]


def _fuel(seen: list[Observation]) -> Fuel:
    """The base gasoline, or its blend where a test of this fuel found ethanol."""
    from dwellwright.catalogue.fuels import ethanol_blend, fuel_named

    ethanol = next((one.value for one in seen if one.measured is Measured.ETHANOL), 0.0)
    return (
        ethanol_blend(round(min(ethanol, 1.0), 4))
        if ethanol > ETHANOL_WORTH_SEEING
        else fuel_named("gasoline")
    )


def _read_gas(path: Path, so_far: _Gathered) -> None:
    from dwellwright.catalogue.instruments import analyzer
    from dwellwright.evidence.gas import GasOptions, observations, read_gas
    from dwellwright.evidence.gas.air_ratio import DEFAULT_CLASS

    findings: list[InputFault] = []
    so_far.gas = read_gas(path, findings)
    options = GasOptions(_fuel(so_far.observations), analyzer(DEFAULT_CLASS))
    so_far.observations += observations(so_far.gas, options)
    so_far.warnings += [fault.message for fault in findings]


def _read_waveform(path: Path, so_far: _Gathered) -> None:
    from dwellwright.evidence.waveform import observations, read_waveform

    so_far.waveform = read_waveform(path)
    so_far.observations += observations(so_far.waveform, WAVEFORM_REGIME)
    so_far.warnings += [f"{path.name}: {sentence}" for sentence in so_far.waveform.warnings]


def _read_trace(path: Path, so_far: _Gathered) -> None:
    from dwellwright.evidence.trace import observations, read_trace, summarize

    so_far.trace = summarize(read_trace(path))
    so_far.observations += observations(so_far.trace)
    so_far.warnings += [f"{path.name}: {sentence}" for sentence in so_far.trace.warnings]


_READERS = {"bench": _read_gauges, "gas": _read_gas, "drive": _read_waveform, "log": _read_trace}
"""In this order, since the bench sheet says what fuel the gas came from."""


def read_loose_folder(path: Path | str) -> FolderEvidence:
    """Everything that a folder's `log`, `drive`, `gas` and `bench` files tell.

    A file that cannot be used becomes a warning with its own message, and the others are read all the same.

    Raises:
        InputFault: no such folder, none of the files in it, or none that can be used.
    """
    folder = Path(path)
    if not folder.is_dir():
        raise InputFault(
            "there is no such folder", where=folder.name or str(folder), wanted="a folder of evidence files"
        )
    so_far = _Gathered()
    files = _found(folder, so_far.warnings)
    if not files:
        raise InputFault(
            "the folder holds no evidence",
            where=folder.name or str(folder),
            wanted="at least one of log.csv, drive.wav, gas.csv, bench.csv",
        )
    for part, reader in _READERS.items():
        if part not in files:
            so_far.warnings.append(f"There is no {part}{NAMES[part][0]}.")
            continue
        try:
            reader(files[part], so_far)
        except InputFault as fault:
            so_far.faults.append(fault)
            so_far.warnings.append(f"{files[part].name} could not be used: {fault.message}")
    if len(so_far.faults) == len(files):
        raise so_far.faults[0]
    return FolderEvidence(
        folder=folder.name,
        waveform=so_far.waveform,
        trace=so_far.trace,
        gas=tuple(so_far.gas),
        gauges=so_far.gauges,
        observations=tuple(so_far.observations),
        warnings=tuple(so_far.warnings),
    )
