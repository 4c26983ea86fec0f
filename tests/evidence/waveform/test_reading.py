"""The reader against recordings whose truth is known by construction (closed form: exact edge times)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from benchmarks.waveform.hard import recipe
from benchmarks.waveform.synthesis import Recipe, Synthetic, synthetic
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.evidence.waveform import Pattern, Polarity, Waveform, observations, read_waveform, warm_up
from dwellwright.units import dwell_degrees

WORST = 0.15
"""Floor of the project on the six-cylinder scale. [deg]"""


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    warm_up()


def read(
    folder: Path, recipe: Recipe, subtype: str = "PCM_16", suffix: str = "wav"
) -> tuple[Synthetic, Waveform]:
    made = synthetic(recipe)
    path = folder / f"drive.{suffix}"
    soundfile.write(path, made.samples, made.sample_rate, subtype=subtype)
    return made, read_waveform(path)


def dwell_error(made: Synthetic, wave: Waveform) -> float:
    truth = made.fraction if made.recipe.swing else made.duty
    duty = wave.duty_if_reversed if made.recipe.reversed else wave.duty_if_normal
    return abs(dwell_degrees(duty.value - truth))


RECIPES = st.builds(
    Recipe,
    sample_rate=st.sampled_from([8000, 11025, 16000, 44100, 48000, 96000]),
    duration=st.just(10.0),
    rate=st.floats(5, 20),
    duty=st.floats(0.02, 0.98),
    swing=st.sampled_from([0.0, 0.05, 0.15]),
    clock_on_release=st.booleans(),
    jitter=st.sampled_from([0.0, 1e-4]),
    battery=st.floats(12, 14.5),
    spike=st.sampled_from([20.0, 36.0, 50.0]),
    clamp_time=st.floats(0.2e-3, 1.5e-3),
    poles=st.lists(st.floats(0.5, 20), max_size=2).map(tuple),
    hum=st.sampled_from([0.0, 0.5, 2.0]),
    hum_frequency=st.sampled_from([50.0, 60.0]),
    tick_rate=st.sampled_from([0.0, 10.0, 40.0]),
    tick=st.floats(1, 12),
    snr=st.floats(10, 50),
    gain=st.sampled_from([1 / 70, 1 / 30, 1 / 18]),
    reversed=st.booleans(),
    seed=st.integers(0, 10_000),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(recipe=RECIPES)
def test_any_recording_is_read_within_the_floor_and_never_upside_down(tmp_path: Path, recipe: Recipe) -> None:
    """Beyond the floor only where edges were unseen or run together, and then said so and covered by the interval."""
    made, wave = read(tmp_path, recipe)
    wrong = Polarity.NORMAL if recipe.reversed else Polarity.REVERSED
    assert wave.polarity is not wrong
    doubt = dwell_degrees(wave.duty_if_normal.uncertainty)
    told = any("energizing edge" in sentence or "samples, so" in sentence for sentence in wave.warnings)
    assert dwell_error(made, wave) < (max(WORST, 3 * doubt) if told else WORST)


HARD = {
    "a spike's end as tall as the driver's edge, in a narrow gap that breathes": Recipe(
        sample_rate=16000, rate=17.94, duty=0.97, swing=0.05, clock_on_release=True, battery=12.84,
        clamp_time=1.23e-3, hum=0.5, snr=30.4, gain=1 / 70, reversed=True, seed=7748,
    ),
    "wide swings from a released stop": Recipe(
        sample_rate=11025, rate=5.348, duty=0.03, swing=0.15, clock_on_release=True, battery=13.39,
        clamp_time=1.13e-3, poles=(17.37,), tick_rate=10.0, tick=5.96, snr=42.2, gain=1 / 30, seed=22,
    ),
    "wide swings from an energized stop, coarse samples": Recipe(
        sample_rate=8000, rate=6.666, duty=0.978, swing=0.15, clock_on_release=True, battery=12.84,
        clamp_time=1.14e-3, poles=(19.85, 5.64), hum=0.5, hum_frequency=50.0, tick_rate=10.0, tick=6.43,
        snr=15.6, gain=1 / 18, seed=3348,
    ),
    "an edge drowned in a tick": Recipe(
        sample_rate=96000, rate=6.357, duty=0.03, swing=0.15, clock_on_release=True, jitter=1e-4, battery=12.38,
        spike=20.0, clamp_time=0.33e-3, poles=(13.96,), tick_rate=40.0, tick=10.4, snr=11.1, gain=1 / 70, seed=6765,
    ),
    "upside down, with one edge taken for many": Recipe(
        sample_rate=44100, rate=9.597, duty=0.755, clock_on_release=True, jitter=1e-4, battery=13.47, spike=50.0,
        clamp_time=0.72e-3, poles=(6.98, 2.25), hum=0.5, snr=14.2, gain=1 / 70, reversed=True, seed=11,
    ),
}  # fmt: skip
"""Recordings that an earlier reader got wrong by half a degree and more, or refused."""


@pytest.mark.parametrize("name", HARD)
def test_what_once_fooled_the_reader_is_read(tmp_path: Path, name: str) -> None:
    made, wave = read(tmp_path, HARD[name])
    assert dwell_error(made, wave) < WORST
    assert wave.polarity is not (Polarity.NORMAL if HARD[name].reversed else Polarity.REVERSED)


@pytest.mark.parametrize(
    ("seed", "number"),
    [
        (20261126, 636),
        (20261126, 848),
        (20261126, 1073),
        (77, 125),
        (77, 740),
        (77, 1331),
        (1, 1152),
        (4, 695),
    ],
)
def test_what_the_hard_recordings_of_the_benchmark_got_wrong_is_read(
    tmp_path: Path, seed: int, number: int
) -> None:
    # 8 kHz: a gap of a dozen samples beside a spike as long, or an edge in much noise; two cut badly at an end
    hard = recipe(number, seed)
    made, wave = read(tmp_path, hard)
    assert dwell_error(made, wave) < WORST
    assert wave.polarity is not (Polarity.NORMAL if hard.reversed else Polarity.REVERSED)


def test_a_short_level_beyond_the_recorders_limit_leaves_the_polarity_open(tmp_path: Path) -> None:
    """The spike fills the gap and is cut off: the coupled rebound makes its end the taller edge."""
    made, wave = read(
        tmp_path,
        Recipe(
            sample_rate=11025, rate=14.98, duty=0.98, jitter=1e-4, battery=13.57, clamp_time=1.3e-3, hum=0.5,
            poles=(18.65, 14.54), tick_rate=40.0, tick=3.98, snr=10.4, gain=1 / 18, reversed=True, seed=8104,
            hum_frequency=50.0,
        ),
    )  # fmt: skip
    assert wave.polarity is Polarity.UNDECIDED
    assert any("turn the recording level down" in sentence for sentence in wave.polarity_finding.evidence)
    assert dwell_error(made, wave) < WORST


@pytest.mark.parametrize(
    ("subtype", "suffix"), [("PCM_16", "flac"), ("PCM_24", "wav"), ("FLOAT", "wav"), ("PCM_U8", "wav")]
)
def test_every_sample_format_gives_the_same_duty(tmp_path: Path, subtype: str, suffix: str) -> None:
    made, wave = read(tmp_path, Recipe(duty=0.37, poles=(8.0,), snr=40.0), subtype, suffix)
    assert dwell_error(made, wave) < 0.03
    assert wave.polarity is Polarity.NORMAL


@pytest.mark.parametrize("rate", [8000, 22050, 192000])
def test_sample_rate_does_not_matter(tmp_path: Path, rate: int) -> None:
    made, wave = read(
        tmp_path, Recipe(sample_rate=rate, duration=6.0, duty=0.61, poles=(15.0, 3.0), snr=30.0)
    )
    assert dwell_error(made, wave) < 0.05
    assert wave.sample_rate == rate


def test_blocks_join_without_a_lost_pulse(tmp_path: Path) -> None:
    # 40 s at 48 kHz are eight blocks; 400 pulses by construction
    made, wave = read(tmp_path, Recipe(duration=40.0, duty=0.5, poles=(5.0,), snr=40.0))
    whole = int(((made.on > 0) & (made.on < 40.0)).sum()) - 1
    assert wave.pulse_count == pytest.approx(whole, abs=1)
    assert wave.missing_pulses == 0
    assert wave.double_pulses == 0
    np.testing.assert_allclose(np.diff(wave.pulses.start), 0.1, atol=2e-5)


def test_pulses_are_timed_to_a_fraction_of_a_sample(tmp_path: Path) -> None:
    made, wave = read(tmp_path, Recipe(sample_rate=16000, swing=0.15, snr=40.0, poles=(8.0,)))
    true_width = made.off - made.on
    nearest = np.abs(wave.pulses.start[:, None] - made.on[None, :]).argmin(axis=1)
    assert np.abs(wave.pulses.energized - true_width[nearest]).max() < 0.7 / 16000


def test_a_recording_cut_anywhere_counts_the_cut_pulses(tmp_path: Path) -> None:
    for seed in range(6):
        made, wave = read(
            tmp_path, Recipe(duration=3.0, rate=7.0, swing=0.2, seed=seed, poles=(6.0,), snr=40.0)
        )
        assert abs(dwell_degrees(wave.known_duty().value - made.fraction)) < 0.1


def test_a_working_duty_is_varying_and_a_held_one_fixed(tmp_path: Path) -> None:
    _, held = read(tmp_path, Recipe(duty=0.3, snr=30.0))
    made, working = read(tmp_path, Recipe(duty=0.5, swing=0.12, snr=30.0))
    assert held.pattern is Pattern.FIXED
    assert working.pattern is Pattern.VARYING
    true_duty = (made.off - made.on) * made.recipe.rate
    assert working.duty_range == pytest.approx(tuple(np.percentile(true_duty, [5, 95])), abs=0.01)
    assert working.sliding_duty.min() > true_duty.min() - 0.01
    assert np.ptp(working.sliding_duty) < np.ptp(true_duty)


def test_rate_and_jitter_come_from_the_steady_edge(tmp_path: Path) -> None:
    for on_release in (False, True):
        _, wave = read(
            tmp_path,
            Recipe(rate=9.7, duration=20.0, swing=0.1, clock_on_release=on_release, jitter=4e-4, snr=40.0),
        )
        assert wave.pulse_rate.value == pytest.approx(9.7, rel=3e-4)
        # differences of independent moments: the square root of two times the jitter of one (closed form)
        assert wave.jitter == pytest.approx(4e-4 * np.sqrt(2), rel=0.3)


def test_missing_and_double_pulses_are_counted(tmp_path: Path) -> None:
    _, wave = read(tmp_path, Recipe(duration=10.0, snr=40.0, poles=(5.0,), dropped=(20, 21, 60)))
    assert wave.missing_pulses == 3
    assert any("missing" in sentence for sentence in wave.warnings)
    _, wave = read(tmp_path, Recipe(duration=10.0, snr=40.0, duty=0.5, doubled=(30,)))
    assert wave.double_pulses >= 1
    assert any("twice" in sentence for sentence in wave.warnings)


def test_the_kink_of_the_arriving_armature_is_seen_or_not_claimed(tmp_path: Path) -> None:
    _, wave = read(tmp_path, Recipe(duration=20.0, duty=0.5, pull_in=7e-3, snr=45.0))
    assert wave.pull_in == pytest.approx(7e-3, abs=0.6e-3)
    _, plain = read(tmp_path, Recipe(duration=20.0, duty=0.5, snr=25.0, poles=(10.0,)))
    assert plain.pull_in is None
    assert plain.drop_out is None


def test_without_a_spike_the_polarity_is_left_open(tmp_path: Path) -> None:
    for upside_down in (False, True):
        made, wave = read(tmp_path, Recipe(duty=0.3, spike=0.0, reversed=upside_down, snr=40.0, poles=(5.0,)))
        assert wave.polarity is Polarity.UNDECIDED
        assert wave.duty is None
        assert dwell_error(made, wave) < 0.05
        assert wave.duty_if_normal.value + wave.duty_if_reversed.value == pytest.approx(1.0, abs=1e-3)
        with pytest.raises(InputFault, match="which level is energized"):
            wave.dwell()
        assert [item.measured for item in observations(wave, Regime.IDLE)] == [Measured.PULSE_RATE]
        told = read_waveform(
            tmp_path / "drive.wav", polarity=Polarity.REVERSED if upside_down else Polarity.NORMAL
        )
        assert told.known_duty().value == pytest.approx(0.3, abs=1e-3)


def test_polarity_told_against_the_signal_is_obeyed(tmp_path: Path) -> None:
    _, _ = read(tmp_path, Recipe(duty=0.3, snr=40.0))
    told = read_waveform(tmp_path / "drive.wav", polarity=Polarity.REVERSED)
    assert told.known_duty().value == pytest.approx(0.7, abs=0.02)
    assert told.polarity_finding.told
    with pytest.raises(ValueError, match="UNDECIDED"):
        read_waveform(tmp_path / "drive.wav", polarity=Polarity.UNDECIDED)


def test_the_channel_that_pulses_is_found(tmp_path: Path) -> None:
    made = synthetic(Recipe(duty=0.42, poles=(8.0,), snr=30.0))
    hiss = np.random.default_rng(3).normal(0, 0.05, len(made.samples))
    soundfile.write(tmp_path / "two.wav", np.stack([hiss, made.samples], axis=1), 48000, subtype="PCM_16")
    wave = read_waveform(tmp_path / "two.wav")
    assert wave.channel == 1
    assert wave.known_duty().value == pytest.approx(0.42, abs=5e-4)
    with pytest.raises(InputFault, match="no such channel"):
        read_waveform(tmp_path / "two.wav", channel=2)
    with pytest.raises(InputFault, match="does not pulse"):
        read_waveform(tmp_path / "two.wav", channel=0)


def test_clipping_is_measured(tmp_path: Path) -> None:
    made, wave = read(tmp_path, Recipe(duty=0.5, gain=1 / 30))
    assert wave.clipped_fraction == pytest.approx(float(np.mean(np.abs(made.samples) >= 1)), rel=0.05)


def test_dwell_scales_and_observations_agree(tmp_path: Path) -> None:
    _, wave = read(tmp_path, Recipe(duty=0.5, snr=40.0))
    assert wave.dwell().value == pytest.approx(30.0, abs=0.03)  # 0.5 * 360 / 6, closed form
    assert wave.dwell(8).value == pytest.approx(22.5, abs=0.03)  # 0.5 * 360 / 8, closed form
    duty, rate = observations(wave, Regime.IDLE)
    assert (duty.measured, rate.measured) == (Measured.DUTY, Measured.PULSE_RATE)
    assert duty.value == wave.known_duty().value
    assert duty.uncertainty == wave.known_duty().uncertainty
    assert duty.source == "drive.wav"


def test_the_interval_covers_the_mean_of_the_loop(tmp_path: Path) -> None:
    """The mean over the recording scatters about the loop's own mean as the interval says (closed form: 0.5)."""
    inside = 0
    for seed in range(20):
        recipe = Recipe(sample_rate=8000, duration=7.3, swing=0.1, swing_period=1.9, seed=seed, snr=40.0)
        _, wave = read(tmp_path, recipe)
        inside += wave.known_duty().low <= 0.5 <= wave.known_duty().high
    assert inside >= 18


def test_plot_data_has_equal_lengths(tmp_path: Path) -> None:
    _, wave = read(tmp_path, Recipe(swing=0.1, snr=40.0))
    for plot in wave.plot_data():
        assert len(plot.x) == len(plot.y) > 10
    shape = wave.shape
    assert shape.y[shape.x > 0.002].min() < shape.y[shape.x < -0.002].mean()


def test_the_mean_pulse_of_a_working_loop_has_a_release_edge(tmp_path: Path) -> None:
    drawn = synthetic(Recipe(duty=0.42, swing=0.1, duration=8.0, spike=0.0, gain=1 / 60))
    soundfile.write(tmp_path / "drive.wav", drawn.samples, drawn.sample_rate, subtype="PCM_16")
    pulse = read_waveform(tmp_path / "drive.wav").shape
    assert pulse.label == "mean pulse, share of full scale"
    assert pulse.y.max() == pytest.approx(13.8 / 60, rel=0.02)  # the supply, as the recipe drew it
    rising = (pulse.y > 3 / 60) & (pulse.y < 12 / 60) & (pulse.x > 0.01)
    assert rising.sum() * (pulse.x[1] - pulse.x[0]) < 2.5e-3  # widths swing by 20 ms
