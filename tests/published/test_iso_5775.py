"""ISO 5775 tyre and rim designations, as quoted in public summaries of the standard: tyre width, hyphen, bead seat
diameter; a tyre 32-597 has an outside diameter of 597 + 2·32 = 661 mm.

Bead seats of the common wheel sizes are from memory of the standard's tables: 622 (28 in), 584 (27½ in), 559 (26 in),
406 (20 in), 349 (16 in).
"""

import makers
import pytest

from ropewalk.bike.skeleton import skeleton, wheel


def test_the_standard_s_example_of_an_outside_diameter():
    assert 2.0 * wheel("32-597").radius == 661.0


@pytest.mark.parametrize(
    ("designation", "width", "bead"),
    [("37-622", 37, 622), ("54-584", 54, 584), ("50-559", 50, 559), ("47-406", 47, 406), ("35-349", 35, 349)],
)
def test_width_comes_first_and_bead_seat_diameter_last(designation, width, bead):
    read = wheel(designation)
    assert read.tyre_width == width
    assert 2.0 * read.bead_radius == bead


def test_a_bike_stands_on_the_tyre_it_is_given():
    bones = skeleton(makers.frame(chart={"wheel": "32-597"}))
    assert bones.rear_axle[1] - bones.ground == 330.5
    assert (bones.tyre_width, bones.bead_radius) == (32.0, 298.5)
