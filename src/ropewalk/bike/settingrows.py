"""What the catalogue's settings and default half-widths may hold."""

from ropewalk.bike.rownumbers import Angle, Force, Hours, Length, Ratio, Rolls, Size, Torque
from ropewalk.bike.rows import Row


class ChartTolerances(Row):
    """How surely chart figures are known: half-widths that hold 19 times in 20."""

    stack: Size
    reach: Size
    head_angle: Angle
    seat_angle: Angle
    head_tube: Size
    lower_cup: Size
    fork: Size
    fork_offset: Size
    bb_drop: Size
    chainstay: Size
    boom: Size
    wheel: Size
    tube_diameter: Size


class CockpitTolerances(Row):
    """The same for stem, bar and levers."""

    spacers: Size
    stem_length: Size
    stem_angle: Angle
    bar_length: Size
    bar_angle: Angle
    bar_turn: Angle
    lever_place: Size
    lever_turn: Angle
    lock: Angle


class StationTolerances(Row):
    """The same for places on a tube."""

    along: Size
    clock: Hours
    lean: Angle
    skew: Angle
    offset: Size


class FerruleTolerances(Row):
    """The same for ferrules of one batch."""

    insertion: Size
    floor: Size


class Tolerances(Row):
    """Default half-widths (95 %) where the frame file does not say ``within``."""

    chart: ChartTolerances
    cockpit: CockpitTolerances
    station: StationTolerances
    ferrule: FerruleTolerances


class CutSettings(Row):
    """How a housing is cut."""

    trim_moving: Length
    trim_still: Length
    turn_allowance: Angle
    round_up: Size
    short_risk: Ratio
    squaring: Length
    never_tried: Length
    straight_lead: Length
    smooth_lean: Angle
    hard_lean: Angle


class InnerSettings(Row):
    """How an inner and a guide liner are cut."""

    tail: Length
    working_length: Length
    liner_out: Length
    liner_at_port: Length


class SweepSettings(Row):
    """How far and how finely the bars are turned."""

    assumed_lock: Angle
    riding: Angle
    indexing: Angle
    step: Angle


class ClearanceSettings(Row):
    """What no loop may rub, besides the tyres."""

    crank_length: Size
    crank_inside: Size
    crown_radius: Size
    crown_height: Size
    chainring_radius: Size
    chainring_inside: Size
    knee_behind: Size
    knee_reach: Size
    knee_below: Size
    knee_above: Size
    knee_inside: Size
    knee_outside: Size


class FindingSettings(Row):
    """What findings are held against, besides radii and windows."""

    near_lock: Angle
    least_stability: Ratio
    entry_angle: Angle
    unsupported: Length
    low_point: Length
    between_ferrules: Length
    barrel_travel: Size
    tail_clear: Length
    hub_flange: Size


class PortSettings(Row):
    """What a good port keeps."""

    hole_clearance: Size
    least_lean: Angle
    least_from_weld: Size
    good_from_weld: Size
    least_from_head: Size
    most_from_head: Size
    clear_of_top: Angle
    most_share: Ratio
    faces_up: Angle
    mouth_up: Angle
    bend_within: Size


class ForceSettings(Row):
    """Forces to plan and check with."""

    hand: Force
    lever_test: Force
    operating: Force
    end_cap: Force


class TorqueSettings(Row):
    """Sanity bands behind the figure printed on the part."""

    brake_anchor: Torque
    derailleur_anchor: Torque


class RollSettings(Row):
    """Lengths of a roll of housing."""

    housing: Rolls


class FaultSettings(Row):
    """Reading a line with a spring scale at both ends."""

    scale: Force
    scale_reach: Force
    more_load: Force
    part_stick: Ratio


class Settings(Row):
    """Choices of the shop."""

    cut: CutSettings
    inner: InnerSettings
    sweep: SweepSettings
    force: ForceSettings
    torque: TorqueSettings
    rolls: RollSettings
    clearance: ClearanceSettings
    findings: FindingSettings
    ports: PortSettings
    fault: FaultSettings
