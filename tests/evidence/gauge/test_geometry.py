"""Gauge geometry against triangles solved by hand, limits, and there-and-back."""

from math import acos, cos, degrees, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.geometry import (
    ChokePlate,
    FloatLever,
    choke_angle,
    choke_gap,
    depth_below_rim,
    height_change,
    level_change,
    manifold_absolute_pressure,
)


def test_thin_square_plate_is_one_triangle() -> None:
    # Closed form: 20 mm half bore, 4 mm gap: acos(16/20).
    assert choke_angle(4e-3, ChokePlate(40e-3)) == pytest.approx(degrees(acos(0.8)), abs=1e-9)


def test_no_plug_is_shut_and_full_gap_is_open() -> None:
    plate = ChokePlate(45e-3, closed_angle=12.0, offset=3e-3, thickness=1.5e-3)
    assert choke_angle(0.0, plate) == pytest.approx(0.0, abs=1e-5)
    assert choke_angle(45e-3 / 2 + 3e-3 - 0.75e-3, plate) == pytest.approx(78.0, abs=1e-6)


@given(
    st.floats(25e-3, 60e-3),
    st.floats(8, 25),
    st.floats(-4e-3, 4e-3),
    st.floats(0, 2e-3),
    st.floats(0.05, 0.9),
)
def test_there_and_back(bore: float, closed: float, offset: float, thickness: float, share: float) -> None:
    plate = ChokePlate(bore, closed, offset, thickness)
    angle = share * (85 - closed)
    assert choke_angle(choke_gap(angle, plate), plate) == pytest.approx(angle, abs=1e-4)


def test_choke_refusals() -> None:
    plate = ChokePlate(40e-3)
    with pytest.raises(InputFault, match="does not fit"):
        choke_angle(25e-3, plate)
    with pytest.raises(InputFault, match="does not fit"):
        choke_angle(-1e-3, plate)
    with pytest.raises(InputFault, match="cannot open so far"):
        choke_gap(91.0, plate)
    with pytest.raises(ValueError, match="bore > 0"):
        ChokePlate(0.0)
    with pytest.raises(ValueError, match="would jam"):
        ChokePlate(40e-3, thickness=1e-3)
    with pytest.raises(ValueError, match="inside the bore"):
        ChokePlate(40e-3, offset=25e-3)


def test_float_halves_what_is_gauged_twice_as_far_out() -> None:
    lever = FloatLever(float_arm=30e-3, gauge_arm=60e-3)
    assert level_change(2e-3, lever) == pytest.approx(-1e-3)
    assert level_change(2e-3, FloatLever(30e-3, 60e-3, height_lowers_level=False)) == pytest.approx(1e-3)


@given(
    st.floats(-4e-3, 4e-3),
    st.floats(20e-3, 50e-3),
    st.floats(20e-3, 70e-3),
    st.floats(-20, 20),
    st.booleans(),
)
def test_float_there_and_back(rise: float, arm: float, gauge: float, angle: float, lowers: bool) -> None:
    lever = FloatLever(arm, gauge, angle, lowers)
    assert level_change(height_change(rise, lever), lever) == pytest.approx(rise, abs=1e-9)


def test_higher_level_reads_less_below_the_rim() -> None:
    assert depth_below_rim(2e-3, 8e-3) == pytest.approx(6e-3)


def test_float_refusals() -> None:
    with pytest.raises(InputFault, match="swing so far"):
        level_change(0.2, FloatLever(30e-3, 60e-3))
    with pytest.raises(ValueError, match="positive arms"):
        FloatLever(0.0, 1.0)


def test_absolute_pressure() -> None:
    assert manifold_absolute_pressure(67e3, 101.3e3) == pytest.approx(34.3e3)
    with pytest.raises(InputFault, match="cannot be right"):
        manifold_absolute_pressure(105e3, 101e3)


@given(
    bore=st.floats(0.02, 0.06), closed=st.floats(8, 30), offset=st.floats(-2e-3, 2e-3),
    thickness=st.floats(0, 2e-3), opening=st.floats(0, 45),
)  # fmt: skip
def test_the_gap_is_the_walls_distance_from_the_nearer_corner_of_the_turned_plate(
    bore: float, closed: float, offset: float, thickness: float, opening: float
) -> None:
    # plane geometry by coordinates: both corners of the edge are turned about the shaft; the wall is a straight line
    plate = ChokePlate(bore, closed, offset, thickness)
    turned = radians(closed + opening)
    corners = [plate.half_length * cos(turned) - side * thickness / 2 * sin(turned) for side in (-1, 1)]
    assert choke_gap(opening, plate) == pytest.approx(bore / 2 + offset - max(corners), abs=1e-9)
    # shut, the nearer corner touches
    shut = radians(closed)
    touching = plate.half_length * cos(shut) + thickness / 2 * sin(shut)
    assert touching == pytest.approx(bore / 2 + offset, abs=1e-12)


def test_an_offset_thick_plate_by_hand() -> None:
    # bore 40, shaft 1 mm off, edge 1.5 mm thick, 20 deg when shut, 5 mm plug: half length (21 - 0.75 sin 20) / cos 20
    # = 22.0748; corner at 22.0875 mm, 1.9459 deg ahead; 1.9459 + acos(16 / 22.0875) - 20 = 25.528 deg
    plate = ChokePlate(bore=40e-3, closed_angle=20.0, offset=1e-3, thickness=1.5e-3)
    assert choke_angle(5e-3, plate) == pytest.approx(25.528, abs=1e-3)
